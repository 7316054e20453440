//! Uncertainty of measurement after JCGM 100:2008 (the clause stands at each function): standard uncertainties from
//! what is known of a reading, their propagation through any function, the budget, and the effective degrees of
//! freedom.

/// The coverage factor of expanded uncertainties: about 95 % where many contributions of like size meet (JCGM 100, 6.3.3).
pub const COVERAGE: f64 = 2.0;

/// A quantity that goes into a result.
#[derive(Clone, Debug, PartialEq)]
pub struct Input {
    /// What it is.
    pub what: String,
    /// Its estimate.
    pub value: f64,
    /// Its standard uncertainty, in the unit of the estimate.
    pub standard: f64,
    /// Its degrees of freedom; `None` where the standard uncertainty is itself taken as exact.
    pub freedom: Option<f64>,
}

impl Input {
    /// An input whose standard uncertainty is taken as exact.
    #[must_use]
    pub fn new(what: impl Into<String>, value: f64, standard: f64) -> Self {
        Self { what: what.into(), value, standard, freedom: None }
    }
}

/// One line of a budget.
#[derive(Clone, Debug, PartialEq)]
pub struct Contribution {
    /// What contributes.
    pub what: String,
    /// Its estimate.
    pub value: f64,
    /// Its standard uncertainty.
    pub standard: f64,
    /// By how much the result changes for a unit of it.
    pub sensitivity: f64,
    /// Sensitivity times standard uncertainty, in the unit of the result, with its sign.
    pub part: f64,
    /// Its share of the squared uncertainty of the result; with correlated inputs the shares need not add up to one.
    pub share: f64,
}

/// A result with its uncertainty.
#[derive(Clone, Debug, PartialEq)]
pub struct Combined {
    /// The estimate.
    pub value: f64,
    /// The combined standard uncertainty.
    pub standard: f64,
    /// What contributes, in the order of the inputs.
    pub budget: Vec<Contribution>,
    /// Effective degrees of freedom; `None` where no input has a number of them.
    pub freedom: Option<f64>,
}

impl Combined {
    /// The expanded uncertainty with [`COVERAGE`].
    #[must_use]
    pub fn expanded(&self) -> f64 {
        COVERAGE * self.standard
    }
}

/// From limits `±half` between which every value is as likely (4.3.7).
#[must_use]
pub fn rectangular(half: f64) -> f64 {
    half.abs() / 3.0_f64.sqrt()
}

/// From limits `±half` with values near the middle more likely (4.3.9).
#[must_use]
pub fn triangular(half: f64) -> f64 {
    half.abs() / 6.0_f64.sqrt()
}

/// From the step to which an indication is read: half of it either way (F.2.2.1).
#[must_use]
pub fn readability(step: f64) -> f64 {
    rectangular(0.5 * step)
}

/// Contributions to one quantity that know nothing of each other, together (5.1.2).
#[must_use]
pub fn together(parts: &[f64]) -> f64 {
    parts.iter().map(|part| part * part).sum::<f64>().sqrt()
}

/// The standard uncertainty of a volume from the temperature of the room: a liquid with this coefficient of expansion, in
/// 1/K, within `±half` K of the temperature for which the vessel is marked. The expansion of glass is left out.
#[must_use]
pub fn warmth(volume: f64, expansion: f64, half: f64) -> f64 {
    rectangular(volume * expansion * half)
}

/// Mean of repeated readings, the experimental standard deviation of one of them and of their mean (4.2); `None` for
/// fewer than two.
#[must_use]
pub fn repeated(readings: &[f64]) -> Option<(f64, f64, f64)> {
    if readings.len() < 2 {
        return None;
    }
    let count = readings.len() as f64;
    let mean = readings.iter().sum::<f64>() / count;
    let one = (readings.iter().map(|reading| (reading - mean).powi(2)).sum::<f64>() / (count - 1.0)).sqrt();
    Some((mean, one, one / count.sqrt()))
}

/// Effective degrees of freedom of contributions with a number of them each (G.4.1); `None` where none has.
#[must_use]
pub fn effective(standard: f64, parts: &[(f64, Option<f64>)]) -> Option<f64> {
    let sum: f64 = parts.iter().filter_map(|(part, freedom)| freedom.map(|freedom| part.powi(4) / freedom)).sum();
    (sum > 0.0).then(|| standard.powi(4) / sum)
}

/// The law of propagation of uncertainty for inputs that know nothing of each other (5.1.2).
///
/// `None` where the function has no value at the estimates or close to them.
pub fn propagate(inputs: &[Input], function: impl FnMut(&[f64]) -> f64) -> Option<Combined> {
    correlated(inputs, &[], function)
}

/// The same for inputs of which some go together: pairs of places with their coefficient of correlation (5.2.2).
///
/// `None` as for [`propagate`].
pub fn correlated(inputs: &[Input], pairs: &[(usize, usize, f64)], mut function: impl FnMut(&[f64]) -> f64) -> Option<Combined> {
    let mut at: Vec<f64> = inputs.iter().map(|input| input.value).collect();
    let value = function(&at);
    let mut budget = Vec::new();
    let mut squared = 0.0;
    for (place, input) in inputs.iter().enumerate() {
        let sensitivity = if input.standard == 0.0 { 0.0 } else { slope(&mut at, place, input, &mut function) };
        let part = sensitivity * input.standard;
        squared += part * part;
        budget.push(Contribution { what: input.what.clone(), value: input.value, standard: input.standard, sensitivity, part, share: 0.0 });
    }
    for (one, other, coefficient) in pairs {
        if let (Some(one), Some(other)) = (budget.get(*one), budget.get(*other)) {
            squared += 2.0 * one.part * other.part * coefficient;
        }
    }
    // Rounding can leave a sum that is meant to vanish below zero.
    let standard = squared.max(0.0).sqrt();
    for line in &mut budget {
        line.share = if squared > 0.0 { line.part * line.part / squared } else { 0.0 };
    }
    let parts: Vec<(f64, Option<f64>)> = budget.iter().zip(inputs).map(|(line, input)| (line.part, input.freedom)).collect();
    let freedom = effective(standard, &parts);
    (value.is_finite() && standard.is_finite()).then_some(Combined { value, standard, budget, freedom })
}

/// The partial derivative by one input: central differences over two distances, so that what is left is of the fifth
/// order; for sums and products it is exact but for rounding.
fn slope(at: &mut [f64], place: usize, input: &Input, function: &mut impl FnMut(&[f64]) -> f64) -> f64 {
    // A thousandth of the estimate; where the estimate is zero the uncertainty gives the scale. Our own figure.
    let distance = if input.value == 0.0 { input.standard } else { 1e-3 * input.value.abs() };
    let mut difference = |distance: f64| {
        let mut moved = |by: f64| {
            if let Some(here) = at.get_mut(place) {
                *here = input.value + by;
            }
            function(at)
        };
        (moved(distance) - moved(-distance)) / (2.0 * distance)
    };
    let (wide, near) = (difference(distance), difference(0.5 * distance));
    if let Some(here) = at.get_mut(place) {
        *here = input.value;
    }
    (4.0 * near - wide) / 3.0
}
