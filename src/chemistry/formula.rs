//! Chemical formulas: counts of atoms, molar mass and Hill order.

use std::collections::BTreeMap;
use std::fmt;

use super::weights::atomic_weight;

/// Brackets may nest this deep; no real formula comes near.
const DEEPEST: usize = 32;

/// More atoms of one element than this in one formula is a slip of the hand.
const MOST_ATOMS: f64 = 1e6;

/// Why a formula could not be read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FormulaError {
    /// Byte offset into the text at which the trouble starts.
    pub at: usize,
    /// One plain sentence.
    pub what: String,
}

impl fmt::Display for FormulaError {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "{} (at byte {})", self.what, self.at)
    }
}

impl std::error::Error for FormulaError {}

/// A formula as counts of atoms; fractional hydrates make fractional counts.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Formula {
    counts: BTreeMap<String, f64>,
}

impl Formula {
    /// Reads a formula such as `C5H12O`, `Ca(CH3CO2)2`, `C7H8O3S·H2O` or `K2CO3·1.5H2O`.
    ///
    /// Parts may be joined by `·`, `•`, `∙`, `⋅`, `.` or `*`, each part with a
    /// number before it that may have decimals. Counts after an element or a
    /// bracket are whole numbers, so that `CuSO4.5H2O` has one reading: the
    /// pentahydrate. The digits `₀` to `₉` count as digits.
    ///
    /// # Errors
    ///
    /// [`FormulaError`] for an empty formula, an element without a standard
    /// atomic weight, brackets that do not pair up or nest deeper than 32, a
    /// count of zero or beyond reason, and a charge.
    pub fn parse(text: &str) -> Result<Formula, FormulaError> {
        Reader { text, at: 0 }.formula()
    }

    /// Atoms per formula unit, by element symbol.
    pub fn atoms(&self) -> &BTreeMap<String, f64> {
        &self.counts
    }

    /// Molar mass in kg/mol, from the CIAAW abridged standard atomic weights 2021.
    pub fn molar_mass(&self) -> f64 {
        self.counts.iter().filter_map(|(symbol, count)| Some(atomic_weight(symbol)? * count)).sum::<f64>() / 1000.0
    }

    /// The formula in Hill order: carbon, hydrogen, then by symbol; without carbon all by symbol.
    ///
    /// E. A. Hill, *J. Am. Chem. Soc.* 1900, 22, 478.
    pub fn hill(&self) -> String {
        let mut text = String::new();
        for (symbol, count) in hill_order(&self.counts) {
            text.push_str(symbol);
            if count != 1.0 {
                text.push_str(&number(count));
            }
        }
        text
    }
}

/// The elements of `counts` in Hill order.
pub(super) fn hill_order(counts: &BTreeMap<String, f64>) -> Vec<(&str, f64)> {
    let organic = counts.contains_key("C");
    let rank = |symbol: &str| match symbol {
        "C" => 0,
        "H" if organic => 1,
        _ => 2,
    };
    let mut ordered: Vec<(&str, f64)> = counts.iter().map(|(symbol, count)| (symbol.as_str(), *count)).collect();
    // The sort is stable, so that elements of equal rank stay in the map's order, by symbol.
    ordered.sort_by_key(|(symbol, _)| rank(symbol));
    ordered
}

