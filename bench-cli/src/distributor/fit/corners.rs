//! Corners that too few readings surround, and the speed that would tell most of each.

use super::curve::Curve;
use super::draws::Draw;
use super::summary::Estimate;

/// A corner is known well enough while its half-width times the change of slope is at most so many crank degrees.
const WIDEST_DEGREES: f64 = 1.3;
/// Speeds to read are told in steps of a tachometer's mark, crank rpm.
const SPEED_STEP: f64 = 50.0;

/// A breakpoint whose speed the readings leave open.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WideCorner {
    /// Which breakpoint, from 0.
    pub knot: usize,
    /// The angle that its uncertainty is worth: half-width times change of slope, crank degrees.
    pub worth_degrees: f64,
    /// The speed at which a reading would tell most of it, crank rpm.
    pub read_next: f64,
}

pub(super) fn wide_corners(found: &Curve, knots: &[Estimate], draws: &[Draw]) -> Vec<WideCorner> {
    let corner = |(knot, speed): (usize, &Estimate)| {
        let worth_degrees = speed.half_width() * found.change_of_slope(knot).abs();
        (worth_degrees > WIDEST_DEGREES).then(|| WideCorner {
            knot,
            worth_degrees,
            read_next: best_speed(knot, speed, draws),
        })
    };
    knots.iter().enumerate().filter_map(corner).collect()
}

/// The speed whose reading takes most from the variance of the knot: cov(knot, f)^2 / (var f + s^2) is greatest.
fn best_speed(knot: usize, interval: &Estimate, draws: &[Draw]) -> f64 {
    let first = (interval.low / SPEED_STEP).ceil();
    let gain = |speed: f64| {
        let pairs: Vec<_> =
            draws.iter().map(|draw| (draw.ramps.breakpoints()[knot][0], draw.curve.at(speed))).collect();
        let (covariance, variance) = covariance_and_variance(&pairs);
        let scatter = draws.iter().map(|draw| draw.scatter * draw.scatter).sum::<f64>() / length(draws);
        covariance * covariance / (variance + scatter)
    };
    let speeds = (0..).map(|step| (first + f64::from(step)) * SPEED_STEP).take_while(|&speed| speed <= interval.high);
    let gains = speeds.map(|speed| (speed, gain(speed)));
    gains.max_by(|one, other| one.1.total_cmp(&other.1)).map_or(interval.value, |(speed, _)| speed)
}

/// Of pairs: the covariance, and the variance of the second.
fn covariance_and_variance(pairs: &[(f64, f64)]) -> (f64, f64) {
    let count = length(pairs);
    let mean = |part: fn(&(f64, f64)) -> f64| pairs.iter().map(part).sum::<f64>() / count;
    let (first, second) = (mean(|pair| pair.0), mean(|pair| pair.1));
    let covariance = pairs.iter().map(|pair| (pair.0 - first) * (pair.1 - second)).sum::<f64>() / count;
    let variance = pairs.iter().map(|pair| (pair.1 - second).powi(2)).sum::<f64>() / count;
    (covariance, variance)
}

#[expect(clippy::cast_precision_loss, reason = "a few thousand draws")]
fn length<T>(items: &[T]) -> f64 {
    items.len() as f64
}
