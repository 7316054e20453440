//! Runs that were recorded, side by side: what was measured in each, which of them are one way of working, and whether two
//! ways gave different yields or purities by more than is uncertain about them.

use serde::Serialize;

use crate::chemistry::student::{self, Against, Mean};
use crate::record::Review;
use crate::record::review::{Figure, Product, StepFound, Taken};

/// How far the amounts of two runs may differ, each against what limits, for both to be one way of working. Our own figure.
const ALIKE: f64 = 0.1;

/// What was measured in a run. What was not measured is absent.
#[derive(Clone, Debug, Serialize, PartialEq)]
pub struct Run {
    /// What it is called: the procedure, the day and what the record says.
    pub name: String,
    /// The procedure, by its name.
    pub procedure: String,
    /// The variant of it.
    pub variant: Option<String>,
    /// The product's substance.
    pub substance: Option<String>,
    /// What limits its yield.
    pub limiting: Option<String>,
    /// Mass of the product as weighed, g.
    pub product_g: Option<Figure>,
    /// Yield, %: by what was found of its purity, else as weighed.
    pub yield_percent: Option<Figure>,
    /// Whether the yield goes by what was found of its purity.
    pub corrected: bool,
    /// Purity, %.
    pub purity_percent: Option<Figure>,
    /// Whether that is of the area of a chromatogram.
    pub by_area: bool,
    /// All steps whose time was taken, h.
    pub timed_h: Option<f64>,
    /// Drying agents as weighed, g.
    pub agent_g: Option<f64>,
    /// All that was taken to a kilogram of product, kg, where everything was weighed.
    pub mass_intensity: Option<f64>,
    /// What the balance does not account for, g.
    pub unaccounted_g: Figure,
    /// Steps as they went.
    pub steps: Vec<StepFound>,
    /// In what the run departs from the procedure, as the record says.
    pub deviations: Vec<String>,
    /// Why its yield is not set against others, where it is not.
    pub left_out: Option<String>,
    #[serde(skip)]
    taken: Vec<Taken>,
}

impl Run {
    /// Of a review.
    #[must_use]
    pub fn of(review: &Review) -> Self {
        let called = review.called.as_ref().map_or_else(String::new, |called| format!(", {called}"));
        let product = review.products.first();
        let best = product.map(|product| product.corrected.as_ref().unwrap_or(&product.crude).of_theory);
        let timed: f64 = review.steps.iter().filter_map(|step| step.took_s).sum();
        let agents: Vec<f64> = review.taken.iter().filter(|taken| taken.agent).map(|taken| taken.found_g.value).collect();
        let all_weighed = (review.balance.in_g - review.balance.in_weighed_g).abs() < 1e-6 * review.balance.in_g;
        Self {
            name: format!("{}, run of {}{called}", review.title, review.date),
            procedure: review.procedure.clone(),
            variant: review.variant.clone(),
            substance: product.map(|product| product.substance.clone()),
            limiting: product.and_then(|product| product.limiting.clone()),
            product_g: product.map(|product| product.found_g),
            yield_percent: best.map(|best| best.times(100.0)),
            corrected: product.is_some_and(|product| product.corrected.is_some()),
            purity_percent: product.and_then(|product| product.purity).map(|share| share.of.times(100.0)),
            by_area: product.and_then(|product| product.purity).is_some_and(|share| share.by_area),
            timed_h: (timed > 0.0).then_some(timed / 3600.0),
            agent_g: (!agents.is_empty()).then(|| agents.iter().sum()),
            mass_intensity: product.filter(|_| all_weighed).map(|product| review.balance.in_g / product.found_g.value),
            unaccounted_g: review.balance.unaccounted_g,
            steps: review.steps.clone(),
            deviations: review.texts.iter().filter(|(word, _)| word == "deviation").map(|(_, text)| text.clone()).collect(),
            left_out: not_testable(product),
            taken: review.taken.clone(),
        }
    }

    /// What two runs must have alike for their yields to mean the same.
    fn basis(&self) -> (&str, Option<&str>, Option<&str>, bool) {
        (&self.procedure, self.substance.as_deref(), self.limiting.as_deref(), self.corrected)
    }

