//! Units in which every pulse pattern and every motion is a whole number.
//!
//! A place on the crank is counted in 1/19 712 crank degree, so that two turns divide evenly into 1 to 12 pulses. With speeds in
//! 1/59 136 crank rpm, a crank that moves on by x while its speed changes evenly in time from v to w takes `x / (v + w)`
//! seconds, and with a rate a in 1/59 136 crank rpm per second `w^2 = v^2 + a x`: no factor is left that could round.

use bobweight_wire::{Acceleration, CrankAngle, CrankSpeed};

/// Steps of place in 1/256 crank degree.
const PER_ANGLE: i32 = 77;

/// Steps of speed in 1/256 crank rpm, and of rate likewise.
const PER_SPEED: u32 = 231;

/// Two crank turns: 2^12 x 3^2 x 5 x 7 x 11, which 1 to 12 divide, all twice.
pub(crate) const TWO_TURNS: u32 = 14_192_640;

/// One crank degree.
pub(crate) const DEGREE: u32 = 19_712;

/// The place of an angle; the caller has seen that it is within two turns, which fit.
pub(crate) const fn place(angle: CrankAngle) -> i32 {
    angle.0.wrapping_mul(PER_ANGLE)
}

/// A speed; the caller has seen that it is at most 20 000 crank rpm, which is below 2^31.
pub(crate) const fn speed(speed: CrankSpeed) -> u32 {
    speed.0.wrapping_mul(PER_SPEED)
}

/// A rate; the caller has seen that it is at most 60 000 crank rpm per second, which fits.
pub(crate) const fn rate(rate: Acceleration) -> u32 {
    rate.0.wrapping_mul(PER_SPEED)
}

/// The whole product. One copy of it: a chip of eight bits takes a hundred instructions for one.
#[inline(never)]
pub(crate) fn product(a: u32, b: u32) -> u64 {
    u64::from(a) * u64::from(b)
}

/// `numerator / divisor` as a whole number above the upper 32 bits and a fraction below. The divisor is below 2^32.
#[inline(never)]
pub(crate) fn quotient(numerator: u64, divisor: u64) -> u64 {
    let whole = numerator.checked_div(divisor).unwrap_or(u64::MAX);
    let rest = numerator.wrapping_sub(whole.wrapping_mul(divisor));
    // The rest is less than the divisor, so its shift loses no bit.
    whole.wrapping_shl(32).wrapping_add((rest << 32).checked_div(divisor).unwrap_or(0))
}

/// The whole number nearest to the square root.
#[inline(never)]
pub(crate) fn root(square: u64) -> u32 {
    let mut rest = square;
    let mut doubled = 0_u64;
    let mut bit = 1_u64 << 62;
    // Digit by digit: no division, and no table that would take memory.
    while bit != 0 {
        let trial = doubled + bit;
        doubled >>= 1;
        if rest >= trial {
            rest -= trial;
            doubled += bit;
        }
        bit >>= 2;
    }
    // (r + 1/2)^2 = r^2 + r + 1/4: a rest above r is nearer to r + 1.
    let nearest = if rest > doubled { doubled + 1 } else { doubled };
    u32::try_from(nearest).unwrap_or(u32::MAX)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_turns_divide_into_every_number_of_pulses_and_their_halves() {
        assert_eq!(TWO_TURNS, u32::try_from(place(CrankAngle::TWO_TURNS)).unwrap());
        assert_eq!(TWO_TURNS, 720 * DEGREE);
        for pulses in 1..=12 {
            assert_eq!(TWO_TURNS % (2 * pulses), 0, "{pulses} pulses");
        }
    }

    /// Against the standard library's integer root, rounded down.
    #[test]
    fn root_is_the_nearest_whole_number() {
        let mut square = 0_u64;
        while square < u64::MAX / 3 {
            for s in [square, square.saturating_sub(1), square + 1] {
                let down = s.isqrt();
                let up = u64::from(s - down * down > down);
                assert_eq!(u64::from(root(s)), down + up, "root of {s}");
            }
            square = square + square / 7 + 1;
        }
        assert_eq!(root(u64::MAX), u32::MAX, "4 294 967 296 does not fit and stays below");
        assert_eq!(root(1_182_720_000 * 1_182_720_000), 1_182_720_000, "20 000 crank rpm");
    }
}
