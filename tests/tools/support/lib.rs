//! Shared set-up of the tests that cross crates.
//!
//! [`plain`] holds an ignition's settings once, in f64, and gives them to the core and to the independent truth; [`firmware`]
//! is the timer around a sequencer, and holds what it is told to the laws of any stream; [`ride`] turns it by the independent crank, [`reluctor`] by that crank's reluctor; [`throttle`] moves that, and
//! [`points`] bounce;
//! [`invented`] makes distributors and surveys of them; [`seeds`] counts over seeds.

// A test's set-up panics where the test is wrong; that is its way to say so.
#![allow(clippy::missing_panics_doc)]

#[cfg(feature = "bench")]
pub mod best_ramps;
pub mod firmware;
#[cfg(feature = "bench")]
pub mod flyweight;
#[cfg(feature = "bench")]
pub mod hostile;
#[cfg(feature = "bench")]
pub mod invented;
pub mod numbers;
#[cfg(feature = "bench")]
pub mod other_flank;
pub mod plain;
pub mod points;
pub mod reluctor;
pub mod ride;
pub mod seeds;
pub mod strategy;
pub mod throttle;
#[cfg(feature = "bench")]
pub mod truth;
#[cfg(feature = "bench")]
pub mod whole_bench;
#[cfg(feature = "bench")]
pub mod witness;
