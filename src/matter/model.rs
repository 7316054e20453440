//! The models behind predictions: what each is, what it assumes, how far it was found to be off, where it
//! does not hold. The plan, `scruple explain` and, briefly, the sheet give what stands here.

use super::mixture::{Assumed, Widens, models};

/// A model.
#[derive(Debug, PartialEq, Eq)]
pub struct Model {
    /// The word by which `scruple explain` finds it.
    pub name: &'static str,
    /// What it is, as the sheet and the plan say it.
    pub what: &'static str,
    /// What it takes for granted, each in a sentence.
    pub assumes: &'static [&'static str],
    /// How far it lies from experiment, with where that was found; where that was not measured, this says so.
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
    band: "at an atmosphere azeotropes 0.5 K and 3 % by mass on average, 3 K and 19 % at worst (formic acid with water, isoamyl alcohol with its acetate and water), over 34 that were looked up; boiling points to 1 K as a rule",
    fails: "salts and mineral acids of whose solutions no boiling points are known, which only dilute; salt that drives an alcohol into the vapour, and the vapour of mineral acids themselves; composition where the boiling surface is flat; whether there is an azeotrope within 1 % of a pure substance",
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
    band: "at an atmosphere azeotropes 0.3 K and 3.1 % by mass on average, 1.2 K and 22 % at worst (2-butanol with water, isoamyl alcohol with its acetate and water), over 35 that were looked up; boiling points to 1 K as a rule",
    fails: "salts and mineral acids of whose solutions no boiling points are known, which only dilute; salt that drives an alcohol into the vapour, and the vapour of mineral acids themselves; how solubilities change with the temperature: those of esters and alcohols in water rise, where measured ones fall to 60 °C at least (J. Chem. Eng. Data 1986, 31, 56); alcohols with acetates for which no fit is declared, up to 2 K low; composition where the boiling surface is flat; whether there is an azeotrope within 1 % of a pure substance",
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
    band: "a pair of liquid and water as measured, within 2 % of its solubility, save for cyclohexanone, cyclopentanone, dimethoxymethane, isobutyric acid and 2-methyltetrahydrofuran, in which the water is off; the share of a third substance, as a ratio of concentrations, within a factor of two on average and of three at worst over 18 published ones in ether, ethyl acetate, toluene and chloroform, and more than three times too much organic for acetic acid in toluene and chloroform and benzoic acid in chloroform",
    fails: "salting-out of what mixes with water, of which it is said that it is not known; acids in chloroform or alkanes, where they pair and the groups give too much; liquids near their critical point with water, such as isobutyric acid; hot layers, which are taken as they are at 20 °C: up to 90 °C less of an ester goes into water, by up to a half, and more water into an alcohol (J. Chem. Eng. Data 1986, 31, 56, and from memory); water in acid-rich or spirit-rich organic liquids, of which too little is predicted, so that two liquids may be said where there is one",
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
    fails: "what mixes with both liquids; acids and bases at a pH of their own; strong acid with nothing beside it but what it may take up, of which it is said that it is not known",
};

/// Solubility of a solid by the ideal law.
pub const IDEAL: Model = Model {
    name: "ideal_solubility",
    what: models::IDEAL,
    assumes: &[
        "A solid is in balance with an ideal liquid: the logarithm of its mole fraction is its heat of fusion over RT, from the temperature to the melting point.",
        "It crystallises pure, and in the form whose heat of fusion is declared.",
    ],
    band: "naphthalene in benzene within 12 %; a factor of three in liquids like the solid (our own figure)",
    fails: "water, salt solutions and liquids unlike the solid: it is refused where more than a tenth of the liquid is water or there are ions, and a declared solubility goes before it",
};

/// Water left by a drying agent.
pub const RESIDUE: Model = Model {
    name: "water_left",
    what: models::RESIDUE,
    assumes: &[
        "Given time, water is as active in the liquid as in air over the agent at 25 °C, and a liquid holds of what it takes up at most the share that its activity is.",
        "The agent is not used up: over a hydrate that is nearly full more is left.",
    ],
    band: "an order of magnitude, as the table of air over drying agents (Robertson 1954)",
    fails: "liquids that mix with water, for which it is not worked out",
};

