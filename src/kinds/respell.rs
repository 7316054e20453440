//! The spelling of units: glyphs that are the same, and habits that are not ours.

/// Makes one text of the many that look alike in print.
///
/// These are differences of font and keyboard (two Unicode micro signs, three
/// things that look like a degree sign, raised digits), never of meaning.
pub(super) fn tidy(text: &str) -> String {
    let mut tidied = String::new();
    for word in text.split_whitespace() {
        if !tidied.is_empty() {
            tidied.push(' ');
        }
        for c in word.chars() {
            match c {
                'μ' => tidied.push('µ'),
                'º' | '˚' => tidied.push('°'),
                '℃' => tidied.push_str("°C"),
                '℉' => tidied.push_str("°F"),
                '¹' => tidied.push('1'),
                '²' => tidied.push('2'),
                '³' => tidied.push('3'),
                '⁻' | '−' | '–' => tidied.push('-'),
                '⋅' | '∙' | '•' | '*' => tidied.push('·'),
                '∕' | '⁄' => tidied.push('/'),
                other => tidied.push(other),
            }
        }
    }
    tidied
}

/// The text with only what every keyboard has: `degC`, `uL`, `cm3`.
pub(super) fn typed(text: &str) -> String {
    text.replace('°', "deg").replace('µ', "u").replace('²', "2").replace('³', "3")
}

/// Other spellings the writer may have had in mind, likeliest first.
///
/// Each differs from `text`; whether one is a unit is for the caller to find.
pub(super) fn guesses(text: &str) -> Vec<String> {
    let plain = text.trim_end_matches('.').replace('^', "").replace(" per ", "/").replace(" / ", "/").replace(" /", "/").replace("/ ", "/");
    let grouped = divisors_grouped(&plain);
    let solidus = exponents_as_solidus(&plain);
    let unspaced: String = plain.chars().filter(|c| *c != ' ').collect();
    let percent_spaced = unspaced.replacen('%', "% ", 1);
    let mut guesses: Vec<String> = Vec::new();
    for guess in [Some(plain), grouped, solidus, Some(unspaced), Some(percent_spaced)].into_iter().flatten() {
        if guess != text && !guesses.contains(&guess) {
            guesses.push(guess);
        }
    }
    guesses
}

/// `J/g K` and `J/mol·K`: everything after the stroke is below it.
fn divisors_grouped(text: &str) -> Option<String> {
    let (above, below) = text.split_once('/')?;
    let bare = !below.contains(['/', '(', ')']) && below.contains([' ', '·']);
    bare.then(|| format!("{above}/({})", below.replace('·', " ")))
}

/// `kJ mol-1` and `J·g-1·K-1`: negative exponents become a stroke.
fn exponents_as_solidus(text: &str) -> Option<String> {
    let mut above = Vec::new();
    let mut below = Vec::new();
    for factor in text.split([' ', '·']).filter(|factor| !factor.is_empty()) {
        match factor.split_once('-') {
            Some((name, "1")) => below.push(name.to_owned()),
            Some((name, exponent)) => below.push(format!("{name}{exponent}")),
            None => above.push(factor),
        }
    }
    match (above.as_slice(), below.as_slice()) {
        ([numerator], [divisor]) => Some(format!("{numerator}/{divisor}")),
        ([numerator], [_, _, ..]) => Some(format!("{numerator}/({})", below.join(" "))),
        _ => None,
    }
}
