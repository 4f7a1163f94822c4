//! See the README.

pub mod quantity_text;
pub mod sheet;
pub mod units;
