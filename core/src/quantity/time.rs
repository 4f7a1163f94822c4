use super::quantity;
use fixed::types::U32F0;

quantity! {
    /// A length of time in nanoseconds.
    ///
    /// 0 to 2 s in steps of 1 ns. A count of a timer's ticks is a plain `u32`, never this.
    Duration(U32F0, u32), "time", "ns", 0, 2_000_000_000
}

quantity! {
    /// How many ticks a timer counts in a second.
    ///
    /// 1 kHz to 200 MHz in steps of 1 Hz.
    TickRate(U32F0, u32), "tick rate", "Hz", 1_000, 200_000_000
}

impl Duration {
    /// This many whole microseconds.
    ///
    /// # Errors
    /// [`super::OutOfRange`] above 2 s.
    pub const fn from_micros(micros: u32) -> Result<Self, super::OutOfRange> {
        match micros.checked_mul(1_000) {
            Some(nanos) => Self::from_bits(nanos),
            None => Self::from_bits(u32::MAX),
        }
    }

    /// This time in 1/65 536 of a tick, rounded down.
    pub(crate) const fn ticks_q16(self, rate: TickRate) -> u64 {
        // 2e9 x 2e8 is under 2^59; the quotient and rest are scaled apart so that no bit is lost.
        let product = self.bits() as u64 * rate.bits() as u64;
        ((product / 1_000_000_000) << 16) + ((product % 1_000_000_000) << 16) / 1_000_000_000
    }

    /// This time in whole ticks, rounded down.
    pub(crate) const fn ticks(self, rate: TickRate) -> u32 {
        (self.ticks_q16(rate) >> 16) as u32
    }

    /// This time in whole ticks, rounded up.
    #[must_use]
    pub const fn ticks_up(self, rate: TickRate) -> u32 {
        ((self.ticks_q16(rate) + 0xffff) >> 16) as u32
    }
}
