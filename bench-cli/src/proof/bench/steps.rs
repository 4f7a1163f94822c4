//! Each step of the plan: drive it, measure it, judge it.

use std::io::{Read, Write};

use bobweight::throttle_counts_as_closed;
use bobweight_wire::{CrankAngle, Disturbance};

use super::{Bench, BenchError, Measurements, Watcher};
use crate::curve::check::after_second_flank;
use crate::proof::measure::{EventKind, Measured, Motion, Recording, measure};
use crate::proof::plan::{Step, TestPoint};
use crate::proof::source::{Driver, Stretch};
use crate::proof::verdict::{
    Conditions, CrankingRecord, Decision, GOOD_EDGES, Judge, JudgedPoint, MeasuredPoint, Setting, SingleSparks, Stated,
    early_by_swing, judge_cranking, judge_cranking_without_second_flank, judge_disturbed, judge_ramp, judge_run,
};
use crate::quantity::of_core::{crank_degrees, rpm_of, speed};
use crate::record::bench::{self, CrankingResult, Direction, DisturbedResult, RampResult};

/// After a change of speed the ignition has this many cycles to come to rest: its delay uses the last period alone.
const CYCLES_TO_SETTLE: usize = 2;
/// Longest time between two looks that an ignition takes at its vacuum sensor, seconds.
const SENSOR_S: f64 = 0.1;
/// Cycles that are judged of cranking and around a disturbed pulse.
const CYCLES_BESIDES: usize = 12;

/// How often a disturbance that the stimulator did not confirm is tried.
const DISTURBANCE_TRIES: usize = 3;

/// Where sparks are wanted, crank degrees before top dead centre.
struct Wanted {
    middle: f64,
    /// How far a right spark may lie from there.
    either_side: f64,
    /// Whether dwell begins at the pickup's second flank.
    timed_by_flank: bool,
}

/// A run through the plan.
pub(super) struct Run<'r, 'a, S: Read + Write> {
    pub bench: &'r Bench<'a>,
    pub setting: &'r Setting,
    pub driver: Driver<S>,
    pub measurements: &'r mut Measurements,
    pub watcher: &'r mut dyn Watcher,
    /// Vacuum advance that the ignition has had time to give, crank degrees.
    pub vacuum_given: f64,
}

impl<S: Read + Write> Run<'_, '_, S> {
    pub fn step(&mut self, step: &Step) -> Result<(), BenchError> {
        match *step {
            Step::Settled(point) => self.settled(&point),
            Step::Cranking { speed_crank_rpm, swing } => self.cranking(speed_crank_rpm, swing),
            Step::Ramp { from_crank_rpm, to_crank_rpm, .. } => self.ramp(from_crank_rpm, to_crank_rpm),
            Step::LostPulse { speed_crank_rpm } => self.disturbed(speed_crank_rpm, bench::Disturbance::LostPulse),
            Step::FalsePulse { speed_crank_rpm } => self.disturbed(speed_crank_rpm, bench::Disturbance::FalsePulse),
        }
    }

    /// Brings everything to rest at a speed in crank rpm and a depression in kPa; gives both as they really are.
    fn settle(&mut self, crank_rpm: f64, depression_kpa: f64, throttle_closed: bool) -> Result<(f64, f64), BenchError> {
        let depression_kpa = self.driver.intake(depression_kpa, throttle_closed)?;
        let crank_rpm = self.driver.steady(crank_rpm)?;
        let vacuum = self.bench.vacuum_advance(depression_kpa, throttle_closed);
        let rate = self.bench.settings.model.settings().vacuum.map(|vacuum| vacuum.greatest_rate);
        let seconds = rate.map_or(0.0, |rate| {
            let added = (vacuum - self.vacuum_given).max(0.0);
            SENSOR_S + added / rate.get().to_num::<f64>()
        });
        self.vacuum_given = vacuum;
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a few hundred cycles")]
        let cycles = (seconds * crank_rpm / 120.0).ceil() as usize;
        self.driver.cycles(CYCLES_TO_SETTLE + cycles)?;
        Ok((crank_rpm, depression_kpa))
    }

