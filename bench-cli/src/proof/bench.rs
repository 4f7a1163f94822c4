//! The bench: from a sheet, through the plan, to a finished result.

mod coil;
mod evenness;
mod every_pulse;
mod not_covered;
mod parts;
mod result;
mod steps;
mod traced;

pub use coil::STARVED;
pub use every_pulse::EveryPulse;
pub use traced::{Coverage, TracedDepression};

use std::io::{Read, Write};

use bobweight::Phase;
use bobweight_wire::TimingEdge;
use thiserror::Error;

use evenness::may_be_the_turning;

use crate::interrupt::Interrupt;
use crate::link::{Link, LinkError};
use crate::proof::measure::{MeasureError, Pickup};
use crate::proof::plan::{PlanError, PlanInput, RAMP_SHARE, Step, VacuumSource, plan};
use crate::proof::source::trace::TraceError;
use crate::proof::source::{Driver, DriverError};
use crate::proof::verdict::{Finding, JudgedPoint, Setting, judge_run};
use crate::quantity::of_core::{angle_degrees, crank_degrees, depression, speed};
use crate::record::bench::{
    BenchResult, CoilSettings, CrankingResult, DisturbedResult, EveryPulseResult, FindingKind, FindingResult,
    RampResult, SingleSparksResult, TestPointResult,
};
use crate::record::verdict::Verdict;
use crate::sheet::{self, Settings, Sheet, SheetError};

/// What of a run is known before it begins.
pub struct Bench<'a> {
    sheet: &'a Sheet,
    settings: &'a Settings,
    steps: Vec<Step>,
    pickup: Pickup,
    second_flank: Option<f64>,
    /// Of a reluctor: where its other flank lies at its earliest and its latest, crank degrees before top dead centre.
    moving_flank: Option<[f64; 2]>,
    /// Least and longest dwell that the ignition may order at the bench's battery voltage, seconds.
    ordered_dwell_s: [f64; 2],
    /// What the energy is worked out from.
    coil: Option<CoilSettings>,
    /// The battery's voltage at which the ordered dwell is looked up.
    ordered_at_volts: f64,
}

