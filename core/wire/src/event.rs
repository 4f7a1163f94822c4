//! What a stimulator saw and did, in the order of time.

use heapless::Vec;
use serde::{Deserialize, Serialize};

/// Most events in one [`Batch`].
pub const LARGEST_BATCH: usize = 16;

/// Events in the order of time, many to a frame.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Batch {
    /// Counts batches, wrapping: a gap tells the host that a frame was lost.
    pub number: u8,
    /// Events that found no room before the first of this batch; 255 means 255 or more.
    pub lost: u8,
    /// Time of the first event in ticks of the board's clock, wrapping.
    pub start: u32,
    /// The events. The first one's `ticks` count from `start` and are 0.
    pub events: Vec<Event, LARGEST_BATCH>,
}

impl Batch {
    /// The first batch, empty.
    pub const fn new() -> Self {
        Self { number: 0, lost: 0, start: 0, events: Vec::new() }
    }
}

/// One event.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Event {
    /// What happened.
    pub kind: EventKind,
    /// Ticks since the event before it in the batch.
    pub ticks: u32,
}

/// What happened.
///
/// A commanded motion begins at the `Timing` flank that follows its `Begun` at the same tick.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum EventKind {
    /// A pulse's timing flank, at its own angle.
    Timing,
    /// A pulse's second flank, at its own angle.
    Second,
    /// The coil's current was switched on.
    CoilOn,
    /// The coil's current was switched off: a spark.
    CoilOff,
    /// The accepted message of this sequence number takes effect at the flank that follows at the same tick.
    Begun(u8),
    /// The ramp has reached its end since the last timing flank; the speed is steady.
    RampEnded,
    /// The run is over: the sparks or cycles asked for are counted.
    Finished,
    /// A timing flank that was left out on demand would have been here.
    LostTiming,
    /// The timing flank of a pulse that was moved on demand.
    MovedTiming,
    /// The second flank of a pulse that was moved on demand.
    MovedSecond,
    /// A flank with the timing flank's sense that belongs to no pulse: added on demand, or passed turning backwards.
    StrayTiming,
    /// A flank with the second flank's sense that belongs to no pulse: added on demand, or passed turning backwards.
    StraySecond,
    /// The crank stands still, as asked.
    Stopped,
    /// The crank stands still and every output is at rest: the host was silent too long.
    HostSilent,
    /// Nothing happened; time passes while the crank turns.
    TimeMark,
}