    fn settled(&mut self, point: &TestPoint) -> Result<(), BenchError> {
        let closed = point.throttle_closed;
        let (crank_rpm, kpa) = self.settle(point.speed_crank_rpm, point.depression_kpa, closed)?;
        let conditions = Conditions {
            speed_crank_rpm: crank_rpm,
            depression_kpa: kpa,
            direction: point.direction,
            vacuum_advance: self.bench.vacuum_advance(kpa, closed),
        };
        let wanted = |crank_rpm: f64| self.bench.wanted(crank_rpm, kpa, closed);
        let bound = self.setting.bound(&conditions).total();
        let planned = self.bench.planned_test_points();
        let mut judge = Judge::new(self.setting.tolerance, planned, self.setting.pulses_in_two_turns).point();
        let mut measured = Measured { pulses_in_two_turns: self.setting.pulses_in_two_turns, pulses: Vec::new() };
        let mut cycles = judge.cycles();
        let (decision, single) = loop {
            // The pulses at either end have part of their window outside.
            let stretch = self.driver.cycles(cycles + 2)?;
            let motion = Motion::Steady { speed_crank_rpm: crank_rpm };
            measured.append(self.measured(&stretch, motion, &wanted)?);
            let single = SingleSparks::of(&measured, self.setting.tolerance + bound);
            match judge.look(&measured.statistics().cycle_means, bound, &single) {
                Decision::LookAgain { further_cycles } => cycles = further_cycles,
                decision => break (decision, single),
            }
        };
        let statistics = measured.statistics();
        let point = JudgedPoint { measured: MeasuredPoint { conditions, statistics }, decision, single };
        let alone = judge_run(std::slice::from_ref(&point), self.setting).points.first().copied();
        let alone = alone.unwrap_or(decision.into());
        self.watcher.test_point(&self.bench.test_point(&point, alone, self.setting));
        self.measurements.points.push(point);
        Ok(())
    }

    fn ramp(&mut self, from: f64, to: f64) -> Result<(), BenchError> {
        let (from, _) = self.settle(from, 0.0, false)?;
        let stretch = self.driver.ramp(to)?;
        let (direction, sign) = if to > from { (Direction::Rising, 1.0) } else { (Direction::Falling, -1.0) };
        let rate = self.driver.rate();
        let motion = Motion::Ramp { from_crank_rpm: from, acceleration_crank_rpm_per_s: sign * rate };
        let measured = self.measured(&stretch, motion, &|crank_rpm| self.bench.wanted(crank_rpm, 0.0, false))?;
        let judged = judge_ramp(&measured, direction, self.setting);
        self.measurements.ramps.push(RampResult::new(&judged, from, to, rate));
        Ok(())
    }

    fn cranking(&mut self, mean: f64, swing: f64) -> Result<(), BenchError> {
        self.driver.intake(0.0, true)?;
        self.driver.crank(mean, swing)?;
        self.driver.cycles(CYCLES_TO_SETTLE)?;
        let stretch = self.driver.cycles(CYCLES_BESIDES + 2)?;
        let result = if self.cranks_by_flank().is_some() {
            let crossing = self.bench.moving_flank.is_some();
            let record = CrankingRecord {
                events: &stretch.events,
                flank: if crossing { EventKind::TimingFlank } else { EventKind::SecondFlank },
                tick_s: self.setting.tick_bench_s,
                from_ticks: stretch.from_ticks,
                to_ticks: stretch.to_ticks,
                ordered_dwell_s: self.bench.ordered_dwell_s[1],
                // The mean is that of the least and the greatest speed.
                fastest_crank_rpm: mean * 2.0 * swing / (swing + 1.0),
            };
            CrankingResult::from_flank(&judge_cranking(&record, self.setting), crossing, mean, swing)
        } else {
            let motion = Motion::cranking(mean, swing, self.bench.pickup, 0.0);
            let wanted = crank_degrees(self.bench.settings.model.settings().cranking);
            let early = early_by_swing(mean, swing, self.bench.pickup, wanted);
            let measured = self.measured(&stretch, motion, &|_| wanted)?;
            let verdict = judge_cranking_without_second_flank(&measured, early, mean, self.setting);
            CrankingResult::from_timing_flank(&measured, early, verdict, mean, swing)
        };
        self.measurements.cranking.push(result);
        // From the swing to an even speed, so that the next step can begin with a ramp.
        self.driver.steady(mean)?;
        Ok(())
    }

