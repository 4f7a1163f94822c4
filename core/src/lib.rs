#![doc = include_str!("../README.md")]
#![no_std]
#![forbid(unsafe_code)]

mod advance;
mod curve;
mod dwell;
mod limits;
mod pickup;
pub mod quantity;
// mod sequencer;
// mod timetable;

pub use advance::{
    AdvanceModel, AdvanceSettings, Breakdown, ModelError, Phase, PhaseSpeeds, STOPPED_BELOW, Vacuum, VacuumSource,
};
pub use curve::{CentrifugalCurve, Curve, CurveError, DwellCurve, MOST_BREAKPOINTS, VacuumCurve};
pub use dwell::{Dwell, DwellError, DwellSettings, SHORTEST_DWELL};
pub use limits::{Corner, Judgement, Judgements, Limit, Limits};
pub use pickup::{Flank, MOST_PULSES, Pickup, PickupError, PickupSettings};
