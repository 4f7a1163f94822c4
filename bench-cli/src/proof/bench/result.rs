//! From what was measured and judged to the lines of the result.

use crate::proof::measure::{DwellStatistics, Measured};
use crate::proof::verdict::{
    COVERAGE_FACTOR, CrankingVerdict, DisturbedVerdict, Estimate, Finding, JudgedPoint, RampVerdict, Regression,
    Setting, SingleSparks, Stated, error_in_words,
};
use crate::record::bench::{
    Bound, Counts, CrankingResult, Disturbance, DisturbedResult, DwellResult, EstimateResult, FindingResult,
    RampResult, RegressionResult, SingleSparksResult, TestPointResult, UncertaintyPart,
};
use crate::record::precision::{DEGREES, ESTIMATES, JUDGED_DEGREES, KPA, MILLISECONDS, RPM, SHARES, to_places};
use crate::record::verdict::Verdict;

/// The parts of a bound to their precision.
fn to_places_of(bound: &Bound) -> Bound {
    let to = |part: f64| to_places(part, JUDGED_DEGREES);
    Bound {
        core_crank_degrees: to(bound.core_crank_degrees),
        tick_bench_crank_degrees: to(bound.tick_bench_crank_degrees),
        tick_ignition_crank_degrees: to(bound.tick_ignition_crank_degrees),
        clocks_crank_degrees: to(bound.clocks_crank_degrees),
        vacuum_step_crank_degrees: to(bound.vacuum_step_crank_degrees),
    }
}

impl TestPointResult {
    /// A judged test point, with the verdict that [`crate::proof::verdict::judge_run`] gives it.
    pub fn new(point: &JudgedPoint, verdict: Verdict, setting: &Setting) -> Self {
        let (conditions, statistics) = (&point.measured.conditions, &point.measured.statistics);
        let bound_parts = to_places_of(&setting.bound(conditions));
        let means = &statistics.cycle_means;
        Self {
            speed_crank_rpm: to_places(conditions.speed_crank_rpm, RPM),
            depression_kpa: to_places(conditions.depression_kpa, KPA),
            direction: conditions.direction,
            wanted_crank_degrees: to_places(statistics.wanted, DEGREES),
            mean_error_crank_degrees_early: (means.count > 0).then_some(to_places(means.mean, JUDGED_DEGREES)),
            scatter_crank_degrees: to_places(statistics.spark_scatter, DEGREES),
            uncertainty_crank_degrees: (means.count > 1)
                .then(|| to_places(COVERAGE_FACTOR * means.standard_uncertainty(), JUDGED_DEGREES)),
            bound_crank_degrees: to_places(bound_parts.total(), JUDGED_DEGREES),
            bound_parts,
            pulse_spread_crank_degrees: to_places(statistics.pulse_spread, DEGREES),
            cycles: means.count,
            pulses: statistics.pulse_count,
            missing: statistics.missing,
            extra: statistics.extra,
            outside: point.single.outside,
            worst_spark_crank_degrees_early: (point.single.judged > 0)
                .then_some(to_places(point.single.worst, DEGREES)),
            dwell: statistics.dwell.as_ref().map(DwellResult::from),
            verdict,
        }
    }
}

impl SingleSparksResult {
    /// The sparks of all settled test points.
    pub fn new(single: &SingleSparks) -> Self {
        Self {
            judged: single.judged,
            outside: single.outside,
            greatest_share: single.greatest_share(),
            worst_crank_degrees_early: to_places(single.worst, DEGREES),
            verdict: single.verdict(),
        }
    }
}

impl From<&DwellStatistics> for DwellResult {
    fn from(dwell: &DwellStatistics) -> Self {
        Self {
            least_ms: to_places(dwell.least_s * 1e3, MILLISECONDS),
            mean_ms: to_places(dwell.mean_s * 1e3, MILLISECONDS),
            greatest_ms: to_places(dwell.greatest_s * 1e3, MILLISECONDS),
            ordered_ms: None,
            energy_mj: None,
        }
    }
}

impl From<&Regression> for RegressionResult {
    fn from(regression: &Regression) -> Self {
        let result = |estimate: &Option<Estimate>| estimate.as_ref().map(EstimateResult::from);
        Self {
            offset_crank_degrees_early: result(&regression.offset),
            lag_us: result(&regression.lag_us),
            up_against_down_crank_degrees: result(&regression.up_down),
            vacuum_shortfall_crank_degrees: result(&regression.vacuum_shortfall),
            not_told_apart: regression.not_told.iter().map(|cause| cause.words().to_owned()).collect(),
            reduced_chi_square: to_places(regression.reduced_chi_square(), SHARES),
        }
    }
}

impl From<&Estimate> for EstimateResult {
    fn from(estimate: &Estimate) -> Self {
        let part = |(name, standard_uncertainty): &(&str, f64)| UncertaintyPart {
            name: (*name).to_owned(),
            standard_uncertainty: to_places(*standard_uncertainty, ESTIMATES),
        };
        Self {
            value: to_places(estimate.value, ESTIMATES),
            expanded_uncertainty: to_places(estimate.expanded_uncertainty, ESTIMATES),
            by_scatter: Some(to_places(estimate.statistical, ESTIMATES)),
            bound: Some(to_places(estimate.bound, ESTIMATES)),
            parts: estimate.parts.iter().map(part).collect(),
        }
    }
}