/// A bare still.
pub const STILL: Model = Model {
    name: "still",
    what: "what boils off a still at each moment is in equilibrium with what is in the pot (Rayleigh); 3 % stays behind as hold-up",
    assumes: &[
        "A bare still counts as two theoretical plates, the boiling itself and what its head condenses (our own figure; textbooks count one to two).",
        "The thermometer at the head shows the temperature at which what comes over would boil, since it is wet with it; pure substances boil where the library has it.",
        "The receiver is changed 1 K beside a stated range; where first runnings are named they are at least 1 % of the charge.",
        "Steps are such that a cut is right to half a per cent of the charge.",
    ],
    band: "temperatures as boiling points, about 1 K; what stands beside the main substance of a cut to about a third of itself (our own figure)",
    fails: "bumping, superheating and vapour that carries drops; fast distilling, which parts less; what decomposes",
};

/// A still with a column.
pub const COLUMN: Model = Model {
    name: "column",
    what: "a still under a column of theoretical plates, steady at each moment, molar flows alike on all plates; 3 % stays behind as hold-up",
    assumes: &[
        "Each plate is an equilibrium, and the boiling pot is one more.",
        "What the column holds is little against the charge; no heat is lost through its wall.",
        "Where no reflux ratio is stated, hardly anything is taken off at a time (total reflux): the best that such a column does.",
        "The thermometer at the head shows the temperature at which what comes over would boil.",
    ],
    band: "temperatures as boiling points, about 1 K; purity as the plates are, of which a packed column has fewer the faster it runs",
    fails: "small charges, of which the column holds a good part; flooding; plates that are not found (none of 200 random columns): there total reflux stands in, and the sheet says so",
};

/// Taking a solvent off.
pub const EVAPORATION: Model = Model {
    name: "evaporation",
    what: "what boils off until the residue, at the pressure, boils only at the bath's temperature; at least 1 % of what boils stays",
    assumes: &[
        "The liquid that is left is as warm as the bath and in equilibrium with its vapour at the stated pressure; without figures that is 40 °C and 2 kPa (20 mbar), what a membrane pump reaches.",
        "What is solid at the bath's temperature crystallises and holds no solvent but what wets it.",
    ],
    band: "solvent left in an oil to about a third of itself (our own figure); a better vacuum or more time leaves less",
    fails: "viscous residues, which hold more; solvates",
};

