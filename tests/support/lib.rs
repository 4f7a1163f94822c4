//! Shared set-up of the tests that cross crates.
//!
//! [`plain`] holds an ignition's settings once, in f64, and gives them to the core and to the independent truth; [`firmware`]
//! is the timer around a sequencer, and holds what it is told to Law A; [`invented`] makes distributors and surveys of them.

pub mod firmware;
pub mod invented;
pub mod plain;
pub mod strategy;
