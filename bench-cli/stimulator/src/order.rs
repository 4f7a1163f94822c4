//! What the firmware is told to do at the pickup's wire.

use bobweight_wire::EventKind;

/// A change of the pickup's level.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Flank {
    /// In the sense of the timing flank: the pickup becomes active.
    Timing,
    /// In the sense of the second flank: the pickup becomes idle.
    Second,
    /// The pickup becomes idle where the pattern has no second flank; nobody looks at it.
    Return,
}

/// What to do at a time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct FlankOrder {
    /// When, in ticks of the board's clock, wrapping.
    pub at: u32,
    /// The change of level; `None` leaves the wire as it is and only marks the time.
    pub flank: Option<Flank>,
}

/// An order with what has to be reported when its time has come.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Passage {
    pub(crate) order: FlankOrder,
    /// The flank's own event; `None` where the change of level is no event.
    pub(crate) kind: Option<EventKind>,
    /// A ramp reached its end before this flank.
    pub(crate) ramp_ended: bool,
    /// Numbers of the messages that take effect here.
    pub(crate) motion: Option<u8>,
    pub(crate) upset: Option<u8>,
}

impl Passage {
    /// Whether a pulse begins here, seen or lost.
    pub(crate) fn begins_pulse(&self) -> bool {
        matches!(self.kind, Some(EventKind::Timing | EventKind::MovedTiming | EventKind::LostTiming))
    }
}
