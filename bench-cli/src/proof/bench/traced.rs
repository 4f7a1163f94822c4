//! The same judgement from a trace: which test points of the plan it covers, and how they come out.
//!
//! A trace commands nothing. What it proves is what somebody drove while it was recorded; everything else is named.

use super::evenness::Evenness;
use super::every_pulse::Audit;
use super::{Bench, BenchError, Measurements, Watcher};
use crate::proof::measure::{Measured, Motion, Recording, measure};
use crate::proof::plan::{Step, TestPoint};
use crate::proof::source::trace::{Block, Heard, Listener, PICOSECOND_S, SteadySpeed, Trace};
use crate::proof::verdict::{
    Conditions, Decision, Judge, JudgedPoint, MeasuredPoint, PointJudge, Setting, SingleSparks, judge_run,
};
use crate::record::bench::Direction;

/// A stretch is at a test point's speed where it lies within this share of it: the curve is taken at the speed that was turned.
const SAME_SPEED: f64 = 0.01;
/// Two depressions are one where they lie no further apart, kPa.
const SAME_KPA: f64 = 0.5;
/// A block has cycles at either end whose windows reach outside.
const MARGIN_CYCLES: usize = 2;

/// The depression in the manifold while a trace was recorded. A trace does not hold it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum TracedDepression {
    /// One and the same, kPa.
    Constant(f64),
    /// As the plan has it, test point after test point, because `bench` drove it.
    AsPlanned,
}

/// A depression that somebody read off a gauge is known within so much, kPa. Common practice, no source: a needle that stands at 0 with the
/// hose off, read to a third of an inch of mercury.
const GAUGE_WITHIN_KPA: f64 = 1.0;
/// One that `bench` gave to a sensor is known within so much, kPa: its output has steps, which a trace does not tell.
const DRIVEN_WITHIN_KPA: f64 = 0.05;

impl TracedDepression {
    /// How well it is known, as a step of twice as much, kPa. An open hose has none to be wrong about.
    pub fn step_kpa(self) -> f64 {
        match self {
            Self::Constant(kpa) if kpa > 0.0 => 2.0 * GAUGE_WITHIN_KPA,
            Self::Constant(_) => 0.0,
            Self::AsPlanned => 2.0 * DRIVEN_WITHIN_KPA,
        }
    }
}

/// What a trace covered.
#[derive(Debug, Default)]
pub struct Coverage {
    /// Test points of the plan that it did not cover.
    pub not_covered: Vec<TestPoint>,
    /// Stretches of steady speed that lie at no test point that was left to cover: their speeds, crank rpm.
    pub elsewhere: Vec<f64>,
    /// How many there were in all.
    pub elsewhere_count: usize,
    /// Blocks of cycles whose speed wandered too far within them.
    pub unsteady: usize,
}

/// Speeds of stretches that are kept for the message.
const ELSEWHERE_KEPT: usize = 6;

/// One stretch of steady speed while it goes.
struct Stretch {
    /// Its test point in the plan, if it lies at one.
    point: Option<usize>,
    conditions: Conditions,
    measured: Measured,
    judge: PointJudge,
    decision: Option<Decision>,
    speed_crank_rpm: f64,
}

struct Judging<'j, 'a> {
    bench: &'j Bench<'a>,
    setting: &'j Setting,
    plan: Vec<TestPoint>,
    covered: Vec<bool>,
    depression: TracedDepression,
    stretch: Option<Stretch>,
    before_crank_rpm: f64,
    measurements: &'j mut Measurements,
    evenness: Evenness,
    coverage: Coverage,
    watcher: &'j mut dyn Watcher,
}

