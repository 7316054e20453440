//! Figures by the names that people use for them: `acid.mass`, `crude#2.water`, `step 3`.

use serde_json::Value;

use super::super::words::plain;
use super::{Case, Reason, Unknown, leaves};
use crate::diagnostics::suggest;

impl Case<'_> {
    /// A figure by the names that people use.
    pub(super) fn named(&self, asked: &str) -> Result<Reason, Unknown> {
        let (name, property) = asked.split_once('.').map_or((asked, None), |(name, property)| (name, Some(property)));
        let groups = self.called(name);
        if groups.is_empty() {
            let names = self.names();
            let near = suggest::near(name, names.iter().map(String::as_str), 3);
            let help = if near.is_empty() {
                format!("this procedure has {}", suggest::listed(&names.iter().map(String::as_str).collect::<Vec<_>>(), "and"))
            } else {
                format!("did you mean {}?", suggest::listed(&near, "or"))
            };
            return Err(Unknown { message: format!("nothing here is called `{}`", name.escape_debug()), help });
        }
        let wanted: Vec<String> = match property {
            None => Vec::new(),
            Some(property) => spellings(property),
        };
        let mut known: Vec<String> = Vec::new();
        let mut found: Vec<Reason> = Vec::new();
        for base in &groups {
            let Some(value) = self.plan.pointer(base) else { continue };
            // A figure of the thing itself is meant before one of a part of it.
            let mut nearest: Vec<(bool, String)> = Vec::new();
            for path in leaves(base, value).into_iter().filter(|path| self.plan.pointer(path).is_some_and(Value::is_number)) {
                let tail = path.strip_prefix(base).unwrap_or("").trim_start_matches('/').to_owned();
                let last = tail.rsplit('/').next().unwrap_or("").to_owned();
                let own = word(&last);
                if !known.contains(&own) {
                    known.push(own.clone());
                }
                let counts = ["step", "times", "measured/fills"].contains(&tail.as_str());
                let meant = match property {
                    None => !counts,
                    Some(property) => own == property || wanted.iter().any(|wanted| *wanted == tail || *wanted == last),
                };
                if meant {
                    nearest.push((tail.contains('/'), path));
                }
            }
            let deep = property.is_some() && nearest.iter().all(|(deep, _)| *deep);
            let meant = nearest.into_iter().filter(|(own, _)| property.is_none() || *own == deep);
            found.extend(meant.filter_map(|(_, path)| self.pointer(&path).ok()));
            // What is measured out or kept says more of a property than the portion it becomes.
            let next = groups.iter().skip_while(|other| *other != base).nth(1);
            let list = |path: &str| path.split('/').nth(1).map(str::to_owned);
            if property.is_some() && !found.is_empty() && next.is_some_and(|next| list(next) != list(base)) {
                break;
            }
        }
        match <[Reason; 1]>::try_from(found) {
            Ok([one]) => Ok(one),
            Err(found) if found.is_empty() => Err(Unknown {
                message: format!("`{}` has no figure `{}`", name.escape_debug(), property.unwrap_or("").escape_debug()),
                help: format!("it has {}", suggest::listed(&known.iter().map(String::as_str).collect::<Vec<_>>(), "and")),
            }),
            Err(found) => Ok(Reason::new(plain(name), "several figures", "each by itself").from(found)),
        }
    }

    /// Places in the plan that go by a name.
    fn called(&self, name: &str) -> Vec<String> {
        let mut found = Vec::new();
        let bare = |address: &str| address.split('#').next().unwrap_or(address).to_owned();
        for (list, key) in [
            ("products", "portion"),
            ("materials", "portion"),
            ("portions", "address"),
            ("reactions", "name"),
            ("apparatus", "kind"),
            ("waste", "portion"),
        ] {
            let entries = self.plan.get(list).and_then(Value::as_array);
            for (at, entry) in entries.into_iter().flatten().enumerate() {
                let own = entry.get(key).and_then(Value::as_str).unwrap_or("");
                if own == name || bare(own) == name || list == "materials" && entry.get("substance").and_then(Value::as_str) == Some(name) {
                    found.push(format!("/{list}/{at}"));
                }
            }
        }
        // Of a name that is bound again and again the last is meant, unless its number is given.
        if !name.contains('#') {
            let last = found.iter().rfind(|path| path.starts_with("/portions/")).cloned();
            let main = found.iter().any(|path| path.starts_with("/products/") || path.starts_with("/materials/"));
            found.retain(|path| !path.starts_with("/portions/") || !main && last.as_ref() == Some(path));
            if main && let Some(last) = last {
                found.push(last);
            }
        }
        if name == "batch" {
            found.push("/batch".to_owned());
        }
        if name == "balance" {
            found.push("/material_balance".to_owned());
        }
        if let Some(step) = name.strip_prefix("step").and_then(|number| number.trim_start_matches(['#', ' ']).parse::<usize>().ok())
            && step >= 1
            && step <= self.outcome.procedure.steps.len()
        {
            found.push(format!("/steps/{}/operations", step - 1));
        }
        found
    }

    /// What can be asked for by name.
    fn names(&self) -> Vec<String> {
        let mut names = Vec::new();
        for (list, key) in
            [("materials", "portion"), ("portions", "address"), ("reactions", "name"), ("apparatus", "kind"), ("waste", "portion")]
        {
            for entry in self.plan.get(list).and_then(Value::as_array).into_iter().flatten() {
                let own = entry.get(key).and_then(Value::as_str).unwrap_or("").split('#').next().unwrap_or("").to_owned();
                if !names.contains(&own) {
                    names.push(own);
                }
            }
        }
        names.extend(["batch".to_owned(), "balance".to_owned(), "step1".to_owned()]);
        names
    }
}

/// A field of the plan as people call it: `mass_g` is `mass`.
fn word(field: &str) -> String {
    let units = ["_g", "_mL", "_mol", "_C", "_s", "_percent"];
    units.iter().find_map(|unit| field.strip_suffix(unit)).unwrap_or(field).to_owned()
}

/// The fields of the plan that a word may mean.
fn spellings(property: &str) -> Vec<String> {
    let mut found = vec![property.to_owned(), property.replace('.', "/")];
    let own = match property {
        "mass" => &["mass_g"][..],
        "volume" => &["volume_mL"],
        "amount" | "moles" => &["moles", "basis_mol"],
        "eq" => &["equivalents"],
        "measured" => &["measured/value"],
        "yield" => &["yield_percent"],
        "purity" => &["purity_percent"],
        "theoretical" => &["theoretical_g"],
        "temperature" => &["temperature_C"],
        "time" | "duration" => &["duration_s"],
        "size" => &["size_mL", "scale"],
        "extent" => &["extent_mol"],
        _ => &[],
    };
    found.extend(own.iter().map(|&field| field.to_owned()));
    found.extend([format!("moles/{property}"), format!("whole_g/{property}"), format!("contents/{property}")]);
    found
}
