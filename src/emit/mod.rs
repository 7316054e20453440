//! What leaves the compiler: the sheet in Markdown and the plan in JSON.

mod before;
pub mod measure;
pub mod plan;
mod results;
pub mod sheet;
mod steps;
mod view;
mod words;