impl Bench<'_> {
    /// Judges a trace. What was judged up to an error is in `measurements` all the same.
    ///
    /// # Errors
    /// A trace that cannot be read.
    pub fn judge_trace(
        &self,
        trace: &mut Trace,
        timing_rises: bool,
        depression: TracedDepression,
        setting: &Setting,
        measurements: &mut Measurements,
        watcher: &mut dyn Watcher,
    ) -> Result<Coverage, BenchError> {
        let plan: Vec<TestPoint> = self
            .steps
            .iter()
            .filter_map(|step| match step {
                Step::Settled(point) => Some(*point),
                _ => None,
            })
            .collect();
        let pulses = self.pickup.pulses_in_two_turns;
        let cycles = Judge::new(setting.tolerance, plan.len(), pulses).cycles(0) + MARGIN_CYCLES;
        let mut listener = Listener::new(pulses, timing_rises, cycles);
        let mut judging = Judging {
            bench: self,
            setting,
            covered: vec![false; plan.len()],
            plan,
            depression,
            stretch: None,
            before_crank_rpm: 0.0,
            measurements,
            evenness: Evenness::new(pulses),
            coverage: Coverage::default(),
            watcher,
        };
        let mut audit = Audit::new(self, setting, timing_rises, depression);
        let mut failure = None;
        for edge in trace {
            match edge {
                Ok(edge) => {
                    audit.hear(edge);
                    if let Some(heard) = listener.hear(edge) {
                        judging.heard(heard);
                    }
                }
                Err(error) => failure = Some(error),
            }
            if failure.is_some() {
                break;
            }
        }
        if let Some(heard) = listener.end() {
            judging.heard(heard);
        }
        let coverage = judging.end();
        measurements.every_pulse = Some(audit.end());
        failure.map_or(Ok(coverage), |error| Err(error.into()))
    }
}

impl Judging<'_, '_> {
    fn heard(&mut self, heard: Heard) {
        match heard {
            Heard::Block(block) => self.block(&block),
            Heard::Ended(ended) => self.ended(&ended),
        }
    }

    fn end(mut self) -> Coverage {
        self.measurements.uneven = self.evenness.finding(self.setting);
        let left = self.plan.iter().zip(&self.covered).filter(|(_, covered)| !**covered);
        self.coverage.not_covered = left.map(|(point, _)| *point).collect();
        self.coverage
    }

    fn block(&mut self, block: &Block) {
        self.evenness.block(block);
        let mut stretch = self.stretch.take().unwrap_or_else(|| self.begin(block.speed_crank_rpm));
        if stretch.point.is_some() && stretch.decision.is_none() {
            let point = stretch.point;
            if let Some(further) = self.measure(block, point) {
                stretch.measured.append(further);
                let bound = self.setting.bound(&stretch.conditions).total();
                let single = SingleSparks::of(&stretch.measured, self.setting.tolerance + bound);
                match stretch.judge.look(&stretch.measured.statistics().cycle_means, bound, &single) {
                    // The depression changes somewhere in what is left, and nothing says where.
                    Decision::LookAgain { .. } if point.is_some_and(|index| self.depression_changes_after(index)) => {
                        stretch.decision = Some(Decision::Undecided);
                    }
                    Decision::LookAgain { .. } => {}
                    decision => stretch.decision = Some(decision),
                }
            }
        }
        self.stretch = Some(stretch);
    }

    fn ended(&mut self, ended: &SteadySpeed) {
        let Some(stretch) = self.stretch.take() else { return };
        self.before_crank_rpm = ended.speed_crank_rpm;
        let Some(index) = stretch.point else {
            self.coverage.elsewhere_count += 1;
            if self.coverage.elsewhere.len() < ELSEWHERE_KEPT {
                self.coverage.elsewhere.push(stretch.speed_crank_rpm);
            }
            return;
        };
        self.judged(index, stretch.conditions, &stretch.measured, stretch.decision);
        // The plan stays at its highest and its lowest speed for the next test point: the end of the stretch is that one's.
        let next = index + 1;
        if let (Some(block), true) = (&ended.tail, ended.blocks > 1 && self.follows_at_the_same_speed(index)) {
            let conditions = self.conditions(next, block.speed_crank_rpm);
            if let Some(measured) = self.measure(block, Some(next)) {
                let bound = self.setting.bound(&conditions).total();
                let single = SingleSparks::of(&measured, self.setting.tolerance + bound);
                let decision = match self.judge().look(&measured.statistics().cycle_means, bound, &single) {
                    Decision::LookAgain { .. } => None,
                    decision => Some(decision),
                };
                self.judged(next, conditions, &measured, decision);
            }
        }
    }

    /// A stretch that begins at this speed, and the test point that it lies at.
    fn begin(&self, crank_rpm: f64) -> Stretch {
        let direction = if crank_rpm >= self.before_crank_rpm { Direction::Rising } else { Direction::Falling };
        let point = self.point_at(crank_rpm, direction);
        let conditions = point.map_or(
            Conditions { speed_crank_rpm: crank_rpm, depression_kpa: 0.0, direction, vacuum_advance: 0.0 },
            |index| self.conditions(index, crank_rpm),
        );
        Stretch {
            point,
            conditions,
            measured: Measured { pulses_in_two_turns: self.setting.pulses_in_two_turns, pulses: Vec::new() },
            judge: self.judge(),
            decision: None,
            speed_crank_rpm: crank_rpm,
        }
    }

