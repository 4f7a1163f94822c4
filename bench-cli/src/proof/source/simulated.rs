//! The built-in bench: a stimulator and an ignition in memory, under one simulated clock.
//!
//! The stimulator is the code that a board runs, and it is spoken to by the same bytes. The ignition is whatever
//! implements [`IgnitionUnderTest`]: the core's sequencer, or one that owes nothing to it.

mod bench;
mod coil;
mod core_ignition;
mod ignition;
mod imperfections;
mod reluctor;
mod serve;

pub use bench::SimulatedBench;
pub use core_ignition::{CoreIgnition, ImperfectIgnition};
pub use ignition::{IgnitionUnderTest, Switch};
pub use imperfections::{ImperfectionText, Imperfections, UnevenPulse};
pub use serve::serve;

#[cfg(test)]
mod tests;
