//! "Did you mean …": the nearest of the names that would have been right.

/// Up to `most` of `names` that are near `written`, nearest first; nothing when none is near.
#[must_use]
pub fn near<'a>(written: &str, names: impl IntoIterator<Item = &'a str>, most: usize) -> Vec<&'a str> {
    let lower = written.to_lowercase();
    let bound = (written.chars().count() / 3).clamp(1, 4);
    let mut found: Vec<(usize, &str)> = names
        .into_iter()
        .filter(|name| *name != written)
        .filter_map(|name| {
            // Texts whose lengths differ by more are further apart: the long list of names is passed over quickly.
            let begins_or_ends = lower.len() >= 4 && (name.starts_with(&lower) || name.ends_with(&lower));
            if !begins_or_ends && name.chars().count().abs_diff(lower.chars().count()) > bound {
                return None;
            }
            let distance = strsim::damerau_levenshtein(&lower, &name.to_lowercase());
            (begins_or_ends || distance <= bound).then_some((distance, name))
        })
        .collect();
    found.sort_unstable();
    found.dedup();
    // Where one name is much the nearest, the others are noise.
    let nearest = found.first().map_or(0, |(distance, _)| *distance);
    found.retain(|(distance, _)| *distance <= 2 * nearest);
    found.truncate(most);
    found.into_iter().map(|(_, name)| name).collect()
}

/// A sentence that offers the nearest names, or `None`.
#[must_use]
pub fn sentence<'a>(written: &str, names: impl IntoIterator<Item = &'a str>) -> Option<String> {
    let near = near(written, names, 3);
    (!near.is_empty()).then(|| format!("did you mean {}?", listed(&near, "or")))
}

/// `a`, `b` or `c`, each in backquotes.
#[must_use]
pub fn listed(names: &[&str], and: &str) -> String {
    match names {
        [] => String::new(),
        [one] => format!("`{one}`"),
        [init @ .., last] => {
            let init: Vec<String> = init.iter().map(|name| format!("`{name}`")).collect();
            format!("{} {and} `{last}`", init.join(", "))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_misspelt_name_finds_the_right_one() {
        let names = ["isoamyl_alcohol", "isoamyl_acetate", "water"];
        assert_eq!(near("isoamyl_alchol", names, 3), ["isoamyl_alcohol"]);
        assert_eq!(near("xyzzy", names, 3), Vec::<&str>::new());
        let names = ["sodium_bromide", "sodium_chloride", "sodium_iodide"];
        assert_eq!(near("sodium_cloride", names, 3), ["sodium_chloride"]);
        assert_eq!(near("sodium_xide", names, 3), ["sodium_iodide"]);
    }
}
