//! Measures of the syntax tree become quantities: the unit is looked up, the kind is checked, and
//! every way to get it wrong has its finding.

use crate::diagnostics::{Code, Diagnostic, suggest};
use crate::kinds::{Kind, Unit, UnitError, show, unit};
use crate::source::Span;
use crate::syntax::Measure;

/// A quantity or a range of it, in SI.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Figure {
    /// The value, or the lower end.
    pub low: f64,
    /// The upper end of a range.
    pub high: Option<f64>,
    /// The half-width after `±`.
    pub plus_minus: Option<f64>,
    /// Its kind.
    pub kind: Kind,
    /// Where.
    pub span: Span,
}

impl Figure {
    /// The value, or the middle of the range.
    #[must_use]
    pub fn middle(&self) -> f64 {
        self.high.map_or(self.low, |high| 0.5 * (self.low + high))
    }

    /// The value, or the upper end of the range.
    #[must_use]
    pub fn top(&self) -> f64 {
        self.high.unwrap_or(self.low)
    }
}

/// The span of a whole measure.
#[must_use]
pub fn span_of(measure: &Measure) -> Span {
    measure.unit.as_ref().map_or(measure.figures_span, |(_, span)| measure.figures_span.to(*span))
}

/// By how much the figure as written may be off, in SI: half the width of a range, the half-width
/// behind `±`, else half a unit of the last digit.
#[must_use]
pub fn slack(measure: &Measure, figure: &Figure) -> f64 {
    if let Some(width) = figure.plus_minus {
        return width;
    }
    if let Some(high) = figure.high {
        return 0.5 * (high - figure.low);
    }
    let factor = if measure.low == 0.0 { 1.0 } else { figure.low / measure.low };
    let (digits, power) = measure.figures.split_once(['e', 'E']).unwrap_or((&measure.figures, "0"));
    let decimals = digits.split_once('.').map_or(0, |(_, behind)| behind.len());
    let decimals = i32::try_from(decimals).unwrap_or(i32::MAX);
    let power = power.parse::<i32>().unwrap_or(0);
    0.5 * 10_f64.powi(power.saturating_sub(decimals)) * factor
}

/// The unit of a measure; `None` when it has none.
///
/// # Errors
/// A finding that says what to write instead.
pub fn unit_of(measure: &Measure) -> Result<Option<Unit>, Diagnostic> {
    let Some((text, span)) = &measure.unit else { return Ok(None) };
    unit(text).map(Some).map_err(|error| unit_finding(&error, *span))
}

/// The finding for a unit that is none.
#[must_use]
pub fn unit_finding(error: &UnitError, span: Span) -> Diagnostic {
    match error {
        UnitError::Ambiguous { written, because, write } => {
            let write: Vec<&str> = write.iter().map(String::as_str).collect();
            let code = if written.trim() == "%" { Code::PercentOfWhat } else { Code::AmbiguousUnit };
            let drops = matches!(written.trim().split('/').next(), Some("drop" | "drops"))
                .then_some("; or say once in the procedure how large a drop is: `drop 0.05 mL`");
            Diagnostic::new(code, span, format!("`{written}` has more than one meaning: {because}")).help(format!(
                "write {}{}",
                suggest::listed(&write, "or"),
                drops.unwrap_or_default()
            ))
        }
        UnitError::Slip { written, write } => {
            Diagnostic::new(Code::SyntaxSlip, span, format!("`{written}` is not how this unit is written"))
                .help(format!("write `{write}`"))
                .edit(span, write.clone())
        }
        UnitError::Unknown { written, near } => {
            let near: Vec<&str> = near.iter().map(String::as_str).collect();
            let finding = Diagnostic::new(Code::UnknownUnit, span, format!("`{written}` is not a unit that is known here"));
            if near.is_empty() {
                finding.help(
                    "units are written as on a label: `g`, `mL`, `mol`, `min`, `degC`, `% w/w`; a word of the form stands behind a comma",
                )
            } else {
                finding.help(format!("did you mean {}?", suggest::listed(&near, "or")))
            }
        }
    }
}

