//! What depends on what: takes and statements with the matter and the amounts that flow between
//! them, in an order in which each can be worked out; a circle is an error that shows it.

use std::collections::{BTreeMap, BTreeSet};

use petgraph::algo::kosaraju_scc;
use petgraph::graph::{DiGraph, NodeIndex};

use crate::diagnostics::{Code, Diagnostic};
use crate::matter::linear::{Arg, BindingId, Material, Origin, Procedure};

/// Something to be worked out.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Work {
    /// The amount of a take.
    Take(usize),
    /// A statement.
    Statement(usize),
}

/// The order of the work and its dependencies.
#[derive(Clone, Debug, Default)]
pub struct Graph {
    /// Everything, dependencies first, else as written.
    pub order: Vec<Work>,
    /// From what is needed to what needs it.
    pub edges: Vec<(Work, Work)>,
}

/// Orders the work of a procedure.
///
/// `None` when amounts depend on each other in a circle; that has been reported.
pub fn build(procedure: &Procedure, findings: &mut Vec<Diagnostic>) -> Option<Graph> {
    let mut edges: Vec<(Work, Work)> = Vec::new();
    let origin = |id: BindingId| match &procedure.binding(id).origin {
        Origin::Take(number) => Work::Take(*number),
        Origin::Result(number, _) => Work::Statement(*number),
    };
    let sized_later = |id: BindingId| matches!(origin(id), Work::Take(number) if procedure.takes.get(number).is_some_and(|take| take.material.amount.enough));
    let amounts = |material: &Material, to: Work, edges: &mut Vec<(Work, Work)>| {
        for id in material.refs.values() {
            if sized_later(*id) {
                // An `enough` amount is known once its user has sized it.
                if let Some(user) = procedure.binding(*id).used_by.or_else(|| procedure.binding(*id).changed_by.first().copied()) {
                    edges.push((Work::Statement(user), to));
                }
            }
            edges.push((origin(*id), to));
            if let Work::Statement(at) = to {
                edges.extend(last_change(procedure, *id, at));
            }
        }
        if needs_basis(material) {
            edges.push((Work::Take(procedure.basis), to));
        }
    };
    for (number, take) in procedure.takes.iter().enumerate() {
        let me = Work::Take(number);
        amounts(&take.material, me, &mut edges);
        if needs_basis(&take.material) && number == procedure.basis {
            edges.push((me, me));
        }
    }
    for (number, statement) in procedure.statements.iter().enumerate() {
        let me = Work::Statement(number);
        for arg in statement.args.values() {
            match arg {
                Arg::Portions(list) => {
                    for (id, _) in list {
                        edges.push((origin(*id), me));
                        edges.extend(last_change(procedure, *id, number));
                    }
                }
                Arg::Material(material) => amounts(material, me, &mut edges),
                _ => {}
            }
        }
    }
    edges.sort_unstable();
    edges.dedup();
    let mut nodes: Vec<Work> = (0..procedure.takes.len()).map(Work::Take).collect();
    nodes.extend((0..procedure.statements.len()).map(Work::Statement));
    let order = order(&nodes, &edges);
    if order.len() < nodes.len() {
        circles(&nodes, &edges).iter().for_each(|circle| report(procedure, circle, findings));
        return None;
    }
    Some(Graph { order, edges })
}

/// A statement meets a portion as it is by then: after the last change that stands before it, which
/// itself waits for the one before.
fn last_change(procedure: &Procedure, id: BindingId, at: usize) -> Option<(Work, Work)> {
    let changes = &procedure.binding(id).changed_by;
    let before = changes.partition_point(|change| *change < at).checked_sub(1)?;
    changes.get(before).map(|change| (Work::Statement(*change), Work::Statement(at)))
}

/// What waits for itself, by way of the others in its circle.
fn circles(nodes: &[Work], edges: &[(Work, Work)]) -> Vec<Vec<Work>> {
    let mut graph: DiGraph<Work, ()> = DiGraph::new();
    let index: BTreeMap<Work, NodeIndex> = nodes.iter().map(|work| (*work, graph.add_node(*work))).collect();
    for (from, to) in edges {
        if let (Some(from), Some(to)) = (index.get(from), index.get(to)) {
            graph.add_edge(*from, *to, ());
        }
    }
    let mut circles: Vec<Vec<Work>> = kosaraju_scc(&graph)
        .into_iter()
        .filter(|part| part.len() > 1 || part.first().is_some_and(|node| graph.contains_edge(*node, *node)))
        .map(|part| {
            let mut works: Vec<Work> = part.into_iter().filter_map(|node| graph.node_weight(node).copied()).collect();
            works.sort_unstable();
            works
        })
        .collect();
    circles.sort();
    circles
}

fn needs_basis(material: &Material) -> bool {
    use crate::kinds::Kind;
    use crate::resolve::amount::Expr;
    fn within(expr: &Expr) -> bool {
        match expr {
            Expr::Figure(figure) => matches!(figure.kind, Kind::Equivalents | Kind::MoleFraction),
            Expr::Binary(_, left, right, _) => within(left) || within(right),
            Expr::Of(..) | Expr::Per(..) => false,
        }
    }
    material.amount.expr.as_ref().is_some_and(within)
}

/// Of what is ready, always the first as written: the same input gives the same order. What waits in a
/// circle, and what waits for that, is left out. The edges are sorted.
fn order(nodes: &[Work], edges: &[(Work, Work)]) -> Vec<Work> {
    let mut waits: BTreeMap<Work, usize> = BTreeMap::new();
    for (_, to) in edges {
        *waits.entry(*to).or_insert(0) += 1;
    }
    let mut ready: BTreeSet<Work> = nodes.iter().filter(|work| !waits.contains_key(work)).copied().collect();
    let mut order = Vec::with_capacity(nodes.len());
    while let Some(next) = ready.pop_first() {
        order.push(next);
        let first = edges.partition_point(|(from, _)| *from < next);
        for (_, to) in edges.iter().skip(first).take_while(|(from, _)| *from == next) {
            if let Some(count) = waits.get_mut(to) {
                *count -= 1;
                if *count == 0 {
                    ready.insert(*to);
                }
            }
        }
    }
    order
}

fn report(procedure: &Procedure, circle: &[Work], findings: &mut Vec<Diagnostic>) {
    let name = |work: &Work| match work {
        Work::Take(number) => procedure.takes.get(*number).map(|take| (procedure.binding(take.binding).name.clone(), take.span)),
        Work::Statement(number) => {
            procedure.statements.get(*number).map(|statement| (format!("the {}", statement.operation.form.verb()), statement.span))
        }
    };
    let members: Vec<(String, crate::source::Span)> = circle.iter().filter_map(name).collect();
    let Some((first, span)) = members.first().cloned() else { return };
    let mut path: Vec<String> = members.iter().map(|(name, _)| format!("`{name}`")).collect();
    path.push(format!("`{first}`"));
    let mut finding = Diagnostic::new(Code::Cycle, span, format!("these amounts depend on each other in a circle: {}", path.join(" → ")))
        .help("give one of them by itself: a mass, a volume, moles, or equivalents of the basis");
    for (name, span) in members.into_iter().skip(1) {
        finding = finding.label(span, format!("`{name}` is part of the circle"));
    }
    findings.push(finding);
}
