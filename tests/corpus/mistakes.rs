//! Mistakes seeded into correct procedures: where, the code that a careful colleague's remark would
//! carry, and what is written wrongly. They were written down before they were run.

/// One mistake: the procedure, the code, and what is replaced by what.
pub type Mistake = (&'static str, &'static str, &'static [(&'static str, &'static str)]);

/// In the order of the families.
pub const MISTAKES: &[Mistake] = &[
    // Slips of the pen.
    ("isoamyl_acetate", "syntax::slip", &[("138..143 degC", "138-143 degC")]),
    ("hexyl_acetate", "syntax::slip", &[("n_hexanol, 25 mL", "n_hexanol, 25,5 mL")]),
    ("methyl_salicylate", "syntax::slip", &[("salicylic_acid, 20 g", "salicylic_acid, 20 grams")]),
    ("ethyl_butyrate", "syntax::slip", &[("cool pot to 20 degC", "cool pot to 20 C")]),
    (
        "benzyl_acetate",
        "syntax::expected",
        &[("combine alcohol, anhydride, catalyst -> pot", "combine alcohol anhydride, catalyst -> pot")],
    ),
    ("fructone", "syntax::expected", &[("reflux pot for 7 h", "reflux pot 7 h")]),
    ("vanillin_recrystallised", "syntax::expected", &[("cooling to 4 degC", "cooled to 4 degC")]),
    ("isoamyl_acetate", "syntax::brace", &[("step \"Dry and distil\" {", "step \"Dry and distil\"")]),
    ("hexyl_acetate", "syntax::text", &[("\"aqueous, acidic\"", "\"aqueous, acidic")]),
    // Names.
    ("isoamyl_acetate", "resolve::unknown_operation", &[("reflux pot", "refluks pot")]),
    ("methyl_salicylate", "resolve::unknown_operation", &[("separate quench", "seperate quench")]),
    ("ethyl_butyrate", "resolve::unknown_substance", &[("butanoic_acid, 25 mL", "butanoic_acyd, 25 mL")]),
    ("fructone", "resolve::unknown_substance", &[("cyclohexane, 130 mL", "cyclohexene_oxide, 130 mL")]),
    ("benzyl_acetate", "resolve::unknown_name", &[("evaporate crude ", "evaporate crud ")]),
    ("hexyl_acetate", "resolve::unknown_reaction", &[("running esterification", "running esterifikation")]),
    ("fructone", "resolve::unknown_apparatus", &[("siphon_extractor 100 mL", "siphon_tower 100 mL")]),
    ("ethyl_butyrate", "resolve::unknown_grade", &[("ethanol, absolute", "ethanol, absolutely_dry")]),
    ("geranyl_acetate", "resolve::unknown_field", &[("    flash      108 degC", "    flashes    108 degC")]),
    (
        "isoamyl_acetate",
        "resolve::duplicate",
        &[("take drier    = magnesium_sulfate, enough", "take acid     = magnesium_sulfate, enough")],
    ),
    ("geranyl_acetate", "resolve::bad_form", &[("pour liquid into pot with reactions", "pour liquor into pot with reactions")]),
    // Kinds and units.
    ("isoamyl_acetate", "kinds::mismatch", &[("reflux pot for 75 min", "reflux pot for 75 degC")]),
    ("vanillin_recrystallised", "kinds::mismatch", &[("in air for 24 h", "in air for 24 g")]),
    ("fructone", "kinds::mismatch", &[("regenerate bed at 300 degC", "regenerate bed at 300 mL")]),
    ("ethyl_butyrate", "kinds::percent_of_what", &[("sulfuric_acid, 98 % w/w", "sulfuric_acid, 98 %")]),
    ("vanillin_recrystallised", "kinds::percent_of_what", &[("ethanol, 25 % v/v", "ethanol, 25 %")]),
    ("hexyl_acetate", "kinds::missing_unit", &[("cyclohexane, 30 mL", "cyclohexane, 30")]),
    ("methyl_salicylate", "kinds::missing_unit", &[("cool pot to 20 degC", "cool pot to 20")]),
    ("benzyl_acetate", "kinds::unknown_unit", &[("benzyl_alcohol, 20 mL", "benzyl_alcohol, 20 cups")]),
    ("isoamyl_acetate", "kinds::ambiguous_unit", &[("isoamyl_alcohol, 30 mL", "isoamyl_alcohol, 1 oz")]),
    ("butyl_acetate", "kinds::out_of_range", &[("sulfuric_acid, 98 % w/w", "sulfuric_acid, 108 % w/w")]),
    ("acetylsalicylic_acid", "kinds::out_of_range", &[("cool flask to 4 degC for 30 min", "cool flask to -400 degC for 30 min")]),
    // Matter.
    (
        "isoamyl_acetate",
        "matter::used_twice",
        &[("discard acid_wash as \"aqueous, acidic\"", "discard acid_wash, pot as \"aqueous, acidic\"")],
    ),
    (
        "hexyl_acetate",
        "matter::used_twice",
        &[("combine alcohol, acid, carrier, catalyst", "combine alcohol, acid, acid, catalyst, carrier")],
    ),
    ("methyl_salicylate", "matter::never_used", &[("    discard spare_methanol as \"flammable, toxic\"\n", "")]),
    ("fructone", "matter::never_used", &[("    keep bed as sieve_3a in jar\n", "")]),
    ("acetylsalicylic_acid", "matter::never_used", &[("discard liquor, rinsings as", "discard liquor as")]),
    ("ethyl_butyrate", "matter::single_phase", &[("wash pot with water, 80 mL ", "wash pot with ethanol, absolute, 80 mL ")]),
    (
        "vanillin_recrystallised",
        "matter::unnamed_result",
        &[
            ("-> crystals wet_crystals, liquor mother_liquor", "-> crystals wet_crystals"),
            ("    discard mother_liquor as \"aqueous, flammable\"\n", ""),
        ],
    ),
    (
        "isoamyl_acetate",
        "matter::unnamed_result",
        &[("-> upper crude, lower acid_wash", "-> upper crude"), ("    discard acid_wash as \"aqueous, acidic\"\n", "")],
    ),
    // Reactions.
    ("isoamyl_acetate", "reaction::unbalanced", &[("isoamyl_acetate + water\n", "isoamyl_acetate\n")]),
    ("benzyl_acetate", "reaction::unbalanced", &[("water -> 2 acetic_acid", "water -> acetic_acid")]),
    (
        "methyl_salicylate",
        "reaction::cannot_run",
        &[
            ("combine acid, alcohol -> pot", "combine acid, water -> pot"),
            ("take alcohol  = methanol, 10 eq", "take water  = water, 10 eq"),
            ("    step \"Take off the methanol\" {\n        evaporate pot -> distillate spare_methanol, residue pot\n    }\n", ""),
            ("    discard spare_methanol as \"flammable, toxic\"\n", ""),
        ],
    ),
    ("acetylsalicylic_acid", "reaction::cannot_run", &[("running acetylation", "running quench")]),
    (
        "hexyl_acetate",
        "reaction::no_catalyst",
        &[
            ("combine alcohol, acid, carrier, catalyst -> pot", "combine alcohol, acid, carrier -> pot"),
            ("    take catalyst = tosic_acid_monohydrate, 1.5 mol%\n", ""),
        ],
    ),
    ("isoamyl_acetate", "reaction::never_runs", &[("reflux pot for 75 min, running esterification", "reflux pot for 75 min")]),
    ("acetylsalicylic_acid", "reaction::never_runs", &[("over 15 min, running quench", "over 15 min")]),
    // Amounts.
    (
        "isoamyl_acetate",
        "amounts::cycle",
        &[
            ("isoamyl_alcohol, 30 mL", "isoamyl_alcohol, 0.5 * volume of acid"),
            ("acetic_acid, glacial, 2.2 eq", "acetic_acid, glacial, 2 * volume of alcohol"),
        ],
    ),
    ("hexyl_acetate", "amounts::cannot_size", &[("cyclohexane, 30 mL", "cyclohexane, enough")]),
    ("ethyl_butyrate", "amounts::not_limiting", &[("ethanol, absolute, 2.5 eq", "ethanol, absolute, 0.5 eq")]),
    ("butyl_acetate", "amounts::not_limiting", &[("n_butanol, 1.3 eq", "n_butanol, 0.4 eq")]),
    ("methyl_salicylate", "amounts::disagree", &[("salicylic_acid, 20 g", "salicylic_acid, 20 g (0.13 mol)")]),
    ("hexyl_acetate", "amounts::disagree", &[("n_hexanol, 25 mL", "n_hexanol, 25 mL (25.0 g)")]),
    ("isoamyl_acetate", "amounts::disagree", &[("isoamyl_alcohol, 30 mL", "isoamyl_alcohol, 30 mL (24.3 g, 0.35 mol)")]),
    ("benzyl_acetate", "amounts::not_stated", &[("magnesium_sulfate, enough", "magnesium_sulfate, not stated")]),
    // Capacity.
    ("isoamyl_acetate", "capacity::drying_agent", &[("magnesium_sulfate, enough", "magnesium_sulfate, 0.1 g")]),
    ("fructone", "capacity::drying_agent", &[("sieve_3a, activated, enough + 25 %", "sieve_3a, activated, 5 g")]),
    (
        "hexyl_acetate",
        "capacity::drying_agent",
        &[("take drier    = magnesium_sulfate, enough", "take drier    = potassium_carbonate, 0.05 g")],
    ),
    ("isoamyl_acetate", "capacity::base_short", &[("sodium_bicarbonate, 5 % w/w, 70 mL, 2 times", "sodium_bicarbonate, 5 % w/w, 5 mL")]),
    ("butyl_acetate", "capacity::base_short", &[("sodium_bicarbonate, 5 % w/w, 40 mL", "sodium_bicarbonate, 1 % w/w, 2 mL")]),
    // Layers.
    ("isoamyl_acetate", "layers::wrong_side", &[("-> upper crude, lower acid_wash", "-> lower crude, upper acid_wash")]),
    ("methyl_salicylate", "layers::wrong_side", &[("-> lower crude, upper last_wash", "-> upper crude, lower last_wash")]),
    ("hexyl_acetate", "layers::wrong_side", &[("-> upper crude, lower salt_wash", "-> lower crude, upper salt_wash")]),
    ("methyl_salicylate", "layers::wrong_side", &[("wash crude with water, 30 mL  ", "wash crude with sodium_chloride, 26 % w/w, 30 mL")]),
    // Apparatus.
    ("isoamyl_acetate", "apparatus::overfilled", &[("running esterification\n", "running esterification, in round_flask 50 mL\n")]),
    (
        "ethyl_butyrate",
        "apparatus::overfilled",
        &[("wash pot with water, 80 mL ", "wash pot with water, 80 mL in separatory_funnel 100 mL ")],
    ),
    ("fructone", "apparatus::siphon_not_reached", &[("cyclohexane, 130 mL", "cyclohexane, 70 mL")]),
    (
        "fructone",
        "apparatus::bed_too_large",
        &[("sieve_3a, activated, enough + 25 %", "sieve_3a, activated, 200 g"), ("siphon_extractor 100 mL", "siphon_extractor 100 mL")],
    ),
    ("vanillin_recrystallised", "apparatus::no_size", &[("vanillin, 20 g", "vanillin, 20 kg")]),
    // What does not go together.
    (
        "isoamyl_acetate",
        "compatibility::agent_destroyed",
        &[("take drier    = magnesium_sulfate, enough", "take drier    = calcium_hydride, enough")],
    ),
    (
        "fructone",
        "compatibility::agent_destroyed",
        &[("tosic_acid_monohydrate, 1 mol%", "acetic_acid, glacial, 30 mol%"), ("catalyst tosic_acid_monohydrate", "catalyst acetic_acid")],
    ),
    (
        "hexyl_acetate",
        "compatibility::together",
        &[
            ("n_hexanol, 25 mL", "n_hexanol, 25 mL"),
            (
                "take drier    = magnesium_sulfate, enough",
                "take drier    = magnesium_sulfate, enough\n    take bleach   = nitric_acid, 68 % w/w, 10 mL",
            ),
            ("        cool pot to 25 degC\n", "        cool pot to 25 degC\n        add bleach to pot over 10 min\n"),
        ],
    ),
    // Heat and its order.
    ("geranyl_acetate", "temperature::above_boiling", &[("heat pot at 90..95 degC for 90 min", "heat pot at 190..195 degC for 90 min")]),
    ("acetylsalicylic_acid", "temperature::above_boiling", &[("heat flask at 80..85 degC", "heat flask at 180..185 degC")]),
    ("fructone", "temperature::wet_bed", &[("        dry bed in air for 24 h  # it is wet with cyclohexane: no oven yet\n", "")]),
    ("isoamyl_acetate", "temperature::nothing_boils", &[("138..143 degC", "38..43 degC")]),
    ("ethyl_butyrate", "temperature::nothing_boils", &[("118..122 degC", "218..222 degC")]),
    ("hexyl_acetate", "temperature::bath_too_cold", &[("collecting 168..173 degC", "collecting 168..173 degC, bath 120 degC")]),
    (
        "isoamyl_acetate",
        "order::not_dried",
        &[
            ("        dry crude over drier for 15 min        -> dried crude, spent used_drier\n", ""),
            ("    take drier    = magnesium_sulfate, enough\n", ""),
            ("    discard used_drier as \"solids, flammable\"\n", ""),
        ],
    ),
    (
        "ethyl_butyrate",
        "order::not_dried",
        &[
            ("        dry crude over drier for 20 min        -> dried crude, spent used_drier\n", ""),
            ("    take drier    = magnesium_sulfate, enough\n", ""),
            ("    discard used_drier as \"solids, flammable\"\n", ""),
        ],
    ),
    (
        "isoamyl_acetate",
        "order::agent_left_in",
        &[
            ("        dry crude over drier for 15 min        -> dried crude, spent used_drier\n", "        add drier to crude\n"),
            ("magnesium_sulfate, enough", "magnesium_sulfate, 3 g"),
            ("    discard used_drier as \"solids, flammable\"\n", ""),
        ],
    ),
    (
        "methyl_salicylate",
        "order::water_into_acid",
        &[(
            "combine acid, alcohol -> pot\n        add catalyst to pot over 5 min, with swirling",
            "combine catalyst -> pot\n        add water, 10 mL to pot\n        combine pot, acid, alcohol -> pot",
        )],
    ),
    (
        "isoamyl_acetate",
        "order::acid_distilled",
        &[
            (
                "wash crude with sodium_bicarbonate, 5 % w/w, 70 mL, 2 times -> upper crude, lower base_wash\n        wash crude with brine, 0.25 * volume of crude               -> upper crude, lower salt_wash\n",
                "",
            ),
            (
                "wash pot with water, 100 mL                                 -> upper crude, lower acid_wash",
                "wash pot with brine, 1 mL -> upper crude, lower acid_wash",
            ),
            ("    discard base_wash, salt_wash as \"aqueous, mildly basic\"\n", ""),
        ],
    ),
    // Waste.
    ("isoamyl_acetate", "waste::mislabelled", &[("discard acid_wash as \"aqueous, acidic\"", "discard acid_wash as \"aqueous, neutral\"")]),
    ("benzyl_acetate", "waste::mislabelled", &[("discard acid_wash as \"aqueous, acidic\"", "discard acid_wash as \"aqueous, basic\"")]),
    (
        "hexyl_acetate",
        "waste::mislabelled",
        &[("discard first_runnings, bottoms as \"flammable, halogen-free\"", "discard first_runnings, bottoms as \"aqueous, neutral\"")],
    ),
    (
        "methyl_salicylate",
        "waste::mislabelled",
        &[("discard bottoms as \"flammable, halogen-free\"", "discard bottoms as \"kitchen sink\"")],
    ),
    (
        "isoamyl_acetate",
        "waste::together",
        &[(
            "    discard acid_wash as \"aqueous, acidic\"\n    discard base_wash, salt_wash as \"aqueous, mildly basic\"\n",
            "    discard acid_wash, base_wash, salt_wash as \"aqueous, acidic\"\n",
        )],
    ),
    (
        "ethyl_butyrate",
        "waste::together",
        &[(
            "    discard base_wash as \"aqueous, mildly basic\"\n    discard salt_wash as \"aqueous, salts\"  # not with the bicarbonate: chalk and gas\n",
            "    discard base_wash, salt_wash as \"aqueous, mildly basic\"\n",
        )],
    ),
    // Yield.
    (
        "isoamyl_acetate",
        "yield::nothing_kept",
        &[(
            "    discard first_runnings, bottoms as \"flammable, halogen-free\"\n    keep product as isoamyl_acetate in bottle\n",
            "    discard product, bottoms as \"flammable, halogen-free\"\n    keep first_runnings as \"first runnings\" in bottle\n",
        )],
    ),
    (
        "vanillin_recrystallised",
        "yield::wet_product",
        &[
            ("        dry wet_crystals in air for 24 h -> product\n        weigh product\n", "        weigh wet_crystals\n"),
            ("keep product as vanillin", "keep wet_crystals as vanillin"),
        ],
    ),
    (
        "geranyl_acetate",
        "yield::wet_product",
        &[
            ("        dry crude over drier for 30 min                             -> dried product, spent used_drier\n", ""),
            ("    take drier     = sodium_sulfate, enough\n", ""),
            ("    discard used_drier as \"solids, halogen-free\"\n", ""),
            ("keep product as", "keep crude as"),
        ],
    ),
    ("ethyl_butyrate", "yield::lost_in_wash", &[("wash pot with water, 80 mL ", "wash pot with water, 2.5 L ")]),
    ("isoamyl_acetate", "yield::thrown_away", &[("138..143 degC", "141.5..143 degC")]),
    ("hexyl_acetate", "yield::above_theory", &[("    basis alcohol\n", "    basis alcohol\n    isolated 45 g\n")]),
    ("methyl_salicylate", "yield::disagrees", &[("    basis acid\n", "    basis acid\n    isolated 15 g (85 %)\n")]),
    // The scale.
    ("isoamyl_acetate", "amounts::fixed", &[("sulfuric_acid, 98 % w/w, 1.2 mL", "sulfuric_acid, 98 % w/w, fixed 1.2 mL"), ("SCALE", "3")]),
    ("benzyl_acetate", "scale::does_not_follow", &[("SCALE", "12")]),
    ("acetylsalicylic_acid", "scale::does_not_follow", &[("SCALE", "5")]),
    ("isoamyl_acetate", "amounts::too_coarse", &[("sulfuric_acid, 98 % w/w, 1.2 mL", "sulfuric_acid, 98 % w/w, 0.01 mL")]),
    ("vanillin_recrystallised", "amounts::too_coarse", &[("vanillin, 20 g", "vanillin, 0.02 g")]),
    // Allowances.
    (
        "isoamyl_acetate",
        "allow::nothing_silenced",
        &[("        wash pot with water, 100 mL", "        allow layers::too_close \"seen\"\n        wash pot with water, 100 mL")],
    ),
    (
        "ethyl_butyrate",
        "allow::cannot",
        &[("        wash pot with water, 80 mL", "        allow matter::used_twice \"seen\"\n        wash pot with water, 80 mL")],
    ),
];
