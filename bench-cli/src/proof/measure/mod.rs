//! From the events of the stimulator to sparks with an angle, an error and a pulse that they belong to.
//!
//! The angle comes from the *commanded* motion, which the stimulator knows exactly, and not from the edges beside the
//! spark: interpolating between edges errs by degrees while the speed changes. A spark belongs to the pulse in whose
//! window it falls and not to the pulse whose turn it is, so one spark more or less is data and shifts nothing.

mod motion;
mod recording;
mod statistics;

pub use motion::Motion;
pub use recording::{Event, EventKind, MeasureError, Pickup, Recording, measure};
#[cfg(test)]
pub(crate) use statistics::PulseStatistics;
pub use statistics::{DwellStatistics, LEAST_CYCLES, PointStatistics, Summary};

/// One spark: the end of a dwell.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spark {
    /// When, in ticks of the stimulator.
    pub at_ticks: u64,
    /// Speed at the spark by the commanded motion, crank rpm.
    pub speed_crank_rpm: f64,
    /// Where the spark came, crank degrees BTDC.
    pub advance: f64,
    /// Where the curve at that speed wanted it, crank degrees BTDC.
    pub wanted: f64,
    /// For how long the coil was on before it, seconds; none where its start was not recorded.
    pub dwell_s: Option<f64>,
}

impl Spark {
    /// Measured minus wanted, crank degrees: positive is early.
    pub fn error(&self) -> f64 {
        self.advance - self.wanted
    }
}

/// One pulse and the sparks in its window, which is as wide as the distance between pulses and centred on the wanted spark.
#[derive(Debug, Clone, PartialEq)]
pub struct Pulse {
    /// Counted from the first timing flank of the record, which is 0.
    pub sequence: i64,
    /// Which pulse of the two turns, from 0.
    pub in_cycle: usize,
    /// Its spark: of several the one nearest to the wanted angle. None is a missing spark.
    pub spark: Option<Spark>,
    /// Every further spark in the window.
    pub extra: Vec<Spark>,
}

/// The pulses of one or more records at one test point.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Measured {
    /// Pulses in two crank turns.
    pub pulses_in_two_turns: usize,
    /// Whole cycles one after the other: a multiple of `pulses_in_two_turns`.
    pub pulses: Vec<Pulse>,
}

impl Measured {
    /// Adds a further record of the same test point; cycles never reach from one record into the other.
    pub fn append(&mut self, further: Self) {
        self.pulses_in_two_turns = further.pulses_in_two_turns;
        self.pulses.extend(further.pulses);
    }

    /// The cycles: all pulses of two crank turns each.
    pub fn cycles(&self) -> impl Iterator<Item = &[Pulse]> {
        self.pulses.chunks_exact(self.pulses_in_two_turns.max(1))
    }

    /// Every pulse's own spark.
    pub fn sparks(&self) -> impl Iterator<Item = &Spark> {
        self.pulses.iter().filter_map(|pulse| pulse.spark.as_ref())
    }

    /// Pulses without a spark.
    pub fn missing(&self) -> usize {
        self.pulses.iter().filter(|pulse| pulse.spark.is_none()).count()
    }

    /// Sparks beyond one a pulse.
    pub fn extra(&self) -> usize {
        self.pulses.iter().map(|pulse| pulse.extra.len()).sum()
    }
}

#[cfg(test)]
mod tests;
