//! What takes its time: reactions, a liquid that boils and runs back dry, a trap that fills.

mod cycle;
pub mod dried;
pub mod flask;
pub mod reaction;
pub mod trap;
