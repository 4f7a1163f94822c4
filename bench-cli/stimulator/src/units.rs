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

/// `numerator / divisor` and the rest, one copy of it. A divisor of 0 gives ones throughout.
#[inline(never)]
pub(crate) fn divide(numerator: u64, divisor: u32) -> (u64, u32) {
    let (high, low) = halves(numerator);
    let (high, rest) = if high < divisor { (0, high) } else { long_division(0, high, divisor) };
    let (low, rest) = long_division(rest, low, divisor);
    ((u64::from(high) << 32) | u64::from(low), rest)
}

/// `numerator / divisor` with 32 bits of fraction.
#[inline(never)]
pub(crate) fn quotient(numerator: u64, divisor: u32) -> u64 {
    let (whole, rest) = divide(numerator, divisor);
    let (fraction, _) = long_division(rest, 0, divisor);
    whole.wrapping_shl(32) | u64::from(fraction)
}

fn halves(whole: u64) -> (u32, u32) {
    let [a, b, c, d, e, f, g, h] = whole.to_le_bytes();
    (u32::from_le_bytes([e, f, g, h]), u32::from_le_bytes([a, b, c, d]))
}

/// Goes on with a division that has left a rest, by 32 bits.
///
/// Bit by bit: the general division of 64 by 64 bits takes nearly three kilobytes of a small board's program. What is still to be
/// divided leaves at the top of the register that the quotient enters at the bottom: eight bytes to shift, where a board of
/// eight bits shifts one at a time.
#[inline(never)]
fn long_division(mut rest: u32, mut bits: u32, divisor: u32) -> (u32, u32) {
    // Counted in one byte, which a chip of eight bits does in a cycle.
    let mut left = 32_u8;
    while left != 0 {
        left -= 1;
        let carry = rest >> 31 != 0;
        rest = (rest << 1) | (bits >> 31);
        bits <<= 1;
        if carry || rest >= divisor {
            rest = rest.wrapping_sub(divisor);
            bits |= 1;
        }
    }
    (bits, rest)
}

/// The whole number nearest to the square root.
///
/// The upper half of it digit by digit, the lower half by one division: P. Zimmermann, "Karatsuba Square Root", INRIA report 3805 (1999)
/// (from memory). Digit by digit throughout takes a small board three times as long.
#[inline(never)]
pub(crate) fn root(square: u64) -> u32 {
    if square == 0 {
        return 0;
    }
    let (mut high, mut low) = halves(square);
    // The uppermost pair of bits must not be empty.
    let mut pairs = 0;
    while high >> 30 == 0 {
        high = (high << 2) | (low >> 30);
        low <<= 2;
        pairs += 1;
    }
    let (upper, rest) = root_of_half(high);
    // At most 2 x upper, so below 2^17: with sixteen bits more it fits 33 bits, and half of it 32.
    let [a, b, c, d] = low.to_le_bytes();
    let (low, next) = (u16::from_le_bytes([a, b]), u16::from_le_bytes([c, d]));
    let (lower, left) = long_division(0, (rest << 15) | u32::from(next >> 1), upper);
    // The lower half's square may be more than what is left: then it is one too much.
    let left = u64::from(left << 1 | u32::from(next & 1)) << 16 | u64::from(low);
    let mut root = (upper << 16).wrapping_add(lower);
    if left < product(lower, lower) {
        root = root.wrapping_sub(1);
    }
    // Without the pairs that were added at the end; and to the nearest.
    root = root.wrapping_shr(pairs);
    let rest = square - product(root, root);
    // (r + 1/2)^2 = r^2 + r + 1/4: a rest above r is nearer to r + 1.
    if rest > u64::from(root) { root.saturating_add(1) } else { root }
}

/// The root rounded down, and what is left.
fn root_of_half(square: u32) -> (u32, u32) {
    let mut rest = square;
    let mut doubled = 0_u32;
    let mut bit = 1_u32 << 30;
    while bit != 0 {
        let trial = doubled + bit;
        doubled >>= 1;
        if rest >= trial {
            rest -= trial;
            doubled += bit;
        }
        bit >>= 2;
    }
    (doubled, rest)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Against the language's own division.
    #[test]
    fn division_is_division() {
        let mut numerator = 1_u64;
        for step in 0..20_000_u32 {
            let divisor = (step.wrapping_mul(2_654_435_761) >> (step % 32)).max(1);
            let d = u64::from(divisor);
            let (quotient, rest) = divide(numerator, divisor);
            assert_eq!((quotient, u64::from(rest)), (numerator / d, numerator % d), "{numerator} / {divisor}");
            numerator = numerator.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1) >> (step % 3);
        }
        assert_eq!(divide(u64::MAX, u32::MAX), (0x1_0000_0001, 0));
        assert_eq!(quotient(3, 2), 3 << 31);
    }

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
