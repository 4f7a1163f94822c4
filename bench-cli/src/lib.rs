//! See the README.

pub mod cli;
pub mod fit;
pub mod quantity_text;
pub mod readings;
pub mod sheet;
pub mod units;