/// A count without trailing zeros, at most six decimals.
pub(super) fn number(count: f64) -> String {
    let text = format!("{count:.6}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// A bracket that has been opened, or the part itself at the bottom of the pile.
#[derive(Default)]
struct Group {
    at: usize,
    close: Option<char>,
    atoms: BTreeMap<String, f64>,
}

struct Reader<'a> {
    text: &'a str,
    at: usize,
}

impl Reader<'_> {
    fn peek(&self) -> Option<char> {
        self.text.get(self.at..)?.chars().next()
    }

    fn after(&self, first: char) -> Option<char> {
        self.text.get(self.at + first.len_utf8()..)?.chars().next()
    }

    fn formula(mut self) -> Result<Formula, FormulaError> {
        let start = self.text.len() - self.text.trim_start().len();
        self.text = self.text.trim_end();
        self.at = start;
        if self.peek().is_none() {
            return Err(error(0, "The formula is empty."));
        }
        let mut whole = Group::default();
        loop {
            let before = self.at;
            let times = self.coefficient()?;
            let part = self.part()?;
            if part.atoms.is_empty() {
                return Err(error(before, "A part of the formula is missing beside a dot or after a number."));
            }
            add(&mut whole.atoms, &part.atoms, times, before)?;
            match self.peek() {
                Some(dot) => self.at += dot.len_utf8(),
                None => {
                    return Ok(Formula { counts: whole.atoms });
                }
            }
        }
    }

    /// Atoms up to the end of the text or to a dot between parts, which is left unread.
    fn part(&mut self) -> Result<Group, FormulaError> {
        let mut outer: Vec<Group> = Vec::new();
        let mut group = Group::default();
        loop {
            let at = self.at;
            let Some(next) = self.peek() else { break };
            match next {
                '(' | '[' | '{' => {
                    if outer.len() >= DEEPEST {
                        return Err(error(at, format!("The brackets nest deeper than {DEEPEST}.")));
                    }
                    self.at += 1;
                    let close = match next {
                        '(' => ')',
                        '[' => ']',
                        _ => '}',
                    };
                    let inner = Group { at, close: Some(close), atoms: BTreeMap::new() };
                    outer.push(std::mem::replace(&mut group, inner));
                }
                ')' | ']' | '}' => {
                    if group.close != Some(next) {
                        return Err(error(
                            at,
                            match group.close {
                                Some(close) => {
                                    format!("The bracket closes with '{next}' where '{close}' is due.")
                                }
                                None => format!("'{next}' closes a bracket that was never opened."),
                            },
                        ));
                    }
                    if group.atoms.is_empty() {
                        return Err(error(group.at, "The brackets are empty."));
                    }
                    self.at += 1;
                    let times = self.count()?;
                    let Some(mut around) = outer.pop() else {
                        return Err(error(at, format!("'{next}' closes a bracket that was never opened.")));
                    };
                    add(&mut around.atoms, &group.atoms, times, at)?;
                    group = around;
                }
                'A'..='Z' => {
                    let symbol = self.symbol()?;
                    let times = self.count()?;
                    add(&mut group.atoms, &BTreeMap::from([(symbol, 1.0)]), times, at)?;
                }
                dot if is_dot(dot) => {
                    if group.close.is_some() {
                        return Err(error(at, "A dot between parts stands inside a bracket."));
                    }
                    return Ok(group);
                }
                '+' | '-' | '\u{2212}' | '\u{207a}' | '\u{207b}' | '^' => {
                    return Err(error(at, "Charges are not supported: write the neutral substance."));
                }
                digit if digit_value(digit).is_some() => {
                    return Err(error(at, "A number stands where an element is due."));
                }
                other if other.is_whitespace() => {
                    return Err(error(at, "A formula is written without spaces."));
                }
                other => {
                    return Err(error(at, format!("'{other}' has no meaning in a formula.")));
                }
            }
        }
        if group.close.is_some() {
            return Err(error(group.at, "A bracket is opened and never closed."));
        }
        Ok(group)
    }

    fn symbol(&mut self) -> Result<String, FormulaError> {
        let at = self.at;
        let mut symbol = String::new();
        if let Some(first) = self.peek() {
            symbol.push(first);
            self.at += first.len_utf8();
        }
        // A small letter cannot stand on its own, so it always belongs to the capital before it.
        if let Some(second) = self.peek().filter(char::is_ascii_lowercase) {
            symbol.push(second);
            self.at += second.len_utf8();
        }
        if atomic_weight(&symbol).is_none() {
            return Err(error(at, format!("'{symbol}' is not an element with a standard atomic weight.")));
        }
        Ok(symbol)
    }

    /// The whole number after an element or a bracket; one when there is none.
    fn count(&mut self) -> Result<f64, FormulaError> {
        let at = self.at;
        match self.digits() {
            None => Ok(1.0),
            Some(count) => reasonable(count, at),
        }
    }

    /// The number before a part, which may have decimals; one when there is none.
    fn coefficient(&mut self) -> Result<f64, FormulaError> {
        let at = self.at;
        let Some(mut value) = self.digits() else {
            return Ok(1.0);
        };
        if self.peek() == Some('.') && self.after('.').and_then(digit_value).is_some() {
            self.at += 1;
            let mut place = 0.1;
            while let Some((digit, width)) = self.digit() {
                value += digit * place;
                place /= 10.0;
                self.at += width;
            }
        }
        reasonable(value, at)
    }

    fn digit(&self) -> Option<(f64, usize)> {
        let next = self.peek()?;
        Some((digit_value(next)?, next.len_utf8()))
    }

    fn digits(&mut self) -> Option<f64> {
        let mut value = None;
        while let Some((digit, width)) = self.digit() {
            // The cap keeps a very long number finite; it is refused later all the same.
            value = Some((value.unwrap_or(0.0) * 10.0 + digit).min(1e12));
            self.at += width;
        }
        value
    }
}