/// Every model with a page of its own; adding masses up and dividing by a stated ratio need none. Where a band says nothing of its source it is our own judgement.
pub const ALL: &[&Model] = &[
    &DORTMUND,
    &UNIFAC,
    &RAOULT,
    &LAYERS,
    &ROUGH,
    &STILL,
    &COLUMN,
    &EVAPORATION,
    &IDEAL,
    &RESIDUE,
    &Model {
        name: "water_found",
        what: models::FOUND,
        assumes: &["The liquid stands over as much of the agent, as fresh and as long as it did then."],
        band: "a factor of two, as such figures are repeated",
        fails: "liquids that are wetter or hold something else",
    },
    &Model {
        name: "volumes",
        what: models::VOLUME,
        assumes: &["Volumes of liquids add up; what is dissolved in water takes the room that its density table gives it."],
        band: "1 % for organic liquids, 2 % where alcohol and water meet (3.5 % at worst, for equal volumes)",
        fails: "hot liquids, which take 1 % more for each 10 K",
    },
    &Model {
        name: "dissolving",
        what: models::DISSOLVING,
        assumes: &["Tables are read between their points by the logarithm; what other things are dissolved does not matter."],
        band: "10 % between the points of a table; a factor of two in mixed solvents",
        fails: "supersaturation, and salts with an ion in common",
    },
    &Model {
        name: "equilibrium",
        what: models::EQUILIBRIUM,
        assumes: &[
            "The constant is that of the mole ratio and does not depend on temperature or on what else is there; there is time enough.",
        ],
        band: "published constants of one esterification differ by 20 %, which is 2 % of conversion near two thirds",
        fails: "reactions that have not come to rest",
    },
    &Model {
        name: "conversion",
        what: models::CONVERSION,
        assumes: &["The author's figure holds at every size."],
        band: "as good as the author's figure",
        fails: "other temperatures and times than the author's",
    },
    &Model {
        name: "contact",
        what: models::CONTACT,
        assumes: &["It runs to its end as soon as both are there in water."],
        band: "nothing but side reactions is missing: below 1 %",
        fails: "solids that dissolve slowly",
    },
    &Model {
        name: "driven",
        what: models::DRIVEN,
        assumes: &["Of the water that is there 1 % stays in the flask, and the reaction keeps up with it."],
        band: "conversion 2 to 5 % too high where the work is stopped early; not measured otherwise",
        fails: "vapours that carry little water; it serves only where the course cannot be followed, and the sheet says so",
    },
    &Model {
        name: "followed",
        what: models::FOLLOWED,
        assumes: &[
            "The vapour is in balance with the flask; a trap parts what stands in it, and a bed takes up water in proportion to what is around it and to the room it has left.",
            "Without a heater whose power is stated, two drops a second come over in a charge of 150 mL, and more as the surface grows (our own figure).",
            "A reaction without a rate keeps up.",
            "Heat, extractor and trap grow with the batch: it is followed in the batch as written.",
            "Layers in a trap that differ by less than 1 % in density hardly settle, and some of either leaves; a bed keeps at most half of what fills its extractor (our own figures).",
        ],
        band: "against five published preparations the water that comes is 20 % short of what the equation brings on average, 58 % at worst (butanol that must carry it alone), and 4 to 19 % for the other four; times to a factor of two",
        fails: "reactions that lag and have no rate; what has no groups, where 99 % of the water is taken to go; layers in a trap of which little decides which is the upper one, where it is told how much finer steps still change; finer steps change no other figure by more than 0.5 % for a bed and 1 % for a trap",
    },
    &Model {
        name: "drying",
        what: models::DRYING,
        assumes: &["There is time enough and free water was parted before."],
        band: "what stays is not known for most agents: see each agent in the library",
        fails: "an agent that its liquid binds or destroys, which is told",
    },
    &Model {
        name: "drying_in_time",
        what: models::DRYING_IN_TIME,
        assumes: &[
            "It goes in any liquid as it was found to go in one, with as much of the agent, as fine and as well swirled.",
            "There is agent enough; what it leaves in the end is told besides.",
            "What was found after a longer time is the most that it takes up; where nothing was, that is all.",
        ],
        band: "for ranking: the figures behind it are one or two points each, quoted at second hand; a factor of two in time (our own figure)",
        fails: "coarse or caked agent, liquids thicker than ether, drops of water, which take longer",
    },
    &Model {
        name: "filtering",
        what: models::FILTERING,
        assumes: &["A cake keeps half its own mass of liquor."],
        band: "30 to 100 % of the cake's mass are met in practice, from memory",
        fails: "slimy and very fine solids",
    },
    &Model {
        name: "cuts",
        what: models::DISTILLING,
        assumes: &["Each substance comes over at its own boiling point, and 3 % of the cut stays behind."],
        band: "5 % of the mass of a cut for boiling points 40 K apart; not measured below that",
        fails: "mixtures with azeotropes or boiling points closer than 30 K",
    },
    &Model {
        name: "steam",
        what: models::STEAM,
        assumes: &["Water and oil do not mix and the steam is saturated with oil."],
        band: "the ratio within 30 % for pure oils; from plants much more water comes, which the sheet counts",
        fails: "substances that mix with water",
    },
    &Model {
        name: "drained",
        what: models::DRAINED,
        assumes: &["The condensate has the make-up of the vapour over what has reacted, all the time."],
        band: "the water drained within 10 %; not measured otherwise",
        fails: "a charge whose vapour changes much while water comes over",
    },
    &Model {
        name: "absorbing",
        what: models::ABSORBING,
        assumes: &["No gas passes the absorber and none stays in the pot."],
        band: "a few per cent pass a single bubbler; not measured",
        fails: "gas that comes faster than it dissolves",
    },
    &Model {
        name: "steeping",
        what: models::STEEPING,
        assumes: &["There is time enough for it to come to rest."],
        band: "20 %: plants differ more than that",
        fails: "plants that are not cut",
    },
    &Model {
        name: "drawn",
        what: models::DRAWN,
        assumes: &["One emptying in ten minutes, each like a steeping."],
        band: "20 %; not measured",
        fails: "coarse matter",
    },
    &Model {
        name: "cooling",
        what: models::COOLING,
        assumes: &[
            "The heat comes free as the liquid goes in, none is stored, and the pot is as warm as it may get all the time.",
            "A glass wall passes 200 W/(m² K) to a bath of water or ice, and 10 W/(m² K) to the air (our own figures); both sides are stirred.",
            "The flask is the one that is stated, else a round one that is half full; the wall that the liquid wets half-way counts.",
            "A bath stands a quarter of its range above its cold end, a bath of tap water at 15 °C or where its range begins.",
            "Heat capacities are declared, else 2.0 J/(g K), and 4.18 J/(g K) for water.",
        ],
        band: "a factor of two, by stirring, glass and how the bath is renewed (our own figure)",
        fails: "a reaction that starts late, so that what was added before reacts all at once: keep to what the thermometer shows",
    },
    &Model {
        name: "warming",
        what: models::WARMING,
        assumes: &[
            "60 % of the heater's power arrives in the flask (our own figure).",
            "The flask is the one that is stated, else a round one that is half full; a round flask of 250 mL has 110 g of glass.",
            "What is boiled while water is taken off is warmed to where its first vapour forms, with the reactions at rest that have no rate.",
            "10 W/(m² K) go from the whole wall to the room (our own figure).",
            "Heat capacities are declared, else 2.0 J/(g K), and 4.18 J/(g K) for water; nothing melts, dissolves or boils off on the way.",
        ],
        band: "a factor of 1.5; an oil bath that must be warmed too takes as long again (our own figures)",
        fails: "baths that are hot before, which warm faster; thick or unstirred contents",
    },
    &Model {
        name: "gas",
        what: models::GAS,
        assumes: &[
            "All gas that a reaction makes comes off, as an ideal gas at the temperature and pressure of the room, at once or as evenly as what makes it is added.",
            "Water holds none of it, and carbonate that is left over takes none of it up as bicarbonate: where much stays behind the figure is the most. Where acid runs into carbonate hardly any comes before half of it is in, which is told.",
        ],
        band: "litres within 1 % of ten published exercises (carbon dioxide of washes, hydrogen of metals, sulfur dioxide), where nothing dissolves; up to a litre for each litre of water stays dissolved; the rate to a factor of two, and more where it foams late (our own judgement)",
        fails: "washes with an excess of carbonate, which keeps the carbon dioxide; solids that dissolve slowly",
    },
    &Model {
        name: "mixing_heat",
        what: models::MIXING_HEAT,
        assumes: &[
            "Nothing is lost to the room or to the glass, and all goes in at once: it is what would come of no cooling.",
            "Heats of dilution are read from tables of integral heats; where water meets strong acid the worst moment counts.",
            "Heat capacities are declared, else 2.0 J/(g K), and 4.18 J/(g K) for water; they do not change with temperature, and nothing boils off.",
        ],
        band: "rises within 10 % of published ones for acids, bases and salts in water (hydrochloric acid with lye, sulfuric acid with water and with lye), as a rule too high, since glass takes some; to a third of itself where heat capacities are not declared (our own judgement)",
        fails: "where a heat is not known, which is told, and then it is the least; heats of mixing of organic liquids, which are not counted; strong acid in them, of which is told what it would come to in water; drops that boil where they fall",
    },
    &Model {
        name: "reaction_heat",
        what: models::REACTION_HEAT,
        assumes: &[
            "The heat is the one declared of the reaction, else of the library's reaction of the same equation; of an acid and a hydroxide without such it is that of making water, −55.8 kJ for each mole of protons, which is told.",
            "It is that at 25 °C, all dissolved in much water where the source says nothing else; what is not yet so dilute still gives its heat of dilution.",
        ],
        band: "1 to 3 % for strong acids and bases and where heats of formation are published; 5 kJ for each mole where its source says that it is an estimate",
        fails: "where no heat is known, which the sheet says",
    },
    &Model {
        name: "activities",
        what: models::ACTIVITIES,
        assumes: &[
            "The constant is that of the activities, by groups in the liquid at the temperature of the work, and does not depend on the temperature; there is time enough.",
        ],
        band: "conversion to 3 % near two thirds where the constant was measured in activities (our own judgement: activities of such mixtures are good to 10 %)",
        fails: "reactions that have not come to rest; liquids that part, and what has no groups",
    },
    &Model {
        name: "rate",
        what: models::RATE,
        assumes: &[
            "The rate that is declared holds in this mixture and with this catalyst, as it was measured in another; the temperature stands at once.",
        ],
        band: "a factor of two in time (our own judgement): rates depend on the strength of the catalyst and on the water that is there",
        fails: "catalyst that is used up, and reactions that start by themselves",
    },
    &Model {
        name: "adding",
        what: models::MIXING,
        assumes: &["Nothing is spilt, splashed or left behind on the glass."],
        band: "exact, but for 1 to 3 % that stays on glass at each pouring (our own judgement)",
        fails: "batches of a few millilitres, of which films and drops are a good part",
    },
    &Model {
        name: "dividing",
        what: models::DIVIDING,
        assumes: &["The parts are alike, and as large as they are stated."],
        band: "as good as the vessel by which it is divided",
        fails: "slurries and two liquids, which do not divide evenly",
    },
    &Model {
        name: "limiting",
        what: "the limiting reactant used up",
        assumes: &["It is the largest extent there can be, by the coefficients of the equation."],
        band: "exact: it is a bound, and no prediction of how far the reaction goes",
        fails: "reactants that other reactions use up too",
    },
    &Model {
        name: "neutral",
        what: "acid and base in equal moles",
        assumes: &["Protons with a pKa below 6.5 count, each for one of the base."],
        band: "exact for strong acids and bases; the end point of a weak one lies within 1 % (our own judgement)",
        fails: "acids with a second proton between pKa 5 and 8",
    },
    &Model {
        name: "crystal_water",
        what: "crystal water set free in solution",
        assumes: &["A hydrate that dissolves gives all its water to the liquid."],
        band: "exact by its formula; crystals that have weathered hold less",
        fails: "hydrates that do not dissolve",
    },
    &Model {
        name: "crystal_water_boiled",
        what: "crystal water set free on boiling",
        assumes: &["A hydrate that is boiled with a solvent gives all its water to it."],
        band: "exact by its formula, as a bound; some hydrates keep their last water above 100 °C (our own judgement)",
        fails: "hydrates that hold water above the boiling point of the solvent",
    },
    &Model {
        name: "bound",
        what: "moles bound to a mole of agent, as declared",
        assumes: &["The agent takes up what is declared of it, to the last mole."],
        band: "as good as the figure declared; agents in use take up a third less (our own judgement)",
        fails: "agents that are coarse or have caked",
    },
    &Model {
        name: "reacts_with",
        what: "what reacts with it, and 5 % more",
        assumes: &["By the coefficients of the equation; the 5 % are our own figure."],
        band: "exact, and 5 % on the safe side",
        fails: "reagents that hold less than is stated",
    },
    &Model {
        name: "trap_dissolves",
        what: "what water in a trap dissolves",
        assumes: &["The water in the trap is saturated with what dissolves in it by itself, at room temperature."],
        band: "a factor of two (our own judgement)",
        fails: "what mixes with water",
    },
    &Model {
        name: "all_water",
        what: "all the water of the charge and of the reaction run to its end",
        assumes: &["The reaction goes to its end and all the water comes over."],
        band: "exact as a bound: less comes",
        fails: "nothing: it only sizes the bed",
    },
    &Model {
        name: "clings",
        what: "liquid that clings to a drained bed",
        assumes: &["A drained bed keeps a fifth of its bulk of liquid (our own figure)."],
        band: "a factor of two (our own judgement)",
        fails: "powders, which keep more",
    },
    &Model {
        name: "dose",
        what: "its dose for what it is to hold back",
        assumes: &["The share declared of it holds for any solid and any colour."],
        band: "a factor of two: it is a custom, and no measurement",
        fails: "solids that are much finer or slimier than usual",
    },
    &Model {
        name: "no_water",
        what: "no water in it",
        assumes: &["What is declared without water holds none."],
        band: "traces are not known: air alone brings some (our own judgement)",
        fails: "liquids that stood open",
    },
    &Model {
        name: "driven_off",
        what: "all bound water is driven off",
        assumes: &["The bed is as hot as is stated all through, and for as long."],
        band: "1 to 2 % of its mass stays in molecular sieves below 300 °C, from memory",
        fails: "thick layers of beads, and ovens that are not as hot as they show",
    },
    &Model {
        name: "airing",
        what: models::AIRING,
        assumes: &["There is time enough and a draught."],
        band: "nothing is left where the time is as told",
        fails: "liquids that boil above 150 °C",
    },
];

