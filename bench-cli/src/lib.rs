//! See the README.

pub mod fit;
pub mod readings;
pub mod units;