fn is_dot(letter: char) -> bool {
    matches!(letter, '.' | '*' | '\u{b7}' | '\u{2022}' | '\u{2219}' | '\u{22c5}')
}

fn digit_value(letter: char) -> Option<f64> {
    let plain = letter.to_digit(10);
    let lowered = u32::from(letter).checked_sub(0x2080).filter(|low| *low < 10);
    plain.or(lowered).map(f64::from)
}

fn reasonable(count: f64, at: usize) -> Result<f64, FormulaError> {
    if count <= 0.0 {
        return Err(error(at, "A count of zero leaves nothing there."));
    }
    if count > MOST_ATOMS {
        return Err(error(at, "The count is beyond reason."));
    }
    Ok(count)
}

fn add(into: &mut BTreeMap<String, f64>, what: &BTreeMap<String, f64>, times: f64, at: usize) -> Result<(), FormulaError> {
    for (symbol, count) in what {
        let sum = into.entry(symbol.clone()).or_insert(0.0);
        *sum += count * times;
        if *sum > MOST_ATOMS {
            return Err(error(at, format!("The count of {symbol} is beyond reason.")));
        }
    }
    Ok(())
}

fn error(at: usize, what: impl Into<String>) -> FormulaError {
    FormulaError { at, what: what.into() }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::super::close;
    use super::*;

    /// Molar masses in g/mol, computed independently from the CIAAW abridged weights.
    const MASSES: [(&str, f64); 34] = [
        ("CH4O", 32.042),
        ("C2H6O", 46.069),
        ("C4H10O", 74.123),
        ("C5H12O", 88.150),
        ("C6H10", 82.146),
        ("C2H4O2", 60.052),
        ("C4H8O2", 88.106),
        ("C6H12O2", 116.160),
        ("C7H6O2", 122.123),
        ("C8H8O2", 136.150),
        ("C7H6O3", 138.122),
        ("C8H8O3", 152.149),
        ("C6H7N", 93.129),
        ("C8H9NO", 135.166),
        ("C10H18O4", 202.250),
        ("C4H4O3", 100.073),
        ("C3H6O3", 90.078),
        ("C6H12O3", 132.159),
        ("C3H6O", 58.080),
        ("C17H14O", 234.298),
        ("C4H9Br", 137.020),
        ("C4H9Cl", 92.566),
        ("H2SO4", 98.072),
        ("H3PO4", 97.994),
        ("K2CO3·1.5H2O", 165.227),
        ("MgSO4", 120.361),
        ("Na2SO4·10H2O", 322.186),
        ("CaCl2·2H2O", 147.008),
        ("CuSO4·5H2O", 249.677),
        ("Ca(CH3CO2)2", 158.166),
        ("Cu(NO3)2", 187.554),
        ("C57H110O6", 891.501),
        // OpenStax Chemistry 2e prints 128.9 g/mol for CoCl2 in one example; its atoms weigh 129.83.
        ("CoCl2", 129.83),
        ("CaCl2", 110.98),
    ];

    #[test]
    fn molar_masses_are_those_computed_from_the_standard_weights() {
        for (text, mass) in MASSES {
            let seen = Formula::parse(text).unwrap().molar_mass() * 1000.0;
            close(text, seen, mass, if mass > 300.0 { 0.02 } else { 0.01 });
        }
    }

    #[test]
    fn every_dot_is_the_same_dot() {
        let expected = Formula::parse("C7H10O4S").unwrap();
        for dot in ['.', '*', '·', '•', '∙', '⋅'] {
            let text = format!("C7H8O3S{dot}H2O");
            assert_eq!(Formula::parse(&text).unwrap(), expected, "{text}");
        }
        assert_eq!(Formula::parse("CuSO4.5H2O"), Formula::parse("CuSO4·5H2O"), "a count is whole, so the stop before the five is a dot");
        assert_eq!(Formula::parse("K2CO3.1.5H2O"), Formula::parse("K2CO3·1.5H2O"));
        assert_eq!(Formula::parse("CaSO4.0.5H2O"), Formula::parse("CaSO4·0.5H2O"));
    }

    #[test]
    fn brackets_multiply() {
        let sulfate = Formula::parse("(NH4)2SO4").unwrap();
        assert_eq!(sulfate.hill(), "H8N2O4S");
        assert_eq!(Formula::parse("{[(CH3)2]3}2").unwrap().hill(), "C12H36");
        assert_eq!(Formula::parse(" H₂SO₄ ").unwrap().hill(), "H2O4S");
        assert_eq!(Formula::parse("C10H12BrN").unwrap().hill(), "C10H12BrN");
        assert_eq!(Formula::parse("K2CO3·1.5H2O").unwrap().hill(), "CH3K2O4.5");
        assert_eq!(sulfate.atoms().get("H"), Some(&8.0));
    }

    #[test]
    fn what_cannot_be_read_says_where() {
        let deep = format!("{}C{}", "(".repeat(33), ")".repeat(33));
        let fits = format!("{}C{}", "(".repeat(32), ")".repeat(32));
        assert!(Formula::parse(&fits).is_ok());
        for (text, at, word) in [
            ("", 0, "empty"),
            ("   ", 0, "empty"),
            ("C2Xx3", 2, "'Xx'"),
            ("ch4", 0, "no meaning"),
            ("Ca(OH", 2, "never closed"),
            ("CaOH)2", 4, "never opened"),
            ("Ca(OH]2", 5, "due"),
            ("Ca()2", 2, "empty"),
            ("C0H4", 1, "zero"),
            ("C99999999H", 1, "beyond reason"),
            ("((C99999)9999)99", 8, "beyond reason"),
            ("NH4+", 3, "Charges"),
            ("SO4^2-", 3, "Charges"),
            ("CuSO4·", 7, "missing"),
            ("CuSO4··H2O", 7, "missing"),
            ("·H2O", 0, "missing"),
            ("2", 0, "missing"),
            ("C2 H6", 2, "spaces"),
            ("Fe0.95O", 2, "zero"),
            (deep.as_str(), 32, "deeper"),
            ("(H2O·CO2)", 4, "inside"),
            ("H2é", 2, "no meaning"),
        ] {
            let error = Formula::parse(text).unwrap_err();
            assert!(error.what.contains(word), "{text}: {error}");
            assert_eq!(error.at, at, "{text}: {error}");
        }
        let long = "9".repeat(5000);
        assert!(Formula::parse(&format!("C{long}")).is_err());
        assert!(Formula::parse(&format!("{long}C")).is_err());
    }
}