/// What widens a band: in which way, and the clause.
const WIDER: &[(Widens, &str)] = &[
    (Widens::EstimatedVapour, "with an estimated vapour pressure 5 K for each 40 K from the boiling point (our own judgement)"),
    (
        Widens::VapourBeyond,
        "outside of the range of an equation its pressure, and with it what the vapour holds, to a fifth of itself for each 40 K beyond (our own judgement)",
    ),
    (
        Widens::HeldByTable,
        "with what holds water by a table within 1 K of it (sulfuric acid, of which tables differ, 3 K from 60 % and 6 K at 98 %); below an atmosphere too low, at 25 °C by 1.5 K with sulfuric acid, 8 K with salts and potash lye and 15 K with the strongest soda lye",
    ),
    (
        Widens::Ions,
        "with ions of which there is no table boiling points 2 K low at 15 % by mass, 5 K at 25 % and 18 K at 46 %, as it would be with calcium chloride, the worst of the salts of which there is one; more with acids and hydroxides",
    ),
    (Widens::NoGroups, "with something that has no groups by several kelvin where it is a good part of the liquid (our own judgement)"),
    (Widens::Unshared, "for what has neither a solubility nor a partition not known at all"),
    (Widens::WaterByGroups, "for water taken up by what is not declared to a factor of two (our own judgement)"),
];

