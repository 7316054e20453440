//! What names no other declaration, for the build script and the program alike.

/// Sorts of declaration that name none: what does not go together, or in one waste, need not be here for
/// that, and what was measured of a pair is read when both are here.
pub const NAMING_NONE: &[&str] = &["incompatible", "waste_word", "binary_fit", "azeotrope"];

/// Fields of substances and agents whose words name no declaration: a class `ether` is not the liquid.
pub const WITHOUT_NAMES: &[&str] = &[
    "also",
    "cas",
    "class",
    "solubility",
    "groups",
    "dortmund_groups",
    "hazard",
    "classed",
    "signal",
    "pictogram",
    "precaution",
    "edition",
    "peroxides",
    "refuses",
];
