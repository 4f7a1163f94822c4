//! What the ignition was built for: one engine, or none.

use bobweight::quantity::{Duration, TickRate};
use bobweight::{Firmware, PressureSensor, Timetable, must};

/// This firmware: half microseconds, and the longest time from an edge until its order is in the timer. The rig measures it (`tests/suites/rig.sh`).
#[allow(dead_code, reason = "without settings nothing is timed")]
pub const FIRMWARE: Firmware =
    Firmware { tick_rate: must!(TickRate::from_bits(2_000_000)), latency: must!(Duration::from_bits(300_000)) };

/// Everything of an engine sheet that the chip needs.
pub struct Settings {
    /// The curve, the pickup and the coil, in ticks of this chip's timer.
    pub timetable: Timetable,
    /// The manifold's sensor; `None` for an engine without vacuum advance.
    pub sensor: Option<PressureSensor>,
    /// Whether the flank that times the spark rises at the pickup's pin.
    pub timing_flank_rises: bool,
    /// Whether the pulse's other flank is used.
    pub second_flank: bool,
    /// The largest dwell in ticks.
    pub largest_dwell: u32,
    /// Periods of the speed above which no dwell begins while held, and of the one below which they begin again.
    pub held_limit: (u32, u32),
}

include!(concat!(env!("OUT_DIR"), "/settings.rs"));