    fn disturbed(&mut self, crank_rpm: f64, disturbance: bench::Disturbance) -> Result<(), BenchError> {
        for _ in 0..DISTURBANCE_TRIES {
            if let Some(result) = self.disturbed_once(crank_rpm, disturbance)? {
                self.measurements.disturbed.push(result);
                return Ok(());
            }
        }
        self.measurements.disturbed.push(DisturbedResult::not_confirmed(disturbance, crank_rpm));
        Ok(())
    }

    /// Nothing where the stimulator did not confirm the disturbance inside the record, with calm pulses on both sides.
    fn disturbed_once(
        &mut self,
        crank_rpm: f64,
        disturbance: bench::Disturbance,
    ) -> Result<Option<DisturbedResult>, BenchError> {
        let cranking = crank_rpm < rpm_of(self.bench.settings.model.settings().speeds.running_from);
        let idle = speed(*self.bench.sheet.engine.idle_crank_rpm.get()?);
        let closed = throttle_counts_as_closed(speed(crank_rpm), idle);
        let (crank_rpm, _) = self.settle(crank_rpm, 0.0, closed)?;
        let upset = match disturbance {
            bench::Disturbance::LostPulse => Disturbance::Lose,
            bench::Disturbance::FalsePulse => Disturbance::Add(self.clear_of_flanks()),
        };
        let pulses = u16::try_from(CYCLES_BESIDES / 2 * self.setting.pulses_in_two_turns).unwrap_or(u16::MAX);
        let stretch = self.driver.upset(upset, pulses, CYCLES_BESIDES + 2)?;
        let motion = Motion::Steady { speed_crank_rpm: crank_rpm };
        let wanted = self.wanted_undisturbed(crank_rpm, cranking, closed);
        let measured = self.measured(&stretch, motion, &|_| wanted.middle)?;
        let last = measured.pulses.last().map_or(0, |pulse| pulse.sequence);
        let calm = i64::try_from(self.setting.pulses_in_two_turns).unwrap_or(i64::MAX);
        let Some(upset) = stretch.upset.filter(|at| (calm..=last - GOOD_EDGES - calm).contains(at)) else {
            return Ok(None);
        };
        let stated = self.stated(crank_rpm, disturbance, &measured, &wanted);
        let wider = Setting { tolerance: self.setting.tolerance + wanted.either_side, ..self.setting.clone() };
        let judged = judge_disturbed(&measured, upset, stated, crank_rpm, &wider);
        Ok(Some(DisturbedResult::new(&judged, disturbance, crank_rpm, stated)))
    }

    /// The flank that cranking sparks follow, within a dwell: a vane's second one, a reluctor's zero crossing.
    fn cranks_by_flank(&self) -> Option<f64> {
        self.bench.second_flank.or(self.bench.moving_flank.map(|_| self.bench.pickup.angle))
    }

    /// Where sparks are wanted at a steady speed. Those of a second flank come a dwell after it, of any length that may be
    /// ordered, those of a reluctor at its crossing or up to a dwell later.
    fn wanted_undisturbed(&self, crank_rpm: f64, cranking: bool, closed: bool) -> Wanted {
        if !cranking {
            return Wanted {
                middle: self.bench.wanted(crank_rpm, 0.0, closed),
                either_side: 0.0,
                timed_by_flank: false,
            };
        }
        let Some(flank) = self.cranks_by_flank() else {
            let middle = crank_degrees(self.bench.settings.model.settings().cranking);
            return Wanted { middle, either_side: 0.0, timed_by_flank: false };
        };
        let [least, longest] = self.bench.ordered_dwell_s;
        // A dwell that began by the moving flank is over at the crossing.
        let least = if self.bench.moving_flank.is_some() { 0.0 } else { least };
        let after = |dwell| after_second_flank(flank, crank_rpm, dwell);
        Wanted {
            middle: f64::midpoint(after(least), after(longest)),
            either_side: (after(least) - after(longest)) / 2.0,
            timed_by_flank: true,
        }
    }

