//! What the ignition was built for: one engine, or none.

use bobweight::quantity::{Duration, TickRate};
use bobweight::{AdvanceModel, Dwell, Firmware, Pickup, PressureSensor, Timetable, TimetableError, must};

/// This firmware: half microseconds, and the longest time from an edge until its order is in the timer. The rig measures it (`tests/tools/suites/rig.sh`).
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
}

impl Settings {
    /// The settings of an engine, in this chip's ticks.
    ///
    /// # Errors
    /// [`TimetableError`] where this firmware cannot time its sparks.
    #[allow(dead_code, reason = "without settings nothing is timed")]
    pub const fn new(
        model: &AdvanceModel,
        pickup: &Pickup,
        dwell: &Dwell,
        sensor: Option<PressureSensor>,
        timing_flank_rises: bool,
    ) -> Result<Self, TimetableError> {
        let timetable = match Timetable::new(model, pickup, dwell, &FIRMWARE) {
            Ok(timetable) => timetable,
            Err(error) => return Err(error),
        };
        let p = pickup.settings();
        Ok(Self {
            sensor,
            timing_flank_rises,
            second_flank: p.second_flank_angle.is_some() || p.moving_flank.is_some() || p.bounce.bits() > 0,
            timetable,
        })
    }
}

/// The engine, as it was exported from its sheet. Its timetable is that of the box which the sheet names; this firmware makes its own.
#[cfg(engine)]
#[allow(dead_code, clippy::pedantic, reason = "an export: not all of it is needed here")]
mod engine {
    include!(concat!(env!("OUT_DIR"), "/engine.rs"));
}

/// What the ignition was built for.
#[cfg(engine)]
pub static SETTINGS: Option<Settings> = {
    use engine::{DWELL, MODEL, PICKUP, SENSOR, TIMING_FLANK_RISES};
    Some(must!(Settings::new(&MODEL, &PICKUP, &DWELL, SENSOR, TIMING_FLANK_RISES)))
};

/// Built for no engine.
#[cfg(not(any(engine, feature = "atmega1284p")))]
pub static SETTINGS: Option<Settings> = None;
