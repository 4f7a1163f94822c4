//! See the README.

pub mod cli;
pub mod quantity_text;
pub mod sheet;
pub mod units;
