//! How far the crank turns in a share of a compression's time while a starter drags it over that compression.
//!
//! The speed swings by r to 1 by angle, `c (1 - e cos x)` with x a whole turn in a pulse and `e = (r - 1)/(r + 1)`. Its time is
//! `2 / sqrt(1 - e^2) atan(sqrt(r) tan(x/2)) / c`, of which a pulse takes `2 pi / sqrt(1 - e^2) / c` (the integral is in any table). In the share f of
//! a pulse's time the crank turns the least where its slowest place lies in the middle: `2/pi atan(tan(pi f/2) / sqrt(r))` of a
//! pulse; the most where its fastest does, with `sqrt(r)` the other way. That the speed swings by 3 to 1 in good compression, and with this shape, is
//! common practice, no source.

use crate::quantity::Swing;

/// atan(2^-i) in 1/2^32 of a turn, i from 0 on (worked out in double precision).
const ARCTANGENTS: [i64; 28] = [
    536_870_912,
    316_933_406,
    167_458_907,
    85_004_756,
    42_667_331,
    21_354_465,
    10_679_838,
    5_340_245,
    2_670_163,
    1_335_087,
    667_544,
    333_772,
    166_886,
    83_443,
    41_722,
    20_861,
    10_430,
    5_215,
    2_608,
    1_304,
    652,
    326,
    163,
    81,
    41,
    20,
    10,
    5,
];

/// What 28 rotations stretch, the other way, in 1/2^30.
const SHRUNK: i64 = 652_032_874;

/// The least and the greatest share of a pulse that the crank turns in a share of a pulse's mean time, at most all of it; all in 1/2^32,
/// within 512 of the formula and outside it.
#[must_use]
#[inline(never)]
pub const fn turned_while_cranking(time_q32: u32, swing: Swing) -> [i64; 2] {
    // pi f / 2 is f / 4 of a turn.
    let (cosine, sine) = rotated(time_q32 as i64 / 4);
    // 8 and 24 places make 2^16 of the root, and 16 more are kept.
    let root_q24 = ((swing.bits() as u64) << 40).isqrt() as i64;
    let least = arctangent(sine, (cosine * root_q24) >> 24);
    let most = arctangent((sine * root_q24) >> 24, cosine);
    // What 28 rotations round.
    let least = 4 * least - 256;
    [if least < 0 { 0 } else { least }, 4 * most + 256]
}

/// The root of the swing in 1/65 536, rounded up: how much faster than its mean speed the crank is at its fastest.
pub(super) const fn fastest_over_mean_q16(swing: Swing) -> i64 {
    ((swing.bits() as u64) << 24).isqrt() as i64 + 1
}

/// Cosine and sine in 1/2^30 of an angle in 1/2^32 of a turn, 0 to a quarter.
const fn rotated(turn_q32: i64) -> (i64, i64) {
    let (mut x, mut y, mut left) = (SHRUNK, 0, turn_q32);
    let mut angles: &[i64] = &ARCTANGENTS;
    let mut i = 0;
    while let [angle, others @ ..] = angles {
        let (dx, dy) = (y >> i, x >> i);
        if left >= 0 {
            (x, y, left) = (x - dx, y + dy, left - *angle);
        } else {
            (x, y, left) = (x + dx, y - dy, left + *angle);
        }
        angles = others;
        i += 1;
    }
    (if x < 0 { 0 } else { x }, if y < 0 { 0 } else { y })
}

/// The angle of a point of the first quarter, in 1/2^32 of a turn.
const fn arctangent(y: i64, x: i64) -> i64 {
    let (mut x, mut y, mut sum) = (x, y, 0);
    let mut angles: &[i64] = &ARCTANGENTS;
    let mut i = 0;
    while let [angle, others @ ..] = angles {
        let (dx, dy) = (y >> i, x >> i);
        if y > 0 {
            (x, y, sum) = (x + dx, y - dy, sum + *angle);
        } else {
            (x, y, sum) = (x - dx, y + dy, sum - *angle);
        }
        angles = others;
        i += 1;
    }
    if sum < 0 { 0 } else { sum }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The closed form in `f64`. It is itself held to the speed gone through in small steps, in the tests of the tool.
    #[test]
    fn the_share_is_that_of_the_closed_form() {
        use std::f64::consts::{FRAC_2_PI, FRAC_PI_2};
        extern crate std;
        for swing_bits in [256, 300, 512, 768, 1024, 4096] {
            let swing = Swing::from_bits(swing_bits).unwrap();
            let root = (f64::from(swing_bits) / 256.0).sqrt();
            for time_q32 in (0..u32::MAX).step_by(3_000_017) {
                let tangent = (FRAC_PI_2 * f64::from(time_q32) / 4_294_967_296.0).tan();
                let exact =
                    [tangent / root, tangent * root].map(|tangent| FRAC_2_PI * tangent.atan() * 4_294_967_296.0);
                #[allow(clippy::cast_precision_loss)]
                let found = turned_while_cranking(time_q32, swing).map(|share| share as f64);
                let [early, late] = [exact[0] - found[0], found[1] - exact[1]];
                assert!(
                    (0.0..=512.0).contains(&late) && (found[0] == 0.0 || (0.0..=512.0).contains(&early)),
                    "{time_q32} {root}: {early} {late}"
                );
            }
        }
    }
}
