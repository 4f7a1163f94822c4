//! The speed of a cranking engine, which swings within each pulse.

use bobweight_wire::SpeedRatio;

use crate::units::{divide, product, quotient, root};

/// Half a pulse at the greatest tick rate is below 2^51; finer by this many bits it still fits 64.
const MOST_FINER: u32 = 12;

/// A speed that is least at top dead centre and rises evenly in time to halfway between two of them, then falls.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Swing {
    pulse: u32,
    /// Speeds here are finer by this many bits, so that the roots of slow ones are right to a tick as well.
    finer: u32,
    least: u32,
    greatest: u32,
    /// Difference of the squares over half a pulse.
    rate: u64,
}

impl Swing {
    /// The mean of the least and the greatest speed is the mean over a pulse. `None` only for a speed beyond all limits.
    pub(crate) fn new(mean: u32, ratio: SpeedRatio, pulse: u32) -> Option<Self> {
        // The greatest is less than twice the mean, and the sum of two speeds stays below 2^32.
        let finer = mean.leading_zeros().checked_sub(2)?.min(MOST_FINER);
        let mean = mean << finer;
        let one = u32::from(SpeedRatio::PER_ONE);
        let (least, _) = divide(product(2 * one, mean), one + u32::from(ratio.0));
        let least = u32::try_from(least).ok()?;
        let greatest = (mean << 1).checked_sub(least)?;
        let half = pulse >> 1;
        let squares = product(greatest, greatest).checked_sub(product(least, least))?;
        let (rate, _) = divide(squares + u64::from(half >> 1), half);
        Some(Self { pulse, finer, least, greatest, rate })
    }

    pub(crate) fn greatest(&self) -> u32 {
        self.greatest >> self.finer
    }

    /// The square of the speed less than a pulse after top dead centre.
    pub(crate) fn squared(&self, since_top_dead_centre: u32) -> u64 {
        let near = since_top_dead_centre.min(self.pulse.saturating_sub(since_top_dead_centre));
        self.finely_squared(near) >> (2 * self.finer)
    }

    /// Time from a top dead centre to a place up to three pulses after it, in ticks with 32 bits of fraction. Every time is
    /// counted from there, so that nothing adds up from pulse to pulse.
    pub(crate) fn time(&self, tick_rate: u32, mut place: u32) -> u64 {
        let half = self.pulse / 2;
        let whole = self.time_to_centre(tick_rate, half, self.greatest).wrapping_mul(2);
        let mut time = 0_u64;
        while place >= self.pulse && self.pulse > 0 {
            place -= self.pulse;
            time = time.wrapping_add(whole);
        }
        let near = place.min(self.pulse - place);
        let part = self.time_to_centre(tick_rate, near, root(self.finely_squared(near)));
        // Falling mirrors rising.
        time.wrapping_add(if place <= half { part } else { whole.wrapping_sub(part) })
    }

    fn finely_squared(&self, near: u32) -> u64 {
        product(self.least, self.least) + self.rate * u64::from(near)
    }

    fn time_to_centre(&self, tick_rate: u32, distance: u32, speed: u32) -> u64 {
        let distance = product(distance, tick_rate) << self.finer;
        quotient(distance, self.least.wrapping_add(speed))
    }
}
