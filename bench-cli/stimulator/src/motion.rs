//! How the crank moves: how long it takes from one place to the next.

use crate::swing::Swing;
use crate::units::{divide, product, quotient, root};

/// How the crank moves. Places, speeds and rates in the units of `units`; times in ticks with 32 bits of fraction.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Motion {
    /// A steady speed.
    Steady { speed: u32 },
    /// A speed that changes evenly in time until it reaches its target.
    Ramp { squared: u64, speed: u32, rate: u32, target: u32 },
    /// Cranking.
    Crank(Swing),
}

/// A pulse and its top dead centre, both counted from the nominal timing flank.
#[derive(Debug, Clone, Copy)]
pub(crate) struct PulsePlaces {
    pub(crate) pulse: u32,
    pub(crate) top_dead_centre: u32,
}

impl Motion {
    pub(crate) fn ramp(from: u32, target: u32, rate: u32) -> Self {
        Self::Ramp { squared: product(from, from), speed: from, rate, target }
    }

    /// The square of the speed at a place that lies so far after the nominal timing flank.
    pub(crate) fn squared_at(&self, after: i32, places: PulsePlaces) -> u64 {
        match *self {
            Self::Steady { speed } => product(speed, speed),
            Self::Ramp { squared, .. } => squared,
            Self::Crank(swing) => swing.squared(since_top_dead_centre(after, places)),
        }
    }

    /// Moves on by a distance; gives the time it takes, and whether a ramp reached its target on the way.
    #[inline(never)]
    pub(crate) fn advance(&mut self, tick_rate: u32, after: i32, distance: u32, places: PulsePlaces) -> (u64, bool) {
        match *self {
            Self::Steady { speed } => (time(tick_rate, distance, speed, speed), false),
            Self::Ramp { squared, speed, rate, target } => {
                self.advance_ramp(tick_rate, distance, squared, speed, rate, target)
            }
            Self::Crank(swing) => {
                let start = since_top_dead_centre(after, places);
                let time = swing.time(tick_rate, start + distance);
                (time.wrapping_sub(swing.time(tick_rate, start)), false)
            }
        }
    }

    #[inline(never)]
    fn advance_ramp(
        &mut self,
        tick_rate: u32,
        distance: u32,
        squared: u64,
        speed: u32,
        rate: u32,
        target: u32,
    ) -> (u64, bool) {
        let target_squared = product(target, target);
        let change = product(rate, distance);
        let to_go = squared.abs_diff(target_squared);
        if change < to_go {
            let squared = if target > speed { squared + change } else { squared - change };
            let next = root(squared);
            *self = Self::Ramp { squared, speed: next, rate, target };
            return (time(tick_rate, distance, speed, next), false);
        }
        // The target lies on the way: the distance up to it, to_go / rate, keeps its fraction, or a slow crank would be
        // ticks out.
        *self = Self::Steady { speed: target };
        let (whole, rest) = divide(to_go, rate);
        let (fraction, _) = divide(product(rest, tick_rate), rate);
        let ramped = whole.wrapping_mul(u64::from(tick_rate)).wrapping_add(fraction);
        let steady = product(distance, tick_rate).saturating_sub(ramped);
        let ramped = quotient(ramped, speed.wrapping_add(target));
        (ramped.wrapping_add(quotient(steady, target.wrapping_add(target))), true)
    }
}

/// The time to move by a distance while the speed changes evenly in time. The sum of two speeds is below 2^32.
#[inline(never)]
pub(crate) fn time(tick_rate: u32, distance: u32, from: u32, to: u32) -> u64 {
    quotient(product(distance, tick_rate), from.wrapping_add(to))
}

/// How far a place lies after the last top dead centre; it is less than one pulse.
fn since_top_dead_centre(after: i32, places: PulsePlaces) -> u32 {
    let mut place = after.wrapping_sub_unsigned(places.top_dead_centre);
    // A place lies within a pulse of its own timing flank: once or twice round at most.
    while place < 0 && places.pulse > 0 {
        place = place.saturating_add_unsigned(places.pulse);
    }
    let mut place = place.unsigned_abs();
    while place >= places.pulse && places.pulse > 0 {
        place -= places.pulse;
    }
    place
}
