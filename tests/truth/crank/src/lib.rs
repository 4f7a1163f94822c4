#![forbid(unsafe_code)]
#![doc = include_str!("../README.md")]
// Whole numbers here count pulses, ticks and panels, far below 2^53; the crate's page says that wrong arguments panic.
#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_precision_loss,
    clippy::cast_sign_loss,
    clippy::missing_panics_doc
)]

pub mod bounds;
pub mod cap;
pub mod coil;
pub mod cranking;
pub mod curve;
pub mod ignition;
pub mod motion;
pub mod pickup;
pub mod reluctor;
pub mod spark;
pub mod timer;

pub use cap::Cap;
pub use coil::Coil;
pub use cranking::{FirstFire, Swing};
pub use curve::Curve;
pub use ignition::{Ignition, Order, Phase, Settings};
pub use motion::Motion;
pub use pickup::{Edge, Flank, Pickup};
pub use reluctor::Reluctor;
pub use spark::Spark;
pub use timer::Timer;

/// Crank degrees swept in one second at one crank rpm: 360 degrees in 60 seconds. Source: definition.
pub const DEGREES_PER_SECOND_PER_RPM: f64 = 6.0;

/// Crank degrees of one cycle of a four-stroke engine: two turns. Source: definition.
pub const CYCLE_DEGREES: f64 = 720.0;

/// Crank degrees between neighbouring pulses, `720 / pulses`; `pulses` counts those of two crank turns.
///
/// Panics unless there are 1 to 12 pulses.
pub fn spacing(pulses: u32) -> f64 {
    assert!((1..=12).contains(&pulses), "{pulses} pulses in two crank turns: 1 to 12 are allowed");
    CYCLE_DEGREES / f64::from(pulses)
}

/// The period in seconds between pulses at a steady speed in crank rpm, `120 / (pulses * speed)`. Source: definition.
pub fn period(pulses: u32, crank_rpm: f64) -> f64 {
    spacing(pulses) / (DEGREES_PER_SECOND_PER_RPM * crank_rpm)
}
