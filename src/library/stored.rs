//! What the build script and the program must hold alike: how the pieces of a declaration are stored, and
//! what in it names no other.

/// The sort of a stored piece that is a logical line; the bit 1 is set where a blank line stands before it.
pub const LINE: u8 = 0x80;
/// A comment by itself, with the same bit.
pub const COMMENT: u8 = 0x82;
/// The brace that opens a block.
pub const OPEN: u8 = 0x84;
/// The brace that closes it.
pub const CLOSE: u8 = 0x86;

/// How many columns deeper a line must stand to go on with the one above: one blank too many is a
/// slip of the hand and no continuation.
pub const DEEPER: usize = 2;

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
