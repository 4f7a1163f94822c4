//! What went otherwise than planned.

use super::rhythm::Heard;

/// Counts since power-up, each wrapping at 65 536.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Counters {
    /// Sparks that came before their angle because the largest dwell was over.
    pub forced: u16,
    /// Sparks made at once because their time had passed.
    pub off_now: u16,
    /// Edges that found the dwell of an earlier pulse still running, and got no spark of their own.
    pub still_running: u16,
    /// Edges that came too early to be true.
    pub refused: u16,
    /// Edges that took the place of a false one before them.
    pub replaced: u16,
    /// Intervals too long to be one period.
    pub lost: u16,
    /// Of a reluctor, while cranking: pulses of which one flank was missing, or the two were too near to each other. A crossing
    /// that ends no whole pulse makes no spark. Where they are many, the signal is too weak at the speed of the starter.
    pub half_pulses: u16,
}

impl Counters {
    pub(super) const NONE: Self =
        Self { forced: 0, off_now: 0, still_running: 0, refused: 0, replaced: 0, lost: 0, half_pulses: 0 };

    pub(super) const fn forced(&mut self) {
        self.forced = self.forced.wrapping_add(1);
    }

    pub(super) const fn off_now(&mut self) {
        self.off_now = self.off_now.wrapping_add(1);
    }

    pub(super) const fn still_running(&mut self) {
        self.still_running = self.still_running.wrapping_add(1);
    }

    pub(super) const fn half_pulse(&mut self) {
        self.half_pulses = self.half_pulses.wrapping_add(1);
    }

    pub(super) const fn count(&mut self, heard: Heard) {
        match heard {
            Heard::Refused => self.refused = self.refused.wrapping_add(1),
            Heard::TakesPlace => self.replaced = self.replaced.wrapping_add(1),
            Heard::AfterLost | Heard::OrdersNothing => self.lost = self.lost.wrapping_add(1),
            Heard::Ignored | Heard::Started | Heard::FirstPeriod | Heard::Good => {}
        }
    }
}