impl Counts {
    /// Counts over settled test points, of so many planned.
    pub fn of(test_points: &[TestPointResult], planned_test_points: usize) -> Self {
        let with = |verdict| test_points.iter().filter(|point| point.verdict == verdict).count();
        Self {
            planned_test_points,
            passed: with(Verdict::Pass),
            failed: with(Verdict::Fail),
            undecided: with(Verdict::Undecided),
            pulses: test_points.iter().map(|point| point.pulses).sum(),
            missing: test_points.iter().map(|point| point.missing).sum(),
            extra: test_points.iter().map(|point| point.extra).sum(),
        }
    }
}

impl RampResult {
    /// A judged ramp.
    pub fn new(ramp: &RampVerdict, from_crank_rpm: f64, to_crank_rpm: f64, acceleration_crank_rpm_per_s: f64) -> Self {
        Self {
            from_crank_rpm,
            to_crank_rpm,
            acceleration_crank_rpm_per_s,
            mean_error_crank_degrees_early: to_places(ramp.mean_error, DEGREES),
            greatest_error_crank_degrees_early: to_places(ramp.greatest_error, JUDGED_DEGREES),
            at_crank_rpm: to_places(ramp.at_crank_rpm, RPM),
            scatter_crank_degrees: to_places(ramp.scatter, DEGREES),
            cycles: ramp.cycles,
            missing: ramp.missing,
            extra: ramp.extra,
            verdict: ramp.verdict,
        }
    }
}

impl CrankingResult {
    /// Cranking that was judged against the flank that the spark follows: a vane's second one, or a reluctor's zero crossing.
    pub fn from_flank(cranking: &CrankingVerdict, crossing: bool, speed_crank_rpm: f64, swing: f64) -> Self {
        let statement = if crossing {
            "judged against the pickup's zero crossing: not before it, not later than one ordered dwell after it"
        } else {
            "judged against the pickup's second flank: not before it, not later than one ordered dwell after it"
        };
        let measured = cranking.early_of_flank.is_finite();
        Self {
            speed_crank_rpm,
            swing,
            statement: statement.to_owned(),
            greatest_early_crank_degrees: measured.then_some(to_places(cranking.early_of_flank, DEGREES)),
            greatest_late_crank_degrees: measured.then_some(to_places(cranking.late_of_dwell, DEGREES)),
            pulses: cranking.pulses,
            missing: cranking.missing,
            extra: cranking.extra,
            verdict: cranking.verdict,
        }
    }
}

impl CrankingResult {
    /// Cranking that was judged against the timing flank, with the early angle that the swing makes.
    pub fn from_timing_flank(
        measured: &Measured,
        early_by_swing: f64,
        verdict: Verdict,
        speed_crank_rpm: f64,
        swing: f64,
    ) -> Self {
        let errors: Vec<f64> = measured.sparks().map(|spark| spark.error() - early_by_swing).collect();
        let greatest = |sign: f64| {
            let greatest = errors.iter().map(|error| sign * error).fold(f64::NEG_INFINITY, f64::max);
            greatest.is_finite().then_some(to_places(greatest, DEGREES))
        };
        let statement = if early_by_swing.abs() < 0.05 {
            "judged against the cranking advance".to_owned()
        } else {
            format!(
                "sparks come {} by the swing alone, since they are timed from the far edge at the mean speed; judged against that",
                error_in_words(early_by_swing)
            )
        };
        Self {
            speed_crank_rpm,
            swing,
            statement,
            greatest_early_crank_degrees: greatest(1.0),
            greatest_late_crank_degrees: greatest(-1.0),
            pulses: measured.pulses.len(),
            missing: measured.missing(),
            extra: measured.extra(),
            verdict,
        }
    }
}

impl DisturbedResult {
    /// A judged lost or false pulse.
    pub fn new(judged: &DisturbedVerdict, disturbance: Disturbance, speed_crank_rpm: f64, stated: Stated) -> Self {
        Self {
            disturbance,
            speed_crank_rpm,
            greatest_early_crank_degrees: to_places(judged.greatest_early, DEGREES),
            greatest_late_crank_degrees: to_places(judged.greatest_late, DEGREES),
            stated_early_crank_degrees: to_places(stated.early, DEGREES),
            stated_late_crank_degrees: to_places(stated.late, DEGREES),
            missing: judged.missing,
            extra: judged.extra,
            right_again: judged.right_again,
            confirmed: true,
            verdict: judged.verdict,
        }
    }

    /// A disturbance that the stimulator did not confirm: nothing is known of it.
    pub fn not_confirmed(disturbance: Disturbance, speed_crank_rpm: f64) -> Self {
        Self {
            disturbance,
            speed_crank_rpm,
            greatest_early_crank_degrees: 0.0,
            greatest_late_crank_degrees: 0.0,
            stated_early_crank_degrees: 0.0,
            stated_late_crank_degrees: 0.0,
            missing: 0,
            extra: 0,
            right_again: false,
            confirmed: false,
            verdict: Verdict::Undecided,
        }
    }
}

impl From<&Finding> for FindingResult {
    fn from(finding: &Finding) -> Self {
        Self { kind: finding.kind, sentence: finding.sentence.clone() }
    }
}
