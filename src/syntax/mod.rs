//! From text to a tree of logical lines and blocks, and back.
//!
//! [`scan`] joins physical lines into logical ones and finds the braces; [`mod@parse`] reads each
//! logical line with the grammar (the only user of pest); [`tree`] is what comes out; [`mod@print`]
//! writes it in the one layout.

pub mod parse;
pub mod print;
pub mod scan;
pub mod tree;

pub use parse::{parse, parse_stored};
pub use tree::{Block, File, Line, Measure, Node, Tok, Token};