    /// Whether two runs of one basis are one way of working.
    fn same_way(&self, other: &Self) -> bool {
        let share = |run: &Self, name: &str| {
            let own = |name: &str| run.taken.iter().find(|taken| taken.portion == name).map(|taken| taken.found_g.value);
            Some(own(name)? / run.limiting.as_deref().and_then(own)?)
        };
        let alike = |taken: &&Taken| match (share(self, &taken.portion), share(other, &taken.portion)) {
            (Some(one), Some(two)) => (one / two - 1.0).abs() <= ALIKE,
            _ => true,
        };
        self.variant == other.variant
            && self.deviations == other.deviations
            // A drying agent that is more than enough changes nothing.
            && self.taken.iter().filter(|taken| !taken.agent).all(|taken| alike(&taken))
    }
}

/// Why a yield cannot be set against others, whatever they are.
fn not_testable(product: Option<&Product>) -> Option<String> {
    let Some(product) = product else { return Some("no product was weighed".to_owned()) };
    let best = product.corrected.as_ref().unwrap_or(&product.crude).of_theory;
    (best.value > 1.0 + best.expanded).then(|| "it is more than theory allows, so that not all of it is product".to_owned())
}

/// Runs of one way of working.
#[derive(Clone, Debug, Serialize, PartialEq)]
pub struct Way {
    /// A letter.
    pub letter: char,
    /// What tells it from the others, in words.
    pub told: String,
    /// Its runs, by their places.
    pub runs: Vec<usize>,
    /// Mean, %.
    pub mean: f64,
    /// Standard deviation of one run, % , where there are several.
    pub scatter: Option<f64>,
    /// Expanded uncertainty of the mean: of a single run that of its readings.
    pub expanded: Option<f64>,
    /// The mean standard uncertainty that the readings of one run bring, %.
    pub readings: f64,
    #[serde(skip)]
    statistics: Mean,
}

/// Two ways against each other.
#[derive(Clone, Debug, Serialize, PartialEq)]
pub struct Pair {
    /// The first.
    pub one: char,
    /// The other.
    pub other: char,
    /// The other less the first, percentage points.
    pub difference: f64,
    /// Its expanded uncertainty.
    pub expanded: f64,
    /// The coverage factor of that.
    pub factor: f64,
    /// Effective degrees of freedom; absent where they count as many.
    pub freedom: Option<f64>,
    /// Whether the difference is more than its expanded uncertainty.
    pub beyond: bool,
    /// Whether the scatter of one stands for that of the other.
    pub borrowed: bool,
    /// Whether any scatter of runs is in it.
    pub scatter_known: bool,
    /// Runs of each that would tell them apart.
    pub runs_needed: Option<usize>,
}

/// What is compared, and how it comes out.
#[derive(Clone, Debug, Serialize, PartialEq)]
pub struct Tested {
    /// `yield` or `purity`.
    pub quantity: &'static str,
    /// Ways of working.
    pub ways: Vec<Way>,
    /// Each two of them.
    pub pairs: Vec<Pair>,
}

/// Sorts runs into ways of working and sets each two ways against each other, first by yield and then by purity. A run that
/// has nothing to be set against is told why in [`Run::left_out`].
pub fn tested(runs: &mut [Run]) -> Vec<Tested> {
    leave_out(runs);
    let yields = |run: &Run| run.yield_percent.filter(|_| run.left_out.is_none());
    let purities = |run: &Run| run.purity_percent.filter(|_| run.left_out.is_none());
    let mut found = vec![test("yield", runs, &yields, &|_, _| true)];
    let purity = test("purity", runs, &purities, &|one, other| one.by_area == other.by_area);
    found.push(purity);
    found.retain(|tested| tested.ways.len() > 1 || tested.ways.iter().any(|way| way.runs.len() > 1));
    found
}