    fn judge(&self) -> PointJudge {
        Judge::new(self.setting.tolerance, self.plan.len(), self.setting.pulses_in_two_turns).point()
    }

    fn conditions(&self, index: usize, crank_rpm: f64) -> Conditions {
        let point = &self.plan[index];
        let kpa = self.depression_at(point);
        Conditions {
            speed_crank_rpm: crank_rpm,
            depression_kpa: kpa,
            direction: point.direction,
            vacuum_advance: self.bench.vacuum_advance(kpa, point.throttle_closed),
        }
    }

    fn depression_at(&self, point: &TestPoint) -> f64 {
        match self.depression {
            TracedDepression::Constant(kpa) => kpa,
            TracedDepression::AsPlanned => point.depression_kpa,
        }
    }

    /// The test point that a stretch covers: of a plan that was driven the next of this speed and direction, of any other trace
    /// the nearest that is not covered yet.
    fn point_at(&self, crank_rpm: f64, direction: Direction) -> Option<usize> {
        let planned = matches!(self.depression, TracedDepression::AsPlanned);
        let from =
            if planned { self.covered.iter().rposition(|covered| *covered).map_or(0, |last| last + 1) } else { 0 };
        let fits = |&index: &usize| {
            let point = &self.plan[index];
            !self.covered[index]
                && point.direction == direction
                && (point.speed_crank_rpm - crank_rpm).abs() <= SAME_SPEED * crank_rpm
                && (self.depression_at(point) - point.depression_kpa).abs() <= SAME_KPA
        };
        let mut fitting = (from..self.plan.len()).filter(fits);
        if planned {
            return fitting.next();
        }
        let away = |index: &usize| (self.plan[*index].speed_crank_rpm - crank_rpm).abs();
        fitting.min_by(|a, b| away(a).total_cmp(&away(b)))
    }

    fn follows_at_the_same_speed(&self, index: usize) -> bool {
        let Some(next) = self.plan.get(index + 1) else { return false };
        let here = &self.plan[index];
        (next.speed_crank_rpm - here.speed_crank_rpm).abs() < 1.0
            && !self.covered[index + 1]
            && (self.depression_at(next) - next.depression_kpa).abs() <= SAME_KPA
    }

    fn depression_changes_after(&self, index: usize) -> bool {
        self.follows_at_the_same_speed(index)
            && self
                .plan
                .get(index + 1)
                .is_some_and(|next| (self.depression_at(next) - self.depression_at(&self.plan[index])).abs() > SAME_KPA)
    }

    fn measure(&mut self, block: &Block, point: Option<usize>) -> Option<Measured> {
        let point = self.plan[point?];
        let kpa = self.depression_at(&point);
        let record = Recording {
            events: &block.events,
            tick_s: PICOSECOND_S,
            from_ticks: block.from_ps,
            to_ticks: block.to_ps,
            motion: Motion::Steady { speed_crank_rpm: block.speed_crank_rpm },
            first_pulse: block.first_pulse,
        };
        let measured =
            measure(&record, self.bench.pickup, &|crank_rpm| self.bench.wanted(crank_rpm, kpa, point.throttle_closed));
        // The only refusal that a block can meet is that its speed wandered.
        self.coverage.unsteady += usize::from(measured.is_err());
        measured.ok()
    }

    fn judged(&mut self, index: usize, conditions: Conditions, measured: &Measured, decision: Option<Decision>) {
        if measured.pulses.is_empty() {
            return;
        }
        self.covered[index] = true;
        let decision = decision.unwrap_or(Decision::Undecided);
        let single = SingleSparks::of(measured, self.setting.tolerance + self.setting.bound(&conditions).total());
        let measured = MeasuredPoint { conditions, statistics: measured.statistics() };
        let point = JudgedPoint { measured, decision, single };
        let alone = judge_run(std::slice::from_ref(&point), self.setting).points.first().copied();
        let alone = alone.unwrap_or(decision.into());
        self.watcher.test_point(&self.bench.test_point(&point, alone, self.setting));
        self.measurements.points.push(point);
    }
}
