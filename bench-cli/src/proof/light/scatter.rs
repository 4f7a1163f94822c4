//! How much an eye scatters, learnt from the readings, and intervals that own up to not knowing it.
//!
//! Every scatter from [`LEAST`] to [`GREATEST`] is possible and equally so, with a hump at the usual eye that is worth eight times as much again
//! there. The hump narrows what few readings of a usual eye say, and lets go of an eye that scatters more: nothing but the readings
//! decides then. (A belief that weighs a fixed number of readings holds a bad eye down however it reads. One that is even in the
//! logarithm takes readings that happen to agree for a good eye, and whoever is led stops at just those.) What is turned is told
//! without the hump, evenly in the logarithm, by far wider intervals. Fewest assumptions and no source; the shares of truths inside
//! the intervals are counted in `tests/job/study`.

use crate::record::interval::Interval;
use statrs::distribution::{ContinuousCDF, Normal, StudentsT};

/// Standard deviation of a reading by a usual eye, crank degrees.
pub(super) const USUAL: f64 = 0.5;
/// How far from usual the hump reaches, in the logarithm.
const HUMP: f64 = 0.3;
/// What the hump adds at the usual eye, as a multiple of what every scatter is believed.
const HUMP_HEIGHT: f64 = 8.0;
/// Whole degrees alone scatter by 0.29, the root of a twelfth (JCGM 100:2008, 4.3.7).
const LEAST: f64 = 0.25;
/// Nobody reads worse and goes on.
const GREATEST: f64 = 6.0;
/// Steps between the two. The interval moves by less than a hundredth where they are doubled.
const STEPS: u32 = 24;

/// Each scatter, crank degrees, with the logarithm of how much it is believed before any reading: with the hump, or without it where
/// something is to be turned by what follows.
pub(super) fn believed(usual: bool) -> impl Iterator<Item = (f64, f64)> {
    let (least, greatest) = (LEAST.ln(), GREATEST.ln());
    (0..=STEPS).map(move |step| {
        let logarithm = least + (greatest - least) * f64::from(step) / f64::from(STEPS);
        let away = (logarithm - USUAL.ln()) / HUMP;
        let hump = HUMP_HEIGHT * (-away * away / 2.0).exp();
        (logarithm.exp(), if usual { hump.ln_1p() + logarithm } else { 0.0 })
    })
}

/// Weights that sum to 1, from their logarithms.
pub(super) fn weights(logarithms: &[f64]) -> Vec<f64> {
    let greatest = logarithms.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let weights: Vec<f64> = logarithms.iter().map(|logarithm| (logarithm - greatest).exp()).collect();
    let sum: f64 = weights.iter().sum();
    weights.into_iter().map(|weight| weight / sum).collect()
}

/// The scatter in the middle of weighted ones, by the mean of their logarithms.
pub(super) fn middle(weighted: impl Iterator<Item = (f64, f64)>) -> f64 {
    weighted.map(|(weight, scatter)| weight * scatter.ln()).sum::<f64>().exp()
}

/// The scatters that readings leave possible, which scatter about the means of their places by so great a sum of squares with so many
/// degrees of freedom: weights and scatters. No eye is taken for usual here.
pub(super) fn learnt(squares: f64, freedom: f64) -> Vec<(f64, f64)> {
    let (scatters, logarithms): (Vec<f64>, Vec<f64>) = believed(false)
        .map(|(scatter, believed)| (scatter, believed - freedom * scatter.ln() - squares / (2.0 * scatter * scatter)))
        .unzip();
    weights(&logarithms).into_iter().zip(scatters).collect()
}

/// A mixture of normal distributions.
pub(super) struct Mixture(Vec<(f64, f64, f64)>);

impl Mixture {
    /// Of weights that sum to 1, means and standard deviations.
    pub(super) fn new(parts: impl Iterator<Item = (f64, f64, f64)>) -> Self {
        Self(parts.collect())
    }

    /// Its mean, and the interval that leaves equally much out on either side.
    pub(super) fn interval(&self, coverage: f64) -> Interval {
        let value = self.0.iter().map(|(weight, mean, _)| weight * mean).sum();
        let outside = (1.0 - coverage) / 2.0;
        Interval { value, low: self.quantile(outside), high: self.quantile(1.0 - outside) }
    }

    fn quantile(&self, probability: f64) -> f64 {
        let Ok(normal) = Normal::new(0.0, 1.0) else { return f64::NAN };
        // Eight standard deviations hold all but one in 10^15.
        let reach = |sign: f64| self.0.iter().map(move |(_, mean, deviation)| mean + sign * 8.0 * deviation);
        let mut low = reach(-1.0).fold(f64::INFINITY, f64::min);
        let mut high = reach(1.0).fold(f64::NEG_INFINITY, f64::max);
        for _ in 0..60 {
            let middle = f64::midpoint(low, high);
            let below = |(weight, mean, deviation): &(f64, f64, f64)| {
                weight * normal.cdf((middle - mean) / deviation.max(f64::MIN_POSITIVE))
            };
            if self.0.iter().map(below).sum::<f64>() < probability {
                low = middle;
            } else {
                high = middle;
            }
        }
        f64::midpoint(low, high)
    }
}

/// Student's t on both sides of the mean, with so many degrees of freedom and so much inside.
pub(crate) fn student(freedom: f64, coverage: f64) -> Option<f64> {
    Some(StudentsT::new(0.0, 1.0, freedom).ok()?.inverse_cdf(0.5 + coverage / 2.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Without a hump and without ends the interval of a mean is Student's t (Gelman and others, Bayesian Data Analysis, from memory);
    /// a scatter far from usual and from either end knows neither.
    #[test]
    fn without_a_hump_the_interval_is_students() {
        for (freedom, scatter) in [(6.0, 2.0), (12.0, 2.0), (17.0, 1.5)] {
            let nodes = learnt(freedom * scatter * scatter, freedom);
            let interval = Mixture::new(nodes.into_iter().map(|(weight, s)| (weight, 0.0, s))).interval(0.95);
            let wanted = scatter * student(freedom, 0.95).expect("a quantile");
            assert!((interval.half_width() / wanted - 1.0).abs() < 0.03, "{interval:?} {wanted}");
        }
    }

    #[test]
    fn one_reading_tells_nothing_of_the_eye() {
        let interval = Mixture::new(learnt(0.0, 0.0).into_iter().map(|(weight, s)| (weight, 0.0, s))).interval(0.95);
        assert!(interval.half_width() > 3.0, "{interval:?}");
    }
}
