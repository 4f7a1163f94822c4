//! Shared set-up of the tests that cross crates.

pub mod invented;
