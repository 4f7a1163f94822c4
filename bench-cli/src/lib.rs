//! See the README.

pub mod units;
