//! The models behind predictions: what each is, what it assumes, how far it was found to be off, where it
//! does not hold. The plan, `scruple explain` and, briefly, the sheet give what stands here.

use super::mixture::models;

/// A model.
#[derive(Debug, PartialEq, Eq)]
pub struct Model {
    /// The word by which `scruple explain` finds it.
    pub name: &'static str,
    /// What it is, as the sheet and the plan say it.
    pub what: &'static str,
    /// What it takes for granted, each in a sentence.
    pub assumes: &'static [&'static str],
    /// How far it lies from experiment, with where that was found.
    pub band: &'static str,
    /// Where it does not hold.
    pub fails: &'static str,
}

/// Activities by modified UNIFAC (Dortmund).
pub const DORTMUND: Model = Model {
    name: "dortmund",
    what: "vapour-liquid equilibrium with activities by modified UNIFAC (Dortmund)",
    assumes: &[
        "A molecule's activity is what its groups contribute; parameters as published by Constantinescu and Gmehling (2016) and before.",
        "The vapour is an ideal gas, save that formic, acetic and propanoic acid pair in it.",
        "Vapour pressures of pure substances are those of the library.",
    ],
    band: "azeotropes 0.5 K and 3 % by mass on average, 3 K at worst, over 34 that were looked up; boiling points to 1 K as a rule",
    fails: "salts and mineral acids, which only dilute; composition where the boiling surface is flat; whether there is an azeotrope within 1 % of a pure substance",
};

/// Activities by original UNIFAC.
pub const UNIFAC: Model = Model {
    name: "unifac",
    what: "vapour-liquid equilibrium with activities by UNIFAC",
    assumes: &[
        "A molecule's activity is what its groups contribute; parameters as published by Fredenslund, Jones and Prausnitz (1975) and in the revisions up to Wittig, Lohmann and Gmehling (2003).",
        "The vapour is an ideal gas, save that formic, acetic and propanoic acid pair in it.",
        "Vapour pressures of pure substances are those of the library.",
    ],
    band: "azeotropes 0.3 K and 3.1 % by mass on average, 1.2 K at worst, over 35 that were looked up; boiling points to 1 K as a rule",
    fails: "salts and mineral acids, which only dilute; alcohols with acetates for which no fit is declared, up to 2 K low; composition where the boiling surface is flat; whether there is an azeotrope within 1 % of a pure substance",
};

/// Raoult's law.
pub const RAOULT: Model = Model {
    name: "raoult",
    what: "Raoult's law in each liquid, vapour pressures of the pure substances",
    assumes: &[
        "Each liquid is ideal: no activity differs from its mole fraction.",
        "Liquids that part do so by their solubilities in water.",
    ],
    band: "a few kelvin for liquids alike; ten and more where alcohols or water meet hydrocarbons; no azeotrope is ever found",
    fails: "azeotropes, and how much water a vapour carries",
};

/// Layers of water and an organic liquid.
pub const LAYERS: Model = Model {
    name: "layers",
    what: models::LAYERS,
    assumes: &[
        "A molecule's activity is what its groups contribute (modified UNIFAC, Dortmund), at 20 °C.",
        "A liquid and water alone dissolve in one another as the library has it measured; acids, solids and liquids without such a figure are tied to their octanol/water partition.",
        "What has a charge stays in the water. Acids and bases share by their pKa and the pH of the water, in which activities of ions are taken as concentrations.",
        "Salt drives out what has no charge by 0.15 L/mol of its ionic strength (Setschenow's law with one constant).",
        "Half a percent of the organic volume is carried over as drops of the water layer.",
    ],
    band: "a pair of liquid and water as measured, save for five that are listed with the tests; the share of a third substance, as a ratio of concentrations, within a factor of two on average and of three at worst in esters, ethers, ketones and aromatics",
    fails: "acids in chloroform or alkanes, where they pair and the groups give too much; liquids near their critical point with water, such as isobutyric acid; water in acid-rich or spirit-rich organic liquids, of which too little is predicted, so that two liquids may be said where there is one",
};

/// Layers by the rough rule.
pub const ROUGH: Model = Model {
    name: "layers_by_rule",
    what: models::ROUGH,
    assumes: &[
        "Each substance keeps one ratio of concentrations: the density of the pure liquid over its solubility in water, else its octanol/water partition.",
        "The organic layer takes up water as its substances do by themselves.",
        "More than half of something that mixes with both makes one liquid.",
    ],
    band: "pairs as measured; a third substance within a factor of three on average",
    fails: "what mixes with both liquids; acids and bases at a pH of their own",
};

/// Every model with a page of its own.
pub const ALL: &[&Model] = &[&DORTMUND, &UNIFAC, &RAOULT, &LAYERS, &ROUGH];

/// The model of that name, or that is described so.
#[must_use]
pub fn find(text: &str) -> Option<&'static Model> {
    ALL.iter().copied().find(|model| model.name == text || model.what == text)
}

/// What `scruple explain` prints of a model.
#[must_use]
pub fn shown(model: &Model) -> String {
    let assumes: String = model.assumes.iter().map(|sentence| format!("- {sentence}\n")).collect();
    format!(
        "{}\n{} (model)\n\nWhat it assumes:\n\n{assumes}\nHow far it lies from experiment: {}.\n\nWhere it does not hold: {}.\n",
        model.what, model.name, model.band, model.fails
    )
}
