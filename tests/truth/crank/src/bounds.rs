//! How far a true spark may be from its order, in crank degrees: formulas with their derivations.
//!
//! Letters: m pulses in two turns, `P = 720 / m` degrees between them, T the last measured period in seconds, a the greatest
//! acceleration in crank rpm a second, `f = (pickup angle - advance) / P` the delay as a share of the period, N a speed in crank rpm.
//! With `A = 6 a` in degrees a second squared, `A T^2 = 6 a T^2` is the angle scale of everything that follows.

use crate::spacing;

/// The delay as a share of the period, f. Angles in crank degrees BTDC.
pub fn delay_share(pulses: u32, pickup_angle: f64, advance: f64) -> f64 {
    (pickup_angle - advance) / spacing(pulses)
}

/// Greatest departure of a spark timed by its edge, early or late, in crank degrees:
/// `(pickup angle - advance) (1 + f) / 2 * a m T^2 / 120`.
///
/// Over the measured period the mean speed is P/T, reached in its middle; with an acceleration of at most A, the speed at the
/// edge is within `A T / 2` of it. In the delay `f T` the crank then travels
/// `(P/T + A T / 2) f T + A (f T)^2 / 2 = f P + f (1 + f) / 2 * A T^2`. Ordered was `f P`. With
/// `f = (pickup angle - advance) m / 720` the rest is the formula. A steady acceleration reaches it: late when it rises, early when it falls.
pub fn timed_by_edge(pulses: u32, pickup_angle: f64, advance: f64, period: f64, acceleration: f64) -> f64 {
    let f = delay_share(pulses, pickup_angle, advance);
    (pickup_angle - advance) * (1.0 + f) / 2.0 * acceleration * f64::from(pulses) * period * period / 120.0
}

/// The same after one lost edge, where half the interval is taken for the period: `(2 + f) / 2` in place of `(1 + f) / 2`.
/// `half_interval` in seconds.
///
/// The mean speed now is that of an interval of 2 T, reached T before the edge, so the speed at the edge is within `A T`
/// of it: `(P/T + A T) f T + A (f T)^2 / 2 = f P + f (2 + f) / 2 * A T^2`.
pub fn after_lost_edge(pulses: u32, pickup_angle: f64, advance: f64, half_interval: f64, acceleration: f64) -> f64 {
    let f = delay_share(pulses, pickup_angle, advance);
    timed_by_edge(pulses, pickup_angle, advance, half_interval, acceleration) * (2.0 + f) / (1.0 + f)
}

/// How late a spark may come whose edge did not, in seconds: `largest dwell - dwell`.
///
/// Its dwell began with the off time set; nothing but its edge may move that, and no off time lies
/// more than the largest dwell after on. At N crank rpm it shows as 6 N times this.
pub fn late_without_edge(largest_dwell: f64, dwell: f64) -> f64 {
    largest_dwell - dwell
}

/// The latest and the earliest spark of cranking with the second flank, crank degrees BTDC:
/// from `flank - 6 N dwell` to the flank itself, N the fastest speed while the coil is charged.
///
/// Dwell begins at the flank, so no spark is before it, and the crank turns at most `6 N dwell` degrees meanwhile.
pub fn cranking_with_second_flank(second_flank_angle: f64, fastest: f64, dwell: f64) -> (f64, f64) {
    (second_flank_angle - 6.0 * fastest * dwell, second_flank_angle)
}

/// The shortest next period in seconds.
///
/// The speed at the edge is at most `w = P/T + A T / 2`; then `P = w t + A t^2 / 2`, solved for t.
pub fn shortest_next_period(pulses: u32, period: f64, acceleration: f64) -> f64 {
    let (p, a) = (spacing(pulses), 6.0 * acceleration);
    let w = p / period + a * period / 2.0;
    2.0 * p / (w + (w * w + 2.0 * a * p).sqrt())
}

/// The longest next period in seconds, `None` where the engine could stop or turn back before the next edge.
///
/// The speed at the edge is at least `w = P/T - A T / 2`; then `P = w t - A t^2 / 2`.
pub fn longest_next_period(pulses: u32, period: f64, acceleration: f64) -> Option<f64> {
    let (p, a) = (spacing(pulses), 6.0 * acceleration);
    let w = p / period - a * period / 2.0;
    let discriminant = w * w - 2.0 * a * p;
    (w > 0.0 && discriminant > 0.0).then(|| 2.0 * p / (w + discriminant.sqrt()))
}

/// When the next edge is good, in seconds after the last.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Window {
    /// Earlier is refused.
    pub lo: f64,
    /// Later means that an edge was lost.
    pub hi: f64,
}

impl Window {
    /// From the shortest to the longest next period, kept within 3/8 T and 7/4 T, then widened by T/128 and
    /// four times the spread of the pulses (crank degrees) at the speed of the last period.
    pub fn after(pulses: u32, period: f64, acceleration: f64, spread: f64) -> Self {
        let widening = period / 128.0 + 4.0 * spread / spacing(pulses) * period;
        let longest = longest_next_period(pulses, period, acceleration).unwrap_or(f64::INFINITY);
        Self {
            lo: shortest_next_period(pulses, period, acceleration).max(period * 3.0 / 8.0) - widening,
            hi: longest.min(period * 7.0 / 4.0) + widening,
        }
    }
}

/// How early one false edge inside the window can make one spark at steady speed, crank degrees:
/// `(1 + f) (1 - lo/T) P`; where `(1 + f) lo >= T`, less `6 N (largest dwell - dwell)` and not below 0.
///
/// A false edge x T after the last, x from lo/T to 1, is taken for the next and x T for the period, so its spark comes at
/// `(1 + f) x T` in place of `(1 + f) T`. If that is after the true edge, that edge takes the false one's place and moves the spark
/// back, as far as the largest dwell lets it.
pub fn false_edge_early_when_steady(pulses: u32, f: f64, period: f64, lo: f64, late_without_edge: f64) -> f64 {
    let p = spacing(pulses);
    let early = (1.0 + f) * (1.0 - lo / period) * p;
    if (1.0 + f) * lo >= period { (early - p / period * late_without_edge).max(0.0) } else { early }
}

/// How early one false edge can make one spark on any motion of the engine, crank degrees: `(1 + f) (hi - lo) / T * P`.
///
/// The false edge is no earlier than lo and the true one no later than hi, each with its spark `1 + f` times as far from the last
/// edge; P/T turns time into angle.
pub fn false_edge_early(pulses: u32, f: f64, period: f64, window: Window) -> f64 {
    (1.0 + f) * (window.hi - window.lo) / period * spacing(pulses)
}

/// How late one false edge can make one spark just after an edge that came `early` seconds early: crank degrees,
/// `1.5 (1 + f) early / T * P`.
///
/// A refused edge takes the last edge's place where the period before had put that: `early` after it, give or take half of
/// the last shortening, which is `early` too. So the edge that is taken lies up to 1.5 `early` after the one that
/// should count; the edge and the period move by that, and the spark by `1 + f` times that.
pub fn false_edge_late(pulses: u32, f: f64, period: f64, early: f64) -> f64 {
    1.5 * (1.0 + f) * early / period * spacing(pulses)
}

#[cfg(test)]
mod tests;
