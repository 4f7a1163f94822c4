//! Every pulse of a trace, also those at no test point: whether it has its one spark, and whether that came where it may.
//!
//! Test points are judged by whole cycles at steady speed. What lies between them - the rest of a stretch, other speeds, changes of
//! speed - is judged here, pulse by pulse, from idle to the greatest speed. The speed of a pulse is the mean of the cycle before it
//! and the cycle after it. While it changes a right spark departs by what law B of the core states; so much is allowed besides.
//!
//! A flank that is lost or one too many moves or costs a spark, as the core's law C states, so the five good edges after it are not
//! judged; the flanks themselves are counted, and more of them than the plan makes do not pass.

use crate::record::bench::{Direction, EveryPulseResult, FindingKind};
use std::collections::VecDeque;

use bobweight::throttle_counts_as_closed;

use super::{Bench, TracedDepression};
use crate::proof::plan::{RAMP_SHARE, Step};
use crate::proof::source::trace::{Edge, Line, PICOSECOND_S};
use crate::proof::verdict::{Conditions, Finding, GOOD_EDGES, Setting, SingleSparks, error_in_words};
use crate::quantity::of_core::speed;
use crate::record::verdict::Verdict;

/// A pause after which the crank has stood, seconds: 30 crank rpm with one pulse in two turns.
const STOOD_S: f64 = 4.0;
/// By how much neighbouring intervals of an uneven pickup may differ, besides what the speed changes.
const UNEVEN: f64 = 0.15;
/// An interval longer than so many of the one before is no change of speed, whatever the acceleration: the core's own rule for a
/// good edge.
const LONGEST_RATIO: f64 = 1.75;
/// Speeds this far outside idle and greatest speed still count as these.
const AT_THE_ENDS: f64 = 0.02;

/// What every pulse of a trace came to.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct EveryPulse {
    /// Pulses judged.
    pub pulses: usize,
    /// Pulses without a spark.
    pub missing: usize,
    /// Sparks beyond one a pulse.
    pub extra: usize,
    /// Sparks one by one, against what may be while the speed changes.
    pub single: SingleSparks,
    /// Times at which flanks of the pickup were lost or too many.
    pub upsets: usize,
    /// So many of them the plan makes.
    pub planned_upsets: usize,
}

impl EveryPulse {
    /// The verdict on all of them. They stand in the place of the test points' own sparks, which are among them.
    pub fn verdict(&self) -> Verdict {
        if self.missing + self.extra > 0 || self.upsets > self.planned_upsets {
            return Verdict::Fail;
        }
        self.single.verdict()
    }

    /// What is wrong with them, in words; of a shaft that may have turned unevenly nothing by angles.
    pub fn findings(&self, by_turning: bool) -> Vec<Finding> {
        let Self { pulses, missing, extra, single, upsets, planned_upsets } = *self;
        let mut sentences = Vec::new();
        if upsets > planned_upsets {
            sentences.push(format!(
                "flanks of the pickup were lost or too many {upsets} times, and the plan makes {planned_upsets}: look at the pickup, \
                 its supply and its line, for an ignition sparks by its flanks"
            ));
        }
        if missing + extra > 0 {
            sentences.push(format!(
                "of {pulses} pulses from idle to the greatest speed {missing} have no spark, and {extra} sparks are too many: look for \
                 edges that the ignition refuses, for noise on the pickup line and for dwell that does not fit"
            ));
        }
        if single.verdict() == Verdict::Fail && !by_turning {
            sentences.push(format!(
                "{} of {} sparks came outside the tolerance, the worst {} beyond what the speed allows: look where in the trace the \
                 ignition strays, also between test points",
                single.outside,
                single.judged,
                error_in_words(single.worst)
            ));
        }
        let finding =
            |sentence| Finding { kind: FindingKind::EveryPulse, sentence, size: single.worst, or: Vec::new() };
        sentences.into_iter().map(finding).collect()
    }
}

/// So many regular intervals after an upset, or a start, everything has to be right.
fn settled() -> usize {
    usize::try_from(GOOD_EDGES).unwrap_or(usize::MAX)
}

/// A timing flank and how many regular intervals lie before it.
#[derive(Clone, Copy, Debug)]
struct Flank {
    at_s: f64,
    calm: usize,
}

/// Listens to a trace, edge by edge; what it keeps is two cycles.
pub(super) struct Audit<'b> {
    bench: &'b Bench<'b>,
    setting: &'b Setting,
    depression: TracedDepression,
    timing_rises: bool,
    flanks: VecDeque<Flank>,
    sparks: VecDeque<f64>,
    seen: EveryPulse,
    idle_crank_rpm: f64,
    greatest_crank_rpm: f64,
    greatest_kpa: f64,
    acceleration: f64,
}