    /// Where a false pulse lies: halfway between the last flank of a pulse and the next pulse.
    #[expect(clippy::cast_possible_truncation, reason = "less than two turns")]
    fn clear_of_flanks(&self) -> CrankAngle {
        let spacing = self.bench.pickup.spacing();
        if let Some([earliest, _]) = self.bench.moving_flank {
            // Between a zero crossing and the next pulse's moving flank.
            let place = (spacing - (earliest - self.bench.pickup.angle)) / 2.0 * f64::from(CrankAngle::PER_DEGREE);
            return CrankAngle(place.round() as i32);
        }
        // Without a second flank the pickup returns half a pulse after its timing flank.
        let last = self.bench.second_flank.map_or(spacing / 2.0, |second| self.bench.pickup.angle - second);
        let place = f64::midpoint(last, spacing) * f64::from(CrankAngle::PER_DEGREE);
        CrankAngle(place.round() as i32)
    }

    /// What the core's rules leave of one disturbance at steady speed. A spark without its edge is late by at most the largest
    /// dwell less the dwell. A false edge inside the window is early by `(1 + f) (1 - lo/T) P` at most, less that time, and
    /// not at all where the window begins later than it lies. The dwell is the one measured here, within what the sheet allows at
    /// the bench's battery: its least for late, its mean for early, for a moved spark may cut one dwell short.
    fn stated(&self, crank_rpm: f64, disturbance: bench::Disturbance, measured: &Measured, wanted: &Wanted) -> Stated {
        let (settings, spacing) = (self.bench.settings, self.bench.pickup.spacing());
        let period = settings.timetable.period_of(speed(crank_rpm));
        let share = f64::from(settings.timetable.window(period).lo) / f64::from(period.max(1));
        let largest = f64::from(settings.dwell.settings().largest.bits()) * 1e-9;
        let [shortest, longest] = self.bench.ordered_dwell_s;
        if wanted.timed_by_flank {
            // Dwell begins at a second flank, so a false one is followed by a spark wherever it lies, and a lost one by none. A dwell
            // that began by a moving flank waits for its lost crossing up to the largest dwell.
            return match (disturbance, self.bench.moving_flank) {
                (bench::Disturbance::FalsePulse, _) => Stated { early: spacing, late: spacing },
                (bench::Disturbance::LostPulse, None) => Stated { early: 0.0, late: 0.0 },
                (bench::Disturbance::LostPulse, Some(_)) => {
                    Stated { early: 0.0, late: 6.0 * crank_rpm * (largest - shortest).max(0.0) }
                }
            };
        }
        let (least, mean) =
            measured.statistics().dwell.map_or((longest, longest), |dwell| (dwell.least_s, dwell.mean_s));
        let waits = |dwell: f64| 6.0 * crank_rpm * (largest - dwell.min(longest).max(shortest)).max(0.0);
        let late = waits(least);
        let whole = if self.bench.moving_flank.is_some() { 1.0 } else { 0.0 };
        let f = whole + (self.bench.pickup.angle - wanted.middle) / spacing;
        let early = match disturbance {
            bench::Disturbance::LostPulse => 0.0,
            bench::Disturbance::FalsePulse => ((1.0 + f) * (1.0 - share) * spacing - waits(mean)).max(0.0),
        };
        Stated { early, late }
    }

    fn measured(&self, stretch: &Stretch, motion: Motion, wanted: &dyn Fn(f64) -> f64) -> Result<Measured, BenchError> {
        let record = Recording {
            events: &stretch.events,
            tick_s: self.setting.tick_bench_s,
            from_ticks: stretch.from_ticks,
            to_ticks: stretch.to_ticks,
            motion,
            first_pulse: stretch.first_pulse,
        };
        Ok(measure(&record, self.bench.pickup, wanted)?)
    }
}