/// Models of vapours, by name.
const OF_VAPOURS: &[&str] = &["dortmund", "unifac", "raoult", "still", "column", "evaporation", "followed", "cuts", "steam", "drained"];

/// Models of layers, by name.
const OF_LAYERS: &[&str] = &["layers", "layers_by_rule"];

/// What widens the band of a model where this is assumed, each in a clause.
#[must_use]
pub fn wider(model: &Model, said: &Assumed) -> Vec<&'static str> {
    let touched = |way: &Widens| match way {
        Widens::EstimatedVapour | Widens::VapourBeyond | Widens::HeldByTable | Widens::Ions | Widens::NoGroups => {
            OF_VAPOURS.contains(&model.name)
        }
        Widens::Unshared | Widens::WaterByGroups => OF_LAYERS.contains(&model.name),
    };
    WIDER.iter().filter(|(way, _)| touched(way) && said.widens(*way)).map(|(_, clause)| *clause).collect()
}

/// The band of a model with what widens it here.
#[must_use]
pub fn band(model: &Model, said: &Assumed) -> String {
    std::iter::once(model.band).chain(wider(model, said)).collect::<Vec<_>>().join("; ")
}

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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_model_is_found_by_its_name_and_by_what_it_is() {
        for model in ALL {
            assert_eq!(find(model.name), Some(*model));
            assert_eq!(find(model.what), Some(*model));
            assert!(!model.assumes.is_empty() && !model.band.is_empty() && !model.fails.is_empty(), "{}", model.name);
        }
    }

    #[test]
    fn what_is_assumed_widens_the_bands_that_it_touches() {
        let said = |way: Widens| {
            let mut said = Assumed::new();
            said.insert("The density of guaiacol is not known.");
            said.widen(way, "Whatever the words may be.");
            said
        };
        let counts = |way: Widens| (wider(&UNIFAC, &said(way)).len(), wider(&LAYERS, &said(way)).len());
        for way in [Widens::EstimatedVapour, Widens::VapourBeyond, Widens::HeldByTable, Widens::Ions, Widens::NoGroups] {
            assert_eq!(counts(way), (1, 0), "{way:?}");
        }
        for way in [Widens::Unshared, Widens::WaterByGroups] {
            assert_eq!(counts(way), (0, 1), "{way:?}");
        }
        assert_eq!(band(&UNIFAC, &Assumed::new()), UNIFAC.band);
        let estimated = said(Widens::EstimatedVapour);
        assert!(band(&UNIFAC, &estimated).starts_with(UNIFAC.band) && band(&UNIFAC, &estimated).contains("5 K for each 40 K"));
    }
}
