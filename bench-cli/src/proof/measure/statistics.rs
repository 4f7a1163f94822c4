//! The figures of one test point: mean error, scatter, pulses, dwell.
//!
//! The scatter comes from the means of whole cycles. Pulses that lie unevenly repeat in every cycle, so they leave the
//! cycle's mean alone; taken from single sparks they would pass for scatter and falsify every interval.

use super::{Measured, Pulse, Spark};

/// A scatter from fewer whole cycles is not trusted.
pub const LEAST_CYCLES: usize = 12;

/// Count, mean and standard deviation of some values.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Summary {
    /// How many.
    pub count: usize,
    /// Their mean; 0 of none.
    pub mean: f64,
    /// Their standard deviation with n - 1; 0 of fewer than two.
    pub standard_deviation: f64,
}

impl Summary {
    /// Mean and standard deviation (JCGM 100:2008, 4.2.1 and 4.2.2).
    #[expect(clippy::cast_precision_loss, reason = "counts of sparks")]
    pub fn of(values: &[f64]) -> Self {
        let count = values.len();
        if count == 0 {
            return Self::default();
        }
        let mean = values.iter().sum::<f64>() / count as f64;
        let squares: f64 = values.iter().map(|value| (value - mean).powi(2)).sum();
        let standard_deviation = if count < 2 { 0.0 } else { (squares / (count - 1) as f64).sqrt() };
        Self { count, mean, standard_deviation }
    }

    /// Standard uncertainty of the mean (JCGM 100:2008, 4.2.3); infinite of fewer than two.
    #[expect(clippy::cast_precision_loss, reason = "counts of sparks")]
    pub fn standard_uncertainty(&self) -> f64 {
        if self.count < 2 { f64::INFINITY } else { self.standard_deviation / (self.count as f64).sqrt() }
    }
}

/// One of the pulses of two turns: the error of its sparks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PulseStatistics {
    /// Which pulse of the two turns, from 0.
    pub in_cycle: usize,
    /// Error of its sparks, crank degrees, early positive.
    pub error: Summary,
}

/// On-time of the coil, seconds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DwellStatistics {
    /// Shortest.
    pub least_s: f64,
    /// Mean.
    pub mean_s: f64,
    /// Longest.
    pub greatest_s: f64,
}

/// The figures of one test point.
#[derive(Debug, Clone, PartialEq)]
pub struct PointStatistics {
    /// Mean and standard deviation of the *means of whole cycles*, crank degrees, early positive. Its count is n.
    pub cycle_means: Summary,
    /// Standard deviation of single sparks about their own pulse's mean, crank degrees.
    pub spark_scatter: f64,
    /// Greatest minus least mean of a pulse, crank degrees: how unevenly the pulses of two turns spark.
    pub pulse_spread: f64,
    /// Each pulse of the two turns.
    pub pulses: Vec<PulseStatistics>,
    /// Mean of the wanted angle, crank degrees BTDC.
    pub wanted: f64,
    /// Pulses measured.
    pub pulse_count: usize,
    /// Pulses without a spark.
    pub missing: usize,
    /// Sparks beyond one a pulse.
    pub extra: usize,
    /// On-time of the coil; none where no start was recorded.
    pub dwell: Option<DwellStatistics>,
}

impl Measured {
    /// The figures of this test point. A cycle that lacks a spark is left out of the cycle means: the mean of the
    /// others would carry the unevenness of the pulses.
    pub fn statistics(&self) -> PointStatistics {
        let cycle_means: Vec<f64> = self.cycles().filter_map(cycle_mean).collect();
        let pulses: Vec<PulseStatistics> = (0..self.pulses_in_two_turns)
            .map(|in_cycle| PulseStatistics { in_cycle, error: self.errors_of(in_cycle) })
            .collect();
        let wanted: Vec<f64> = self.sparks().map(|spark| spark.wanted).collect();
        PointStatistics {
            cycle_means: Summary::of(&cycle_means),
            spark_scatter: pooled(&pulses),
            pulse_spread: spread(&pulses),
            pulses,
            wanted: Summary::of(&wanted).mean,
            pulse_count: self.pulses.len(),
            missing: self.missing(),
            extra: self.extra(),
            dwell: dwell(self.sparks()),
        }
    }

    fn errors_of(&self, in_cycle: usize) -> Summary {
        let errors: Vec<f64> = self
            .pulses
            .iter()
            .filter(|pulse| pulse.in_cycle == in_cycle)
            .filter_map(|pulse| pulse.spark.as_ref().map(Spark::error))
            .collect();
        Summary::of(&errors)
    }
}

#[expect(clippy::cast_precision_loss, reason = "at most 12 pulses")]
fn cycle_mean(cycle: &[Pulse]) -> Option<f64> {
    let errors: Option<Vec<f64>> = cycle.iter().map(|pulse| pulse.spark.map(|spark| spark.error())).collect();
    errors.map(|errors| errors.iter().sum::<f64>() / errors.len() as f64)
}

/// Standard deviation about each pulse's own mean.
#[expect(clippy::cast_precision_loss, reason = "counts of sparks")]
fn pooled(pulses: &[PulseStatistics]) -> f64 {
    let (mut squares, mut freedom) = (0.0, 0.0);
    for PulseStatistics { error, .. } in pulses {
        let own = error.count.saturating_sub(1) as f64;
        squares += own * error.standard_deviation.powi(2);
        freedom += own;
    }
    if freedom > 0.0 { (squares / freedom).sqrt() } else { 0.0 }
}

fn spread(pulses: &[PulseStatistics]) -> f64 {
    let means = pulses.iter().filter(|pulse| pulse.error.count > 0).map(|pulse| pulse.error.mean);
    let greatest = means.clone().fold(f64::NEG_INFINITY, f64::max);
    let least = means.fold(f64::INFINITY, f64::min);
    (greatest - least).max(0.0)
}

fn dwell<'a>(sparks: impl Iterator<Item = &'a Spark>) -> Option<DwellStatistics> {
    let times: Vec<f64> = sparks.filter_map(|spark| spark.dwell_s).collect();
    (!times.is_empty()).then(|| DwellStatistics {
        least_s: times.iter().copied().fold(f64::INFINITY, f64::min),
        mean_s: Summary::of(&times).mean,
        greatest_s: times.iter().copied().fold(0.0, f64::max),
    })
}
