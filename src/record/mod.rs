//! What was measured in a run against what the procedure gives at the amounts as weighed: yields with their
//! uncertainty, the balance, and where the work went another way than predicted.

mod bound;
pub mod jars;
mod points;
pub mod review;
mod run;
mod stated;

pub use review::Review;

use crate::diagnostics::{Code, Diagnostic, suggest};
use crate::matter::linear::Procedure;
use crate::resolve::definitions::Definitions;
use crate::resolve::procedure::Draft;
use crate::resolve::record::Record;

/// Reviews the records that are of this procedure.
pub fn review_all(records: &[Record], procedure: &Procedure, defs: &Definitions, findings: &mut Vec<Diagnostic>) -> Vec<Review> {
    let own = records.iter().filter(|record| record.of.text == procedure.name);
    own.filter_map(|record| review::review(record, procedure, defs, findings)).collect()
}

/// Reports records of a procedure that is not here.
pub fn strangers(records: &[Record], drafts: &[Draft], findings: &mut Vec<Diagnostic>) {
    let known: Vec<&str> = drafts.iter().map(|draft| draft.name.text.as_str()).collect();
    for record in records.iter().filter(|record| !known.contains(&record.of.text.as_str())) {
        let help = match (suggest::sentence(&record.of.text, known.iter().copied()), known.as_slice()) {
            (Some(sentence), _) => sentence,
            (None, []) => "name the file with the procedure above the record: `use \"file.scruple\"`".to_owned(),
            (None, known) => format!("here is {}", suggest::listed(known, "and")),
        };
        findings.push(
            Diagnostic::new(
                Code::RecordProcedure,
                record.of.span,
                format!("this is a record of `{}`, and no procedure of that name is here", record.of.text),
            )
            .help(help),
        );
    }
}
