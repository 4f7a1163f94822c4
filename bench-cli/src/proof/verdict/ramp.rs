//! The verdict on a ramp: constant acceleration from one speed to another.

use super::judge::{Conformity, Factors};
use super::setting::{Conditions, Setting};
use crate::proof::measure::{Measured, Pulse, Spark, Summary};
use crate::record::bench::Direction;
use crate::record::verdict::Verdict;

/// Fewer whole cycles do not tell their scatter.
const LEAST_CYCLES: usize = 4;

/// A ramp as it was measured and judged; angles in crank degrees, early positive.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RampVerdict {
    /// By the sheet's tolerance for ramps.
    pub verdict: Verdict,
    /// Mean error of all whole cycles.
    pub mean_error: f64,
    /// The cycle mean that is furthest off.
    pub greatest_error: f64,
    /// At which speed that was, crank rpm.
    pub at_crank_rpm: f64,
    /// Standard deviation of the cycle means about their own course.
    pub scatter: f64,
    /// Whole cycles judged.
    pub cycles: usize,
    /// Pulses without a spark.
    pub missing: usize,
    /// Sparks beyond one a pulse.
    pub extra: usize,
}

/// Judges a ramp at no depression. Every whole cycle is judged by itself, since the error of a right ignition changes along
/// the ramp: it uses the last period, and so sparks late while the speed rises.
pub fn judge_ramp(measured: &Measured, direction: Direction, setting: &Setting) -> RampVerdict {
    let cycles: Vec<(f64, f64)> = measured.cycles().filter_map(cycle).collect();
    let errors: Vec<f64> = cycles.iter().map(|(_, error)| *error).collect();
    let scatter = scatter(&errors);
    // A median of differences tells a scatter about as well as a quarter as many values would.
    let factors = Factors::new(1 + errors.len() / 4, 1, errors.len().max(1));
    let judged = cycles.iter().map(|&(speed_crank_rpm, error)| {
        let point = Conditions { speed_crank_rpm, depression_kpa: 0.0, direction, vacuum_advance: 0.0 };
        let bound = setting.bound(&point).total();
        match factors.conformity(error, scatter, bound, setting.tolerance_ramp) {
            Conformity::Within => Verdict::Pass,
            Conformity::Beyond => Verdict::Fail,
            Conformity::Open => Verdict::Undecided,
        }
    });
    let (missing, extra) = (measured.missing(), measured.extra());
    let verdict = match () {
        () if missing + extra > 0 => Verdict::Fail,
        () if errors.len() < LEAST_CYCLES => Verdict::Undecided,
        () => Verdict::of_all(judged),
    };
    let (at_crank_rpm, greatest_error) =
        cycles.iter().copied().max_by(|a, b| a.1.abs().total_cmp(&b.1.abs())).unwrap_or((0.0, 0.0));
    let mean_error = Summary::of(&errors).mean;
    RampVerdict { verdict, mean_error, greatest_error, at_crank_rpm, scatter, cycles: errors.len(), missing, extra }
}

/// Mean speed and mean error of a cycle that has all its sparks.
fn cycle(pulses: &[Pulse]) -> Option<(f64, f64)> {
    let sparks: Vec<Spark> = pulses.iter().map(|pulse| pulse.spark).collect::<Option<_>>()?;
    let speeds: Vec<f64> = sparks.iter().map(|spark| spark.speed_crank_rpm).collect();
    let errors: Vec<f64> = sparks.iter().map(Spark::error).collect();
    Some((Summary::of(&speeds).mean, Summary::of(&errors).mean))
}

/// Standard deviation from the differences of neighbours: an error that changes along the ramp is no scatter. Their median,
/// so that one jump is none either. The median size of a normal difference is 0.6745 times its standard deviation, which is
/// the root of 2 times that of a value.
fn scatter(errors: &[f64]) -> f64 {
    let mut differences: Vec<f64> = errors.windows(2).map(|pair| (pair[1] - pair[0]).abs()).collect();
    differences.sort_by(f64::total_cmp);
    let median = differences.get(differences.len() / 2).copied().unwrap_or(0.0);
    median / (0.6745 * 2.0_f64.sqrt())
}
