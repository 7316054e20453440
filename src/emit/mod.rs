//! What leaves the compiler: the sheet in Markdown or as a page, and the plan in JSON.

pub mod azeotropes;
mod before;
pub mod bench;
pub mod boil;
pub mod compare;
pub mod course;
pub mod distilled;
pub mod layers;
pub mod measure;
pub mod page;
mod partings;
mod pictograms;
pub mod plan;
pub mod record;
pub mod reference;
mod results;
pub mod review;
pub mod shares;
pub mod sheet;
mod steps;
pub mod table;
mod takeoff;
mod view;
pub mod why;
pub mod words;
