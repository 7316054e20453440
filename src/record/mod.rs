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
use crate::matter::linear::{BindingId, Procedure};
use crate::resolve::definitions::Definitions;
use crate::resolve::procedure::Draft;
use crate::resolve::record::Record;
use crate::source::Span;

/// A record with the title of the variant of which it is: that behind the procedure's name, else that which the text behind
/// its day names, if it names one.
pub struct Sorted {
    record: Record,
    variant: Option<String>,
}

/// Sorts records by the procedure or the variant of which they are; one that is of neither is reported, unless something
/// could not be read, which may be the procedure.
pub fn sorted(records: Vec<Record>, drafts: &[Draft], findings: &mut Vec<Diagnostic>) -> Vec<Sorted> {
    let broken = findings.iter().any(Diagnostic::is_error);
    let known: Vec<&str> = drafts.iter().map(|draft| draft.name.text.as_str()).collect();
    let mut sorted = Vec::new();
    for record in records {
        if !broken && !known.contains(&record.of.text.as_str()) {
            findings.push(stranger(&record, &known));
        }
        let titles: Vec<String> =
            drafts.iter().filter(|draft| draft.name.text == record.of.text).filter_map(|draft| draft.variant.clone()).collect();
        let variant = match &record.variant {
            Some((title, at)) if !broken && !titles.contains(title) && known.contains(&record.of.text.as_str()) => {
                findings.push(no_variant(&record.of.text, title, *at, &titles));
                continue;
            }
            Some((title, _)) => Some(title.clone()),
            None => titles.into_iter().find(|title| Some(title) == record.called.as_ref()),
        };
        sorted.push(Sorted { record, variant });
    }
    sorted
}

/// The records of this draft.
#[must_use]
pub fn of<'a>(records: &'a [Sorted], draft: &Draft) -> Vec<&'a Record> {
    let own = records.iter().filter(|sorted| sorted.record.of.text == draft.name.text && sorted.variant == draft.variant);
    own.map(|sorted| &sorted.record).collect()
}

/// The shares of theory that reviews give for a portion that is kept: with the purity and the water found where they were.
#[must_use]
pub fn yields(reviews: &[Review], binding: BindingId, procedure: &Procedure) -> Vec<f64> {
    let name = bound::name_of(binding, procedure);
    let own = reviews.iter().flat_map(|review| &review.products).filter(|product| product.portion == name);
    own.map(|product| product.corrected.as_ref().unwrap_or(&product.crude).of_theory.value).collect()
}

/// Reviews records, all of this procedure.
pub fn review_all(records: &[&Record], procedure: &Procedure, defs: &Definitions, findings: &mut Vec<Diagnostic>) -> Vec<Review> {
    records.iter().filter_map(|record| review::review(record, procedure, defs, findings)).collect()
}

/// What to say of a record of a variant that is not here.
fn no_variant(of: &str, title: &str, at: Span, titles: &[String]) -> Diagnostic {
    let known: Vec<&str> = titles.iter().map(String::as_str).collect();
    let help = match (suggest::sentence(title, known.iter().copied()), known.as_slice()) {
        (Some(sentence), _) => sentence,
        (None, []) => "use the file that declares the variant; what a run is called stands behind its day".to_owned(),
        (None, known) => format!("there is {}; what a run is called stands behind its day", suggest::listed(known, "and")),
    };
    Diagnostic::new(Code::RecordProcedure, at, format!("no variant of `{of}` with this title is here")).help(help)
}

/// What to say of a record of a procedure that is not here.
fn stranger(record: &Record, known: &[&str]) -> Diagnostic {
    let help = match (suggest::sentence(&record.of.text, known.iter().copied()), known) {
        (Some(sentence), _) => sentence,
        (None, []) => "name the file with the procedure above the record: `use \"file.scruple\"`".to_owned(),
        (None, known) => format!("here is {}", suggest::listed(known, "and")),
    };
    Diagnostic::new(
        Code::RecordProcedure,
        record.of.span,
        format!("this is a record of `{}`, and no procedure of that name is here", record.of.text),
    )
    .help(help)
}
