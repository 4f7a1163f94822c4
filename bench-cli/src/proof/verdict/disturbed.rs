//! The verdict on one lost or one false pulse at steady speed.
//!
//! Beside the disturbance the ignition may lose a spark, or move one by no more than it states. After five good edges
//! everything must be right again.

use super::judge::{Conformity, Factors};
use super::setting::{Conditions, Setting};
use crate::proof::measure::{Measured, Spark, Summary};
use crate::record::bench::Direction;
use crate::record::verdict::Verdict;

/// So many pulses after the disturbed one everything is right again.
pub const GOOD_EDGES: i64 = 5;
/// Pulses beside the disturbance that may lack their spark: its own, and the one before whose edge no dwell may begin.
const MAY_LACK: usize = 2;
/// Sparks that one disturbance may add.
const MAY_ADD: usize = 1;

/// By how much the ignition states that one disturbance moves a spark, crank degrees, both positive.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stated {
    /// Early: 0 for a lost pulse; for a false one what the rules for a good edge leave at this speed.
    pub early: f64,
    /// Late: the largest dwell less the dwell, at this speed, or more where the rules say so.
    pub late: f64,
}

/// One disturbed pulse as it was measured and judged; angles in crank degrees.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DisturbedVerdict {
    /// The verdict.
    pub verdict: Verdict,
    /// Earliest spark beside the disturbance, early positive; 0 where none is early.
    pub greatest_early: f64,
    /// Latest spark beside the disturbance, late positive; 0 where none is late.
    pub greatest_late: f64,
    /// Pulses that lack a spark beside the disturbance.
    pub missing: usize,
    /// Sparks beyond one a pulse beside the disturbance.
    pub extra: usize,
    /// Whether all sparks before it, and all from the fifth good edge after it, are within tolerance, one a pulse.
    pub right_again: bool,
}

/// Judges a record at steady speed in which pulse `disturbed` (its sequence number) was lost or followed by a false one.
pub fn judge_disturbed(
    measured: &Measured,
    disturbed: i64,
    stated: Stated,
    speed_crank_rpm: f64,
    setting: &Setting,
) -> DisturbedVerdict {
    let beside = |sequence: i64| (disturbed..=disturbed + GOOD_EDGES).contains(&sequence);
    let calm: Vec<f64> = measured
        .pulses
        .iter()
        .filter(|pulse| !beside(pulse.sequence))
        .filter_map(|pulse| pulse.spark.as_ref().map(Spark::error))
        .collect();
    let scatter = Summary::of(&calm).standard_deviation;
    let point = Conditions { speed_crank_rpm, depression_kpa: 0.0, direction: Direction::Rising, vacuum_advance: 0.0 };
    let bound = setting.bound(&point).total();
    let factors = Factors::new(calm.len(), 1, measured.pulses.len().max(1));
    let beyond = |error: f64, allowed: f64| {
        factors.conformity(error, scatter, bound, setting.tolerance + allowed) == Conformity::Beyond
    };
    let right_again = measured
        .pulses
        .iter()
        .filter(|pulse| !beside(pulse.sequence))
        .all(|pulse| pulse.extra.is_empty() && pulse.spark.is_some_and(|spark| !beyond(spark.error(), 0.0)));
    #[expect(clippy::cast_precision_loss, reason = "at most 12 pulses")]
    let spacing = 720.0 / measured.pulses_in_two_turns.max(1) as f64;
    let (mut greatest_early, mut greatest_late, mut missing, mut extra) = (0.0_f64, 0.0_f64, 0, 0);
    let mut lacking = false;
    for pulse in measured.pulses.iter().filter(|pulse| beside(pulse.sequence)) {
        missing += usize::from(pulse.spark.is_none());
        extra += pulse.extra.len();
        for error in pulse.spark.iter().chain(&pulse.extra).map(Spark::error) {
            // After a pulse without a spark this may be that pulse's, late by more than half the way to this one.
            let late_of_last = spacing - error;
            if lacking && error > 0.0 && !beyond(late_of_last, stated.late) {
                greatest_late = greatest_late.max(late_of_last);
            } else {
                greatest_early = greatest_early.max(error);
                greatest_late = greatest_late.max(-error);
            }
        }
        lacking = pulse.spark.is_none();
    }
    let verdict = match () {
        () if calm.len() < 2 => Verdict::Undecided,
        () if !right_again || missing > MAY_LACK || extra > MAY_ADD => Verdict::Fail,
        () if beyond(greatest_early, stated.early) || beyond(greatest_late, stated.late) => Verdict::Fail,
        () => Verdict::Pass,
    };
    DisturbedVerdict { verdict, greatest_early, greatest_late, missing, extra, right_again }
}