/// Reads a measure that must be of one of `wanted` kinds (the first names what is wanted).
///
/// # Errors
/// A finding for a missing, ambiguous or unknown unit, a wrong kind, or a figure that cannot be.
pub fn read(measure: &Measure, wanted: &[Kind]) -> Result<Figure, Diagnostic> {
    let span = span_of(measure);
    let main = wanted.first().copied().unwrap_or(Kind::Ratio);
    let unit = match unit_of(measure)? {
        Some(unit) => unit,
        None if wanted.contains(&Kind::Ratio) => {
            return check(Figure { low: measure.low, high: measure.high, plus_minus: measure.plus_minus, kind: Kind::Ratio, span });
        }
        None => {
            return Err(Diagnostic::new(
                Code::MissingUnit,
                span,
                format!("`{}` has no unit: {} is wanted here", measure.figures, main.article_name()),
            )
            .help(format!("write it with its unit, such as `{}`", main.example())));
        }
    };
    if !wanted.contains(&unit.kind) {
        if unit.text == "%" && wanted.contains(&Kind::MassFraction) {
            return Err(percent_of_what(measure, span));
        }
        return Err(Diagnostic::new(
            Code::Mismatch,
            span,
            format!("`{} {}` is {}, and {} is wanted here", measure.figures, unit.text, unit.kind.article_name(), main.article_name()),
        )
        .help(format!("write {}, such as `{}`", main.article_name(), main.example())));
    }
    check(Figure {
        low: unit.to_si(measure.low),
        high: measure.high.map(|high| unit.to_si(high)),
        plus_minus: measure.plus_minus.map(|width| width * unit.factor),
        kind: unit.kind,
        span,
    })
}

/// The finding for a strength in bare per cent.
#[must_use]
pub fn percent_of_what(measure: &Measure, span: Span) -> Diagnostic {
    let figures = &measure.figures;
    Diagnostic::new(Code::PercentOfWhat, span, format!("`{figures} %` does not say of what: by mass, by volume, or mass in volume"))
        .help(format!("write `{figures} % w/w`, `{figures} % v/v` or `{figures} % w/v`, whichever the label says"))
}

fn check(figure: Figure) -> Result<Figure, Diagnostic> {
    let refuse = |message: String, help: &str| Err(Diagnostic::new(Code::OutOfRange, figure.span, message).help(help));
    for value in [Some(figure.low), figure.high, figure.plus_minus].into_iter().flatten() {
        if !value.is_finite() {
            return refuse("this number is too large to mean anything".to_owned(), "look at its figures and its power of ten again");
        }
    }
    if figure.high.is_some_and(|high| high < figure.low) {
        return refuse(
            "this range runs backwards: the smaller figure comes first".to_owned(),
            "write the two figures the other way round; a fall of temperature is two statements, or `cool NAME to …`",
        );
    }
    let fraction = matches!(figure.kind, Kind::MassFraction | Kind::VolumeFraction);
    match figure.kind {
        Kind::Temperature if figure.low < 0.0 => refuse(
            format!("{} is below absolute zero (-273.15 degC)", show(figure.low, Kind::Temperature, 4)),
            "look at the figure and its unit again",
        ),
        Kind::Temperature | Kind::TemperatureDifference | Kind::MolarEnergy | Kind::Energy => Ok(figure),
        Kind::Ratio => Ok(figure),
        _ if fraction && figure.top() > 1.0 => {
            Err(Diagnostic::new(Code::OutOfRange, figure.span, "a strength of more than 100 % cannot be")
                .help("a strength lies between 0 and 100 %; look at the label again"))
        }
        _ if figure.low < 0.0 => refuse(
            format!("{} cannot be negative", figure.kind.article_name()),
            "take the sign out; what is less than another amount is a difference: `volume of crude - 5 mL`",
        ),
        _ => Ok(figure),
    }
}