/// Leaves out what is of another basis than most of the others.
fn leave_out(runs: &mut [Run]) {
    let able: Vec<usize> = (0..runs.len()).filter(|place| runs.get(*place).is_some_and(|run| run.left_out.is_none())).collect();
    let of = |place: usize| runs.get(place).map(Run::basis);
    let count = |place: usize| able.iter().filter(|other| of(**other) == of(place)).count();
    // The first of those that most share.
    let Some(main) = able.iter().copied().rev().max_by_key(|place| count(*place)) else { return };
    let Some(main) = runs.get(main).cloned() else { return };
    for run in runs.iter_mut().filter(|run| run.left_out.is_none() && run.basis() != main.basis()) {
        let why = if run.procedure != main.procedure {
            format!("it is of another procedure, `{}`", run.procedure)
        } else if run.substance != main.substance {
            "its product is another substance".to_owned()
        } else if run.limiting != main.limiting {
            format!("its yield counts on {}", run.limiting.as_deref().unwrap_or("what was taken"))
        } else if run.corrected {
            "its purity was found, and that of the others was not".to_owned()
        } else {
            "its purity was not found".to_owned()
        };
        run.left_out = Some(why);
    }
}

type Measured<'a> = &'a dyn Fn(&Run) -> Option<Figure>;

fn test(quantity: &'static str, runs: &[Run], of: Measured<'_>, like: &dyn Fn(&Run, &Run) -> bool) -> Tested {
    let mut groups: Vec<Vec<usize>> = Vec::new();
    for (place, run) in runs.iter().enumerate().filter(|(_, run)| of(run).is_some()) {
        let first = |group: &&mut Vec<usize>| {
            group.first().and_then(|first| runs.get(*first)).is_some_and(|first| first.same_way(run) && like(first, run))
        };
        match groups.iter_mut().find(first) {
            Some(group) => group.push(place),
            None => groups.push(vec![place]),
        }
    }
    let mut ways = Vec::new();
    for (group, letter) in groups.iter().zip('A'..='Z') {
        let own: Vec<&Run> = group.iter().filter_map(|place| runs.get(*place)).collect();
        let figures: Vec<(f64, f64)> = own.iter().filter_map(|run| of(run)).map(|figure| (figure.value, figure.standard)).collect();
        let Some(mean) = Mean::of(&figures) else { continue };
        let readings = (figures.iter().map(|(_, standard)| standard * standard).sum::<f64>() / figures.len().max(1) as f64).sqrt();
        let factor = mean.freedom.map_or(Some(crate::chemistry::uncertainty::COVERAGE), student::factor);
        ways.push(Way {
            letter,
            told: told(&own),
            runs: group.clone(),
            mean: mean.value,
            scatter: mean.scatter,
            expanded: factor.map(|factor| factor * mean.standard),
            readings,
            statistics: mean,
        });
    }
    let mut pairs = Vec::new();
    for (number, one) in ways.iter().enumerate() {
        for other in ways.iter().skip(number + 1) {
            let comparable = one.runs.first().and_then(|one| runs.get(*one)).zip(other.runs.first().and_then(|other| runs.get(*other)));
            if comparable.is_some_and(|(one, other)| like(one, other))
                && let Some(found) = student::against(&one.statistics, &other.statistics)
            {
                pairs.push(pair(one, other, &found));
            }
        }
    }
    Tested { quantity, ways, pairs }
}

fn pair(one: &Way, other: &Way, found: &Against) -> Pair {
    Pair {
        one: one.letter,
        other: other.letter,
        difference: found.difference,
        expanded: found.expanded(),
        factor: found.factor,
        freedom: found.freedom,
        beyond: found.beyond(),
        borrowed: found.borrowed,
        scatter_known: one.scatter.is_some() || other.scatter.is_some(),
        runs_needed: found.runs_needed,
    }
}

/// What tells a way of working, in words.
fn told(runs: &[&Run]) -> String {
    let Some(first) = runs.first() else { return String::new() };
    match (&first.variant, first.deviations.as_slice()) {
        (Some(variant), []) => variant.clone(),
        (None, []) => "as the procedure has it".to_owned(),
        (variant, deviations) => {
            let texts = deviations.iter().map(|text| text.trim().trim_end_matches('.').to_owned());
            variant.iter().cloned().chain(texts).collect::<Vec<_>>().join("; ")
        }
    }
}