impl<'b> Audit<'b> {
    pub fn new(bench: &'b Bench<'b>, setting: &'b Setting, timing_rises: bool, depression: TracedDepression) -> Self {
        let points = || bench.steps.iter().filter_map(Step::settled);
        let speeds = points().map(|point| point.speed_crank_rpm);
        let (idle, greatest) =
            speeds.fold((f64::INFINITY, 0.0_f64), |(low, high), speed| (low.min(speed), high.max(speed)));
        let planned_upsets = match depression {
            TracedDepression::AsPlanned => bench.steps.iter().filter(|step| step.upsets_at_least(idle)).count(),
            TracedDepression::Constant(_) => 0,
        };
        Self {
            bench,
            setting,
            depression,
            timing_rises,
            flanks: VecDeque::new(),
            sparks: VecDeque::new(),
            seen: EveryPulse { planned_upsets, ..EveryPulse::default() },
            idle_crank_rpm: idle * (1.0 - AT_THE_ENDS),
            greatest_crank_rpm: greatest * (1.0 + AT_THE_ENDS),
            greatest_kpa: points().map(|point| point.depression_kpa).fold(0.0, f64::max),
            acceleration: RAMP_SHARE * f64::from(bench.settings.pickup.settings().greatest_acceleration.bits()),
        }
    }

    pub fn hear(&mut self, edge: Edge) {
        #[expect(clippy::cast_precision_loss, reason = "a trace of hours is still known to far below a tick")]
        let at_s = edge.at_ps as f64 * PICOSECOND_S;
        match (edge.line, edge.rises) {
            (Line::Coil, false) => self.sparks.push_back(at_s),
            (Line::Pickup, rises) if rises == self.timing_rises => self.flank(at_s),
            _ => {}
        }
    }

    pub fn end(self) -> EveryPulse {
        self.seen
    }

    fn pulses(&self) -> usize {
        self.setting.pulses_in_two_turns
    }

    fn in_range(&self, crank_rpm: f64) -> bool {
        (self.idle_crank_rpm..=self.greatest_crank_rpm).contains(&crank_rpm)
    }

    fn flank(&mut self, at_s: f64) {
        let interval = |later: f64, earlier: f64| later - earlier;
        let count = self.flanks.len();
        let calm = match (count.checked_sub(1).and_then(|i| self.flanks.get(i)), count.checked_sub(2)) {
            (Some(last), _) if interval(at_s, last.at_s) > STOOD_S => 0,
            (Some(last), Some(before)) => {
                let (this, previous) = (interval(at_s, last.at_s), interval(last.at_s, self.flanks[before].at_s));
                self.calm_after(last.calm, this, previous)
            }
            _ => 0,
        };
        self.flanks.push_back(Flank { at_s, calm });
        let m = self.pulses();
        if self.flanks.len() > 2 * m + 3 {
            self.flanks.pop_front();
        }
        if self.flanks.len() == 2 * m + 3 {
            self.pulse();
        }
        let first = self.flanks.front().map_or(0.0, |flank| flank.at_s);
        while self.sparks.front().is_some_and(|spark| *spark < first) {
            self.sparks.pop_front();
        }
    }

    /// Regular intervals up to now; an irregular one at a running engine's speed is counted, once for all that follow from it.
    fn calm_after(&mut self, calm: usize, this_s: f64, previous_s: f64) -> usize {
        let crank_rpm = self.bench.pickup.spacing() / (6.0 * previous_s);
        let change = UNEVEN + self.acceleration * previous_s / crank_rpm;
        let longest = if change < 1.0 { (1.0 / (1.0 - change)).min(LONGEST_RATIO) } else { LONGEST_RATIO };
        let ratio = this_s / previous_s;
        if ratio <= longest && ratio >= 1.0 / (1.0 + change) {
            return calm + 1;
        }
        if calm >= settled() && self.in_range(crank_rpm) {
            self.seen.upsets += 1;
        }
        0
    }

