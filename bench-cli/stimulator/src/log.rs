//! Events, gathered into batches.

use bobweight_wire::{Batch, Event, EventKind, LARGEST_BATCH};

/// Most events of one moment: a ramp that ended, three messages that take effect, a run that is over, and the flank.
const MOST_AT_ONCE: usize = 6;

#[derive(Debug)]
pub(crate) struct Log {
    batch: Batch,
    /// Time of the last event that was recorded, or found no room.
    last: u32,
    lost: u8,
    urgent: bool,
    /// The batch was taken and begins anew with the next event.
    taken: bool,
}

impl Log {
    pub(crate) const fn new() -> Self {
        Self { batch: Batch::new(), last: 0, lost: 0, urgent: false, taken: false }
    }

    /// Records an event; the caller hands events over in the order of time.
    pub(crate) fn record(&mut self, kind: EventKind, at: u32) {
        self.begin_anew();
        let ticks = if self.batch.events.is_empty() {
            self.batch.start = at;
            self.batch.lost = core::mem::take(&mut self.lost);
            0
        } else {
            let since = at.wrapping_sub(self.last);
            // More than half the clock's range is an event of before the last one.
            if since > u32::MAX / 2 { 0 } else { since }
        };
        if self.batch.events.push(Event { kind, ticks }).is_err() {
            self.lost = self.lost.saturating_add(1);
            return;
        }
        self.last = at;
        self.urgent |= !matches!(
            kind,
            EventKind::Timing | EventKind::Second | EventKind::CoilOn | EventKind::CoilOff | EventKind::TimeMark
        );
    }

    /// Counts events that were lost before they could be recorded.
    pub(crate) fn lose(&mut self, events: u8) {
        self.lost = self.lost.saturating_add(events);
    }

    /// Time since the last event.
    pub(crate) fn quiet_for(&self, now: u32) -> u32 {
        now.wrapping_sub(self.last)
    }

    /// The batch, if it might not hold what comes next, has news, or its first event is `patience` ticks old. It stays until
    /// the next event is recorded.
    pub(crate) fn take(&mut self, now: u32, patience: u32) -> Option<&Batch> {
        if self.taken || self.batch.events.is_empty() {
            return None;
        }
        let age = now.wrapping_sub(self.batch.start);
        let filled = self.batch.events.len() > LARGEST_BATCH - MOST_AT_ONCE;
        if !(self.urgent || filled || age >= patience) {
            return None;
        }
        self.urgent = false;
        self.taken = true;
        Some(&self.batch)
    }

    fn begin_anew(&mut self) {
        if self.taken {
            self.taken = false;
            self.batch.number = self.batch.number.wrapping_add(1);
            self.batch.events.clear();
        }
    }
}
