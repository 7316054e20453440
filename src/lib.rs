//! scruple: a language and a compiler for bench procedures.
//!
//! ```text
//! text ── syntax ──▶ File ── resolve ──▶ Definitions, Draft ── matter::linear ──▶ Procedure
//!      ── graph ──▶ Graph ── size, evaluate ──▶ Evaluation ── judge ──▶ findings, vessels
//!      ── emit ──▶ sheet (Markdown), plan (JSON)
//! ```
//!
//! [`pipeline`] is the driver. [`kinds`] and [`chemistry`] know nothing of the language;
//! [`operations`] are the physical effects behind the operations that `stdlib/` declares. Every
//! phase reports with the one [`diagnostics::Diagnostic`] type.

pub mod asked;
pub mod chemistry;
pub mod cli;
pub mod compare;
pub mod diagnostics;
pub mod emit;
pub mod evaluate;
pub mod graph;
pub mod judge;
pub mod kinds;
pub mod library;
pub mod load;
pub mod matter;
pub mod mend;
pub mod operations;
pub mod outcome;
pub mod pipeline;
pub mod reach;
pub mod record;
pub mod resolve;
pub mod route;
pub mod size;
pub mod source;
pub mod sweep;
pub mod syntax;
