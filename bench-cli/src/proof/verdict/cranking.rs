//! The verdict on cranking.
//!
//! With a second flank dwell begins at that flank and the spark comes one dwell later, whatever the crank does meanwhile. So the
//! spark is judged on one side each: not before the flank, which could kick back, and not later than flank and ordered dwell. A
//! reluctor's spark comes at its zero crossing or up to a dwell later, and is judged in the same way against that.
//!
//! Without one the spark is timed from the far edge by the mean speed. Where the speed swings a right ignition sparks early by
//! an angle that the commanded motion tells; it is stated, and the ignition is judged against it.

use super::judge::{Conformity, Factors};
use super::setting::{Conditions, Setting};
use crate::proof::measure::{Event, EventKind, Measured, Motion, Pickup, Summary};
use crate::record::bench::Direction;
use crate::record::verdict::Verdict;

/// A stretch of cranking.
#[derive(Debug, Clone, Copy)]
pub struct CrankingRecord<'a> {
    /// The events in the order of time.
    pub events: &'a [Event],
    /// The flank that a spark follows: the second one, or a reluctor's zero crossing, which is its timing flank.
    pub flank: EventKind,
    /// Length of the stimulator's tick, seconds.
    pub tick_s: f64,
    /// Begin of the stretch, after the first fire.
    pub from_ticks: u64,
    /// End of the stretch.
    pub to_ticks: u64,
    /// Dwell that the sheet orders at the battery voltage of the bench, seconds.
    pub ordered_dwell_s: f64,
    /// Greatest speed of the commanded motion, crank rpm: it turns a time into the most degrees that it can be.
    pub fastest_crank_rpm: f64,
}

/// Cranking as it was measured and judged.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CrankingVerdict {
    /// The verdict.
    pub verdict: Verdict,
    /// Flanks judged.
    pub pulses: usize,
    /// Most that a spark came before its flank, crank degrees; negative where all came after it.
    pub early_of_flank: f64,
    /// Most that a spark came after flank and ordered dwell, crank degrees; negative where all came before.
    pub late_of_dwell: f64,
    /// Flanks without a spark.
    pub missing: usize,
    /// Sparks beyond one a flank.
    pub extra: usize,
}

/// Judges cranking sparks against the flank that they follow. A spark belongs to the flank that it lies nearest to in time. Early is
/// judged to the tick, spark by spark; late by the tolerance of the bench, their mean and each beyond its scatter.
pub fn judge_cranking(record: &CrankingRecord<'_>, setting: &Setting) -> CrankingVerdict {
    let times = |kind: EventKind| -> Vec<f64> {
        let events = record.events.iter().filter(|event| event.kind == kind);
        events.map(|event| seconds(event.at_ticks, record)).collect()
    };
    let (flanks, sparks) = (times(record.flank), times(EventKind::CoilOff));
    let end = seconds(record.to_ticks, record);
    let degrees = 6.0 * record.fastest_crank_rpm;
    let mut judged = CrankingVerdict {
        verdict: Verdict::Undecided,
        pulses: 0,
        early_of_flank: f64::NEG_INFINITY,
        late_of_dwell: f64::NEG_INFINITY,
        missing: 0,
        extra: 0,
    };
    let mut late = Vec::new();
    for neighbours in flanks.windows(3).filter(|flanks| flanks[0] >= 0.0 && flanks[2] <= end) {
        let [before, flank, after] = [neighbours[0], neighbours[1], neighbours[2]];
        let (from, to) = (f64::midpoint(before, flank), f64::midpoint(flank, after));
        let own: Vec<f64> = sparks.iter().copied().filter(|spark| (from..to).contains(spark)).collect();
        judged.pulses += 1;
        judged.missing += usize::from(own.is_empty());
        judged.extra += own.len().saturating_sub(1);
        for spark in own {
            late.push(degrees * (spark - flank - record.ordered_dwell_s));
            judged.early_of_flank = judged.early_of_flank.max(degrees * (flank - spark));
            judged.late_of_dwell = judged.late_of_dwell.max(degrees * (spark - flank - record.ordered_dwell_s));
        }
    }
    if judged.pulses > 0 {
        // Flank and spark are each cut to a tick.
        let early = judged.early_of_flank > degrees * record.tick_s;
        let clocks = degrees * record.ordered_dwell_s * setting.clock_tolerance;
        // What one spark may scatter is told by the others, by the median so that one late spark does not hide itself: the
        // median size of a normal departure is 0.6745 times its standard deviation.
        let middle = median(late.clone());
        let scatter = median(late.iter().map(|spark| (spark - middle).abs()).collect()) / 0.6745;
        let bound = clocks + degrees * record.tick_s;
        let each = Factors::new(late.len(), 1, late.len().max(1));
        let one_is_late = late
            .iter()
            .any(|&spark| each.conformity(spark.max(0.0), scatter, bound, setting.tolerance) == Conformity::Beyond);
        let late = Summary::of(&late);
        let factors = Factors::new(late.count, 1, 1);
        let conformity = factors.conformity(late.mean.max(0.0), late.standard_uncertainty(), bound, setting.tolerance);
        judged.verdict = match conformity {
            _ if early || one_is_late || judged.missing + judged.extra > 0 => Verdict::Fail,
            _ if late.count < 2 => Verdict::Undecided,
            Conformity::Within => Verdict::Pass,
            Conformity::Beyond => Verdict::Fail,
            Conformity::Open => Verdict::Undecided,
        };
    }
    judged
}

/// The median; 0 of nothing.
fn median(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    values.get(values.len() / 2).copied().unwrap_or(0.0)
}

/// Seconds since the stretch began, negative before.
#[expect(clippy::cast_precision_loss, reason = "differences inside one record are far below 2^52 ticks")]
fn seconds(at_ticks: u64, record: &CrankingRecord<'_>) -> f64 {
    let from = record.from_ticks;
    if at_ticks >= from {
        (at_ticks - from) as f64 * record.tick_s
    } else {
        -((from - at_ticks) as f64) * record.tick_s
    }
}

/// By how much a spark comes early, crank degrees, though it is timed rightly from the timing flank: the delay of the cranking
/// advance at the mean speed, gone through at the speed that the crank really has.
pub fn early_by_swing(mean_crank_rpm: f64, swing: f64, pickup: Pickup, cranking_advance: f64) -> f64 {
    let motion = Motion::cranking(mean_crank_rpm, swing, pickup, 0.0);
    let way = pickup.angle - cranking_advance;
    way - motion.turned(way / (6.0 * mean_crank_rpm))
}

/// Judges cranking sparks that are timed from the timing flank: whole cycles against the cranking advance and what the swing
/// makes of it, by the tolerance of the bench.
pub fn judge_cranking_without_second_flank(
    measured: &Measured,
    early_by_swing: f64,
    mean_crank_rpm: f64,
    setting: &Setting,
) -> Verdict {
    let statistics = measured.statistics();
    let means = statistics.cycle_means;
    if statistics.missing + statistics.extra > 0 {
        return Verdict::Fail;
    }
    let point = Conditions {
        speed_crank_rpm: mean_crank_rpm,
        depression_kpa: 0.0,
        direction: Direction::Rising,
        vacuum_advance: 0.0,
    };
    let bound = setting.bound(&point).total();
    let factors = Factors::new(means.count, 1, 1);
    match factors.conformity(means.mean - early_by_swing, means.standard_uncertainty(), bound, setting.tolerance) {
        _ if means.count < 2 => Verdict::Undecided,
        Conformity::Within => Verdict::Pass,
        Conformity::Beyond => Verdict::Fail,
        Conformity::Open => Verdict::Undecided,
    }
}
