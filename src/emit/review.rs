//! Reviews of records in words.

use super::words;
use crate::kinds::{Kind, decimals, show, significant};
use crate::record::jars::Jar;
use crate::record::review::{Balance, Figure, Product, Review, Taken, Yield};

/// A figure with its expanded uncertainty, whose first two digits decide how both are rounded.
fn shown(figure: &Figure, unit: &str) -> String {
    if !(figure.expanded.is_finite() && figure.expanded > 0.0) {
        let value = if figure.value.abs() < 1e-6 { "0".to_owned() } else { significant(figure.value, 4) };
        return format!("{value} {unit}");
    }
    let places = (1.0 - figure.expanded.log10().floor()).clamp(0.0, 6.0);
    // Between 0 and 6 by the clamp.
    let places = places as usize;
    format!("{} ± {} {unit}", decimals(figure.value, places), decimals(figure.expanded, places))
}

fn percent(figure: &Figure) -> String {
    shown(&figure.times(100.0), "%")
}

fn grams(value: f64) -> String {
    // Less than a microgram is the noise of the sums.
    if value.abs() < 1e-6 { "0 g".to_owned() } else { format!("{} g", significant(value, 4)) }
}

/// The reviews one after the other, and the jars of drying agent that they name.
#[must_use]
pub fn text(reviews: &[Review], jars: &[Jar]) -> String {
    let mut out = String::new();
    for review in reviews {
        one(review, &mut out);
    }
    if !jars.is_empty() {
        out.push_str("# Drying agents\n\n");
        jars.iter().for_each(|jar| history(jar, &mut out));
    }
    out.push_str("Behind ± stands the expanded uncertainty, coverage factor 2 (JCGM 100:2008). It holds what the readings bring; densities, molar masses and the models are taken as they are.\n");
    out
}

fn one(review: &Review, out: &mut String) {
    let called = review.called.as_ref().map_or_else(String::new, |called| format!(", {called}"));
    out.push_str(&format!("# {}: run of {}{called}\n\n", review.title, review.date));
    out.push_str(&format!("The batch is {} times the one written.", significant(review.scale, 3)));
    if !review.as_planned.is_empty() {
        let names: Vec<String> = review.as_planned.iter().map(|name| words::plain(name)).collect();
        out.push_str(&format!(" Not weighed, and counted as planned: {}.", words::list(&names)));
    }
    let assays: Vec<String> = review.taken.iter().filter_map(assay).collect();
    if !assays.is_empty() {
        out.push_str(&format!(" Found of what was taken, and counted so in what theory allows: {}.", words::list(&assays)));
    }
    out.push_str("\n\n");
    if review.products.is_empty() {
        out.push_str("No product was weighed, so there is no yield.\n\n");
    }
    review.products.iter().for_each(|one| product(one, out));
    if !review.differences.is_empty() {
        out.push_str("## Step by step\n\n| Portion | Step | Found | Predicted | Difference | More than the readings explain |\n| --- | --- | ---: | ---: | ---: | --- |\n");
        for one in &review.differences {
            out.push_str(&format!(
                "| {} | {} | {} | {} | {} | {} |\n",
                words::plain(&one.portion),
                one.step.as_deref().unwrap_or("–"),
                shown(&one.found_g, "g"),
                shown(&one.predicted_g, "g"),
                shown(&one.difference_g, "g"),
                if one.beyond { "yes" } else { "no" },
            ));
        }
        out.push('\n');
    }
    balance(&review.balance, out);
    if !review.points.is_empty() {
        out.push_str("## What this points to\n\n");
        review.points.iter().for_each(|point| out.push_str(&format!("- {point}\n")));
        out.push('\n');
    }
    if !(review.steps.is_empty() && review.collected.is_empty() && review.texts.is_empty()) {
        out.push_str("## From the bench\n\n");
        for step in &review.steps {
            let time = |seconds: f64| show(seconds, Kind::Duration, 3);
            let took = match (step.took_s, step.planned_s) {
                (Some(took), Some(planned)) => format!(" took {} ({} by the times that are written)", time(took), time(planned)),
                (Some(took), None) => format!(" took {}", time(took)),
                (None, _) => String::new(),
            };
            let at = step.at.as_ref().map_or_else(String::new, |at| format!(" at {at}"));
            out.push_str(&format!("- {}:{took}{at}.\n", step.title));
        }
        review.collected.iter().for_each(|range| out.push_str(&format!("- Collected at {range}.\n")));
        review.texts.iter().for_each(|(word, text)| out.push_str(&format!("- {}: {}\n", words::capital(word), words::stop(text))));
        out.push('\n');
    }
}

