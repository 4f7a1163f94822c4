#![doc = include_str!("../README.md")]
// A constructor takes all its settings the same way, whatever their size.
#![allow(clippy::trivially_copy_pass_by_ref)]
#![no_std]
#![forbid(unsafe_code)]
// Const functions cannot call `From` or `TryFrom`. The laws and the grids of the tests hold every cast to its range.
#![allow(clippy::cast_lossless, clippy::cast_possible_truncation, clippy::cast_possible_wrap, clippy::cast_sign_loss)]

#[cfg(feature = "proptest")]
extern crate std;

mod advance;
mod circuit;
mod curve;
mod divide;
mod dwell;
pub mod image;
mod limits;
mod must;
mod pickup;
mod pressure;
pub mod quantity;
mod sequencer;
pub mod sparks;
pub mod store;
#[cfg(feature = "proptest")]
pub mod strategy;
mod timetable;
mod trim;

pub use advance::{
    AdvanceModel, AdvanceSettings, Breakdown, HELD_SPARK_AGAIN_BELOW, ModelError, NO_HELD_SPARK_ABOVE, Phase,
    PhaseSpeeds, STOPPED_BELOW, Vacuum, VacuumSource, throttle_closed_up_to, throttle_counts_as_closed,
};
pub use circuit::{COPPER_PER_KELVIN, Circuit};
pub use curve::{CentrifugalCurve, Curve, CurveError, DwellCurve, MOST_BREAKPOINTS, SensorCurve, VacuumCurve};
pub use dwell::{Dwell, DwellError, DwellSettings, SHORTEST_DWELL};
pub use limits::{Corner, Judgement, Judgements, Limit, Limits};
pub use pickup::{Flank, MOST_PULSES, MovingFlank, Pickup, PickupError, PickupSettings};
pub use pressure::{
    Atmosphere, LEAST_PRESSURE, Manifold, PressureSensor, SensorError, SensorFault, SensorKind, SensorSettings,
};
pub use sequencer::{Answer, Counters, Sequencer};
pub use timetable::{Firmware, Timetable, TimetableError, Window};
pub use trim::{Trim, TrimError};