    /// Judges the pulse in the middle of what is kept, whose sparks have all been heard.
    fn pulse(&mut self) {
        let m = self.pulses();
        let at = |index: usize| self.flanks[index];
        let (before, this, after) = (at(1), at(m + 1), at(2 * m + 1));
        // An upset after the pulse leaves its own spark alone only where it comes after it; one before needs five good edges.
        let regular = this.calm >= settled() + m && at(2 * m + 2).calm == this.calm + m + 1;
        let cycles = (this.at_s - before.at_s, after.at_s - this.at_s);
        let crank_rpm = 240.0 / (cycles.0 + cycles.1);
        // An engine that comes up from cranking is still timed by the cranking rules for a pulse or two.
        if !regular || ![cycles.0, cycles.1].iter().all(|cycle_s| self.in_range(120.0 / cycle_s)) {
            return;
        }
        let (latest_wanted, earliest_wanted) = self.wanted(crank_rpm);
        let (angle, spacing) = (self.bench.pickup.angle, self.bench.pickup.spacing());
        let degrees_a_second = 6.0 * crank_rpm;
        let middle = f64::midpoint(latest_wanted, earliest_wanted);
        let begin = this.at_s + (angle - middle - spacing / 2.0) / degrees_a_second;
        let end = begin + spacing / degrees_a_second;
        let own = self.sparks.iter().filter(|spark| (begin..end).contains(*spark));
        let advances: Vec<f64> = own.map(|spark| angle - degrees_a_second * (spark - this.at_s)).collect();
        self.seen.pulses += 1;
        self.seen.missing += usize::from(advances.is_empty());
        self.seen.extra += advances.len().saturating_sub(1);
        let conditions = Conditions {
            speed_crank_rpm: crank_rpm,
            depression_kpa: 0.0,
            direction: Direction::Rising,
            vacuum_advance: 0.0,
        };
        // By which share the speed changes in a pulse: of an interval against the same one of the cycle before, so that uneven
        // pulses are no change. The intervals on both sides count: the speed may turn round at this very flank.
        let interval = |end: usize| at(end).at_s - at(end - 1).at_s;
        #[expect(clippy::cast_precision_loss, reason = "at most 12 pulses")]
        let change = [m + 1, m + 2].map(|end| (1.0 - interval(end - m) / interval(end)).abs() / m as f64);
        #[expect(clippy::cast_precision_loss, reason = "at most 12 pulses")]
        let by_cycles = 2.0 * (cycles.0 - cycles.1).abs() / (cycles.0 + cycles.1) / m as f64;
        let change = change[0].max(change[1]).max(by_cycles);
        let share = (angle - middle) / spacing;
        // Law B with twice its room, since the speed of the spark is read off cycles: `P (1 + f)^2` a share of change in a pulse.
        let by_change = (spacing * (1.0 + share).powi(2) + 2.0 * self.setting.clock_slope(&conditions).abs()) * change;
        let allowed = self.setting.tolerance + self.setting.bound(&conditions).total() + by_change;
        for advance in advances {
            let error = match advance {
                early if early > earliest_wanted => early - earliest_wanted,
                late if late < latest_wanted => late - latest_wanted,
                _ => 0.0,
            };
            let outside = usize::from(error.abs() > allowed);
            let beyond = if outside > 0 { error } else { 0.0 };
            self.seen.single = self.seen.single.and(SingleSparks { judged: 1, outside, worst: beyond });
        }
    }

    /// The latest and the earliest angle that the curve wants at a speed, whatever of the vacuum is given already.
    fn wanted(&self, crank_rpm: f64) -> (f64, f64) {
        let idle = self.idle_crank_rpm / (1.0 - AT_THE_ENDS);
        let closed = throttle_counts_as_closed(speed(crank_rpm / (1.0 + AT_THE_ENDS)), speed(idle));
        let wanted = |kpa: f64, closed: bool| self.bench.wanted(crank_rpm, kpa, closed);
        let angles = match self.depression {
            TracedDepression::AsPlanned => vec![wanted(0.0, closed), wanted(self.greatest_kpa, false)],
            // Ported vacuum comes and goes with the throttle, and rises no faster than the ignition lets it.
            TracedDepression::Constant(kpa) if closed => vec![wanted(kpa, true), wanted(kpa, false)],
            TracedDepression::Constant(kpa) => vec![wanted(kpa, false)],
        };
        angles.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), angle| (low.min(*angle), high.max(*angle)))
    }
}

impl EveryPulseResult {
    /// Its counts, to be judged again.
    pub fn counted(&self) -> EveryPulse {
        let judged = self.pulses.saturating_sub(self.missing) + self.extra;
        let single = SingleSparks { judged, outside: self.outside, worst: self.worst_crank_degrees_early };
        let Self { pulses, missing, extra, upsets, planned_upsets, .. } = *self;
        EveryPulse { pulses, missing, extra, single, upsets, planned_upsets }
    }

    /// What was judged, as it is saved.
    pub fn of(every: &EveryPulse) -> Self {
        Self {
            pulses: every.pulses,
            missing: every.missing,
            extra: every.extra,
            outside: every.single.outside,
            worst_crank_degrees_early: every.single.worst,
            greatest_share: every.single.greatest_share(),
            upsets: every.upsets,
            planned_upsets: every.planned_upsets,
            verdict: every.verdict(),
        }
    }
}