/// What was found in a portion that was taken.
fn assay(taken: &Taken) -> Option<String> {
    let purity = taken.purity.map(|share| format!("{}{}", percent(&share.of), if share.by_area { " by area" } else { " by mass" }));
    let water = taken.water.map(|water| format!("{} of water", percent(&water)));
    let found: Vec<String> = [purity, water].into_iter().flatten().collect();
    (!found.is_empty()).then(|| format!("{} {}", words::plain(&taken.portion), found.join(" with ")))
}

fn product(product: &Product, out: &mut String) {
    out.push_str(&format!("## {} ({})\n\n", words::capital(&words::plain(&product.portion)), product.substance));
    let most = if product.recovered { "Taken" } else { "Theory" };
    out.push_str(&format!("- Found: {}.\n- {most}: {}.\n", shown(&product.found_g, "g"), shown(&product.theory_g, "g")));
    if let Some(limiting) = &product.limiting {
        let how = if product.limiting_weighed { "as weighed" } else { "as planned: it was not weighed" };
        out.push_str(&format!("- Counted on: {}, {how}.\n", words::plain(limiting)));
    }
    out.push_str(&format!("- Yield, crude: {}.\n", percent(&product.crude.of_theory)));
    match &product.corrected {
        Some(corrected) => out.push_str(&format!("- Yield, corrected for what was found in it: {}.\n", percent(&corrected.of_theory))),
        None => out.push_str("- Yield, corrected: not known; neither purity nor water was found.\n"),
    }
    if let Some(predicted) = product.predicted {
        out.push_str(&format!("- Predicted at these amounts: {}.\n", words::percent(predicted)));
    }
    budget(product.corrected.as_ref().unwrap_or(&product.crude), out);
    out.push('\n');
}

fn budget(of: &Yield, out: &mut String) {
    let parts: Vec<String> = of.budget.iter().map(|part| format!("{} {}", words::plain(&part.what), words::percent(part.share))).collect();
    if !parts.is_empty() {
        out.push_str(&format!("- Of its squared uncertainty: {}.\n", words::list(&parts)));
    }
}

fn balance(balance: &Balance, out: &mut String) {
    out.push_str("## Where the mass went\n\n");
    out.push_str(&format!("- In: {}, of which {} weighed.\n", grams(balance.in_g), grams(balance.in_weighed_g)));
    out.push_str(&format!(
        "- Out: {} weighed, {} as predicted because it was not weighed, {} given off as predicted.\n",
        grams(balance.out_weighed_g),
        grams(balance.out_predicted_g),
        grams(balance.gone_g)
    ));
    out.push_str(&format!("- Unaccounted for: {}.\n\n", shown(&balance.unaccounted_g, "g")));
}

fn history(jar: &Jar, out: &mut String) {
    let count = jar.charges.len();
    out.push_str(&format!(
        "Jar “{}”: charged {count} time{}, regenerated {} time{}.\n\n",
        jar.jar,
        if count == 1 { "" } else { "s" },
        jar.regenerated,
        if jar.regenerated == 1 { "" } else { "s" }
    ));
    for charge in &jar.charges {
        let water =
            charge.water_g.map_or_else(|| "water not known".to_owned(), |water| format!("takes up {} of water as predicted", grams(water)));
        let gained = charge.gained_g.map_or_else(String::new, |gained| format!(", weighed {} more after", grams(gained)));
        let after = charge.regenerated.as_ref().map_or_else(String::new, |how| format!("; then {how}"));
        out.push_str(&format!(
            "- {}: {} as {}, {water}{gained}{after}.\n",
            charge.date,
            grams(charge.charged_g),
            words::plain(&charge.portion)
        ));
    }
    // In hot condensate a bed holds less than in the cold, and by that it is sized.
    let hot = jar.holds_g.zip(jar.holds_cold_g).filter(|(hot, cold)| hot < cold);
    let cold = hot.map_or_else(String::new, |(_, cold)| format!(" washed by hot condensate ({} cold)", grams(cold)));
    match (jar.water_since_g, jar.holds_g) {
        (Some(water), Some(holds)) if water > holds => out.push_str(&format!(
            "\nSince it was last regenerated it took up {}, and such a charge holds {}{cold}: regenerate it before it is used again.\n",
            grams(water),
            grams(holds)
        )),
        (Some(water), Some(holds)) if water > 0.0 => {
            out.push_str(&format!(
                "\nSince it was last regenerated it took up {} of the {} that such a charge holds{cold}.\n",
                grams(water),
                grams(holds)
            ));
        }
        (Some(water), _) if water > 0.0 => out.push_str(&format!("\nSince it was last regenerated it took up {}.\n", grams(water))),
        (Some(_), _) => out.push_str("\nIt is fresh.\n"),
        (None, _) => out.push_str("\nHow much water it holds is not known.\n"),
    }
    out.push('\n');
}
