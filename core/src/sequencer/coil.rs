//! The coil's one order, and what the pulses have had.

use super::{later_by, latest};

/// Which pulse an order makes the spark of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
enum Pulse {
    /// One before the last edge.
    Past,
    /// That of the last edge.
    This,
    /// That of the edge to come.
    Next,
}

/// At most one order, waiting or running.
#[derive(Clone, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[expect(clippy::struct_excessive_bools, reason = "each is a plain fact of its own")]
pub(super) struct Coil {
    on: u32,
    off: u32,
    last_off: u32,
    ordered: bool,
    pulse: Pulse,
    /// Whether `last_off` is a spark not yet forgotten.
    sparked: bool,
    /// Whether the pulse of the last edge has had its spark.
    this_pulse: bool,
    /// Whether the pulse of the next edge has had its spark, without its edge.
    next_pulse: bool,
}

impl Coil {
    pub const OFF: Self = Self {
        on: 0,
        off: 0,
        last_off: 0,
        ordered: false,
        pulse: Pulse::Past,
        sparked: false,
        this_pulse: false,
        next_pulse: false,
    };

    /// Books an order whose off time has come, and forgets a spark before the clock wraps around to it. Says whether there was
    /// such an order.
    pub const fn settle(&mut self, now: u32) -> bool {
        if self.sparked && now.wrapping_sub(self.last_off) > 1 << 29 {
            self.sparked = false;
        }
        if self.ordered && later_by(now, self.off) >= 0 {
            self.ordered = false;
            self.sparked = true;
            self.last_off = self.off;
            match self.pulse {
                Pulse::Past => {}
                Pulse::This => self.this_pulse = true,
                Pulse::Next => self.next_pulse = true,
            }
            return true;
        }
        false
    }

    /// Whether the last spark still burns at a time.
    pub const fn burning(&self, at: u32, burn: u32) -> bool {
        let since = later_by(at, self.last_off);
        self.sparked && since >= 0 && since < burn as i32
    }

    /// An on time, put off until the last spark has burnt.
    pub const fn clear_of_burn(&self, on: u32, burn: u32) -> u32 {
        if self.sparked { latest(on, self.last_off.wrapping_add(burn)) } else { on }
    }

    /// Whether a dwell runs, or is too near to be stopped by this firmware.
    pub const fn begun(&self, now: u32, latency: u32) -> bool {
        self.ordered && later_by(now.wrapping_add(latency), self.on) >= 0
    }

    /// Whether the order is for a pulse before the last edge.
    pub const fn is_past(&self) -> bool {
        matches!(self.pulse, Pulse::Past)
    }

    /// Whether there is no order.
    pub const fn is_idle(&self) -> bool {
        !self.ordered
    }

    /// Whether the order is for a pulse before the last edge.
    pub const fn has_past_order(&self) -> bool {
        self.ordered && self.is_past()
    }

    /// Whether the pulse of the last edge has neither an order nor a spark.
    pub const fn lacks_spark(&self) -> bool {
        !(self.this_pulse || self.ordered && matches!(self.pulse, Pulse::This))
    }

    /// Gives the pulse of the last edge no spark.
    pub const fn withhold(&mut self) {
        self.this_pulse = true;
    }

    /// Whether the next pulse has neither an order nor a spark.
    pub const fn is_free(&self) -> bool {
        !self.ordered && !self.next_pulse
    }

    pub const fn pulse_has_spark(&self) -> bool {
        self.this_pulse
    }

    /// The edge of the next pulse has come.
    pub const fn next_pulse(&mut self) {
        self.this_pulse = self.next_pulse;
        self.next_pulse = false;
        self.pulse = match self.pulse {
            Pulse::Past | Pulse::This => Pulse::Past,
            Pulse::Next => Pulse::This,
        };
    }

    /// Orders a dwell for the pulse of the last edge.
    pub const fn order(&mut self, on: u32, off: u32) {
        self.on = on;
        self.off = off;
        self.ordered = true;
        self.pulse = Pulse::This;
    }

    /// What is ordered is for the pulse of the next edge.
    pub const fn is_for_next(&mut self) {
        self.pulse = Pulse::Next;
    }

    /// What is ordered is for the pulse before the last edge.
    pub const fn is_for_past(&mut self) {
        self.pulse = Pulse::Past;
    }

    pub const fn off(&self) -> u32 {
        self.off
    }

    pub const fn on(&self) -> u32 {
        self.on
    }

    /// Moves the off time of the dwell that runs; says whether that changed anything.
    pub const fn move_off(&mut self, off: u32) -> bool {
        let moved = self.off != off;
        self.off = off;
        moved
    }

    /// Voids an order that waits; says whether there was one.
    pub const fn cancel(&mut self, now: u32, latency: u32) -> bool {
        let waits = self.ordered && !self.begun(now, latency);
        if waits {
            self.ordered = false;
        }
        waits
    }
}