/// Why a run cannot begin or go on.
#[derive(Debug, Error)]
pub enum BenchError {
    /// The sheet lacks something that the bench needs.
    #[error(transparent)]
    Sheet(#[from] SheetError),
    /// No plan can be made of the sheet.
    #[error(transparent)]
    Plan(#[from] PlanError),
    /// The stimulator was lost on the way; what was measured before is kept.
    #[error(transparent)]
    Driver(#[from] DriverError),
    /// A trace that cannot be read.
    #[error(transparent)]
    Trace(#[from] TraceError),
    /// What came back cannot be read.
    #[error(transparent)]
    Measure(#[from] MeasureError),
}

impl BenchError {
    /// Whether somebody interrupted.
    pub fn is_interrupt(&self) -> bool {
        matches!(
            self,
            Self::Trace(TraceError::Interrupted { .. })
                | Self::Driver(DriverError::Link(LinkError::Interrupted { .. }))
        )
    }
}

impl From<LinkError> for BenchError {
    fn from(error: LinkError) -> Self {
        Self::Driver(error.into())
    }
}

/// What a run measured, whole or broken off.
#[derive(Debug, Default)]
pub struct Measurements {
    points: Vec<JudgedPoint>,
    cranking: Vec<CrankingResult>,
    ramps: Vec<RampResult>,
    disturbed: Vec<DisturbedResult>,
    /// Of a trace: every pulse in it.
    every_pulse: Option<EveryPulse>,
    /// Of a trace: what is uneven in its pickup or its turning.
    uneven: Option<Finding>,
}

impl Measurements {
    /// Of a trace: every pulse in it, from idle to the greatest speed.
    pub fn every_pulse(&self) -> Option<EveryPulse> {
        self.every_pulse
    }
}

/// Who wants to see a run as it goes.
pub trait Watcher {
    /// A step of the plan is done, of so many.
    fn step(&mut self, done: usize, of: usize);
    /// A settled test point is measured.
    fn test_point(&mut self, point: &TestPointResult);
}

impl<'a> Bench<'a> {
    /// Prepares the bench of a sheet. `ordered_dwell_s` is the least and the longest dwell in seconds that the ignition may order:
    /// one and the same at a known battery voltage, those of the whole sheet at an unknown one.
    ///
    /// # Errors
    /// Where the sheet lacks something, or no plan can be made of it.
    pub fn new(sheet: &'a Sheet, settings: &'a Settings, ordered_dwell_s: [f64; 2]) -> Result<Self, BenchError> {
        let advance = settings.model.settings();
        let pickup = settings.pickup.settings();
        let (vacuum, vacuum_kpa) = match &advance.vacuum {
            None => (VacuumSource::None, Vec::new()),
            Some(vacuum) => (
                match vacuum.source {
                    bobweight::VacuumSource::Manifold => VacuumSource::Manifold,
                    bobweight::VacuumSource::Ported => VacuumSource::Ported,
                },
                sheet.vacuum.breakpoints.get()?.iter().map(|point| point.depression_kpa).collect(),
            ),
        };
        let steps = plan(&PlanInput {
            idle_crank_rpm: *sheet.engine.idle_crank_rpm.get()?,
            greatest_speed_crank_rpm: *sheet.engine.greatest_speed_crank_rpm.get()?,
            centrifugal_crank_rpm: sheet.centrifugal.breakpoints.get()?.iter().map(|point| point.crank_rpm).collect(),
            vacuum,
            vacuum_kpa,
            greatest_acceleration_crank_rpm_per_s: f64::from(pickup.greatest_acceleration.bits()),
        })?;
        Ok(Self {
            sheet,
            settings,
            steps,
            pickup: Pickup {
                pulses_in_two_turns: usize::from(pickup.pulses_in_two_turns),
                angle: angle_degrees(pickup.angle),
            },
            second_flank: pickup.second_flank_angle.map(angle_degrees),
            moving_flank: pickup.moving_flank.map(|flank| [flank.earliest, flank.latest].map(angle_degrees)),
            ordered_dwell_s,
            coil: CoilSettings::of(sheet),
            ordered_at_volts: coil::volts_of_shortest_dwell(sheet)?,
        })
    }

    /// Where the stimulator puts the pulse's other flank, crank degrees before top dead centre: that of a reluctor at its latest.
    fn other_flank(&self) -> Option<f64> {
        self.second_flank.or(self.moving_flank.map(|[_, latest]| latest))
    }

    /// How many settled test points the plan has.
    pub fn planned_test_points(&self) -> usize {
        self.steps.iter().filter(|step| matches!(step, Step::Settled(_))).count()
    }

    /// What the verdict knows of sheet and stimulator.
    ///
    /// # Errors
    /// Where the sheet lacks a tolerance.
    pub fn setting<S: Read + Write>(&self, link: &Link<S>) -> Result<Setting, BenchError> {
        let step = f64::from(link.abilities().depression_step) / f64::from(bobweight_wire::Depression::PER_KPA);
        self.setting_of(link.tick_seconds(), f64::from(link.greeting().clock_tolerance_ppm) * 1e-6, step)
    }

    /// The same for any witness: its tick in seconds, the tolerance of its clock, and by what steps it gave the depression, kPa.
    ///
    /// # Errors
    /// Where the sheet lacks a tolerance.
    pub fn setting_of(&self, tick_s: f64, clock_tolerance: f64, vacuum_step_kpa: f64) -> Result<Setting, BenchError> {
        let vacuum = if self.settings.model.settings().vacuum.is_some() {
            let breakpoints = self.sheet.vacuum.breakpoints.get()?.iter();
            breakpoints.map(|point| [point.depression_kpa, point.crank_degrees]).collect()
        } else {
            Vec::new()
        };
        let centrifugal = self.sheet.centrifugal.breakpoints.get()?.iter();
        Ok(Setting {
            pulses_in_two_turns: self.pickup.pulses_in_two_turns,
            delay_at_no_advance: {
                // A reluctor's spark is timed by the crossing a whole pulse before its own.
                #[expect(clippy::cast_precision_loss, reason = "at most 12 pulses")]
                let pulse = 720.0 / self.pickup.pulses_in_two_turns as f64;
                let before = if self.moving_flank.is_some() { pulse } else { 0.0 };
                before + self.pickup.angle - self.sheet.advance.initial_crank_degrees.get()?
            },
            flank_distance: self
                .second_flank
                .map(|second| [second; 2])
                .or(self.moving_flank.map(|[earliest, latest]| [latest, earliest]))
                .map(|other| other.map(|flank| flank - self.pickup.angle)),
            centrifugal: centrifugal.map(|point| [point.crank_rpm, point.crank_degrees]).collect(),
            vacuum,
            tick_bench_s: tick_s,
            tick_ignition_s: *self.sheet.ignition.tick_s.get()?,
            clock_tolerance: self.sheet.ignition.clock_tolerance.get()? + clock_tolerance,
            vacuum_step_kpa,
            tolerance: *self.sheet.tolerance.bench_crank_degrees.get()?,
            tolerance_ramp: *self.sheet.tolerance.bench_ramp_crank_degrees.get()?,
        })
    }

    /// Drives the whole plan. What was measured up to an error is in `measurements` all the same.
    ///
    /// # Errors
    /// Where the link fails, the stimulator stops or the user interrupts.
    pub fn drive<S: Read + Write>(
        &self,
        mut link: Link<S>,
        setting: &Setting,
        measurements: &mut Measurements,
        watcher: &mut dyn Watcher,
        interrupt: &Interrupt,
    ) -> Result<Link<S>, BenchError> {
        let edge = match self.sheet.pickup.flank.get()? {
            sheet::Flank::Rising => TimingEdge::Rising,
            sheet::Flank::Falling => TimingEdge::Falling,
        };
        let rate = f64::from(self.settings.pickup.settings().greatest_acceleration.bits()) * RAMP_SHARE;
        link.heed(interrupt);
        let driver = Driver::open(link, self.pickup, self.other_flank(), edge, rate)?;
        let mut run = steps::Run { bench: self, setting, driver, measurements, watcher, vacuum_given: 0.0 };
        for (done, step) in self.steps.iter().enumerate() {
            if let Err(error) = run.step(step) {
                run.driver.abandon();
                return Err(error);
            }
            run.watcher.step(done + 1, self.steps.len());
        }
        Ok(run.driver.stop()?)
    }

    /// Puts what was measured into a result that holds everything else already.
    pub fn judge(&self, measurements: Measurements, setting: &Setting, result: &mut BenchResult) {
        let judged = judge_run(&measurements.points, setting);
        let points = measurements.points.iter().zip(&judged.points);
        result.test_points = points.map(|(point, &verdict)| self.test_point(point, verdict, setting)).collect();
        result.counts = crate::record::bench::Counts::of(&result.test_points, self.planned_test_points());
        result.regression = judged.diagnosis.regression.as_ref().map(Into::into);
        result.settings.coil = self.coil;
        result.settings.vacuum_breakpoints.clone_from(&setting.vacuum);
        let single = judged.of_single_sparks(&measurements.points, setting);
        let single = if measurements.every_pulse.is_some() { None } else { single };
        let uneven = &measurements.uneven;
        let by_turning = uneven.as_ref().is_some_and(may_be_the_turning);
        let every = measurements.every_pulse.as_ref().map(|every| every.findings(by_turning)).unwrap_or_default();
        // What is uneven before the ignition moves single pulses, which is no fault of the ignition's; a shaft that turns unevenly moves all
        // that is measured by the flanks, and a spark that is missing or one too many is no angle.
        let own = judged.findings().iter().filter(|finding| match finding.kind {
            FindingKind::Missing | FindingKind::Extra => true,
            FindingKind::Pulse => uneven.is_none(),
            _ => !by_turning,
        });
        result.findings = coil::findings(result);
        result.findings.extend(uneven.iter().chain(own).chain(&single).chain(&every).map(FindingResult::from));
        result.single_sparks = (judged.single.judged > 0).then(|| SingleSparksResult::new(&judged.single));
        result.every_pulse = measurements.every_pulse.as_ref().map(EveryPulseResult::of);
        result.cranking = measurements.cranking;
        result.ramps = measurements.ramps;
        result.disturbed_pulses = measurements.disturbed;
        result.verdict = Verdict::of_all([result.verdict_of_parts(), judged.of_points]);
    }

    /// The curve's advance for a running engine at a speed in crank rpm and a depression in kPa, crank degrees BTDC.
    fn wanted(&self, crank_rpm: f64, depression_kpa: f64, throttle_closed: bool) -> f64 {
        let depression = Some(depression(depression_kpa));
        let breakdown = self.settings.model.advance(Phase::Running, speed(crank_rpm), depression, throttle_closed);
        breakdown.map_or(f64::NAN, |breakdown| crank_degrees(breakdown.total))
    }

    fn vacuum_advance(&self, depression_kpa: f64, throttle_closed: bool) -> f64 {
        crank_degrees(self.settings.model.vacuum_advance(Some(depression(depression_kpa)), throttle_closed))
    }
}
