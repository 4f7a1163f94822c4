//! The finished result of a bench run: everything that is printed, saved or reported about it is read from here.
//!
//! Angles are crank degrees, speeds crank rpm, depressions kPa below the atmosphere. An error is early where positive; a
//! field that is not there was not measured, which is not the same as 0.

use crate::record::check::LimitsOutcome;
use crate::record::sheet::SheetIdentity;
use crate::record::verdict::Verdict;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

mod besides;

pub use besides::{CrankingResult, Disturbance, DisturbedResult, EveryPulseResult, RampResult};

/// Marks the format of this result.
pub const SCHEMA: &str = "bobweight-result/2";

/// The result of one bench run.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BenchResult {
    /// Always `bobweight-result/2`.
    #[schemars(extend("const" = SCHEMA))]
    pub schema: String,
    /// Version of the tool that made it.
    pub tool_version: String,
    /// Which sheet was benched.
    pub sheet: SheetIdentity,
    /// Where the chosen curve comes from.
    pub curve_source: CurveSource,
    /// Keys of the sheet whose values were only assumed.
    #[serde(skip_serializing_if = "Vec::is_empty", default)]
    pub assumptions: Vec<String>,
    /// Whether the chosen curve keeps the sheet's limits.
    pub limits: LimitsOutcome,
    /// How it was benched.
    pub settings: BenchSettings,
    /// The settled test points, in the order in which they were run.
    pub test_points: Vec<TestPointResult>,
    /// Offset, lag and the like; absent where too few test points were measured.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub regression: Option<RegressionResult>,
    /// Counts over all settled test points.
    pub counts: Counts,
    /// The sparks of all settled test points one by one; absent where none was measured.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub single_sparks: Option<SingleSparksResult>,
    /// Of a trace: every pulse in it, at test points and between them; absent where none was judged.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub every_pulse: Option<EveryPulseResult>,
    /// Cranking.
    pub cranking: Vec<CrankingResult>,
    /// Ramps.
    pub ramps: Vec<RampResult>,
    /// Lost and false pulses.
    pub disturbed_pulses: Vec<DisturbedResult>,
    /// What is wrong, gravest first.
    pub findings: Vec<FindingResult>,
    /// Why the run ended before its plan did; absent where it did not. Such a run never passes.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub broken_off: Option<String>,
    /// The verdict on the whole run.
    pub verdict: Verdict,
    /// What this run did not prove, in sentences.
    pub not_proven: Vec<String>,
}

/// Where the chosen curve comes from.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CurveSource {
    /// File of the readings that the sheet names; absent where it names none.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub readings_file: Option<String>,
    /// Digest of the readings, with the name of the digest before a colon.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub readings_digest: Option<String>,
    /// What the readings say and how the chosen curve lies to them, in sentences.
    pub statements: Vec<String>,
    /// Those of them that somebody has to know who uses the curve: what is worn, and how the curve lies to the readings.
    #[serde(skip_serializing_if = "Vec::is_empty", default)]
    pub remarks: Vec<String>,
}

/// What drove the ignition. Only a box that was driven, or recorded while it was, proves a box.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum DrivenBy {
    /// The built-in simulation: no box was there.
    Simulation,
    /// A stimulator behind a serial port.
    SerialPort,
    /// Somebody else, while a logic analyser recorded it.
    Trace,
}

/// A simulation in words. Results of before say by these three alone what was benched: they stay as they are.
pub const SIMULATION: &str = "the built-in simulation of stimulator and ignition";
/// A stimulator in words, before its place.
pub const STIMULATOR_AT: &str = "the stimulator at ";
/// A trace in words, before its file.
pub const TRACE: &str = "the trace ";

/// How it was benched.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BenchSettings {
    /// What was benched, and by what.
    pub driven_by: DrivenBy,
    /// It in words, with its place.
    pub source: String,
    /// Seed of the simulation.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub seed: Option<u64>,
    /// Imperfections that the simulated ignition was given, as typed.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub simulate: Option<String>,
    /// Pulses of the pickup in two crank turns.
    pub pulses_in_two_turns: usize,
    /// Tolerance of settled test points.
    pub tolerance_crank_degrees: f64,
    /// Tolerance on ramps.
    pub tolerance_ramp_crank_degrees: f64,
    /// Tick of the stimulator.
    pub tick_bench_us: f64,
    /// Tick of the ignition.
    pub tick_ignition_us: f64,
    /// By how much the two clocks may differ.
    pub clock_tolerance_percent: f64,
    /// Step of the vacuum output and the sensor together.
    pub vacuum_step_kpa: f64,
    /// Breakpoints of the chosen vacuum curve, kPa depression and crank degrees; absent without one.
    #[serde(skip_serializing_if = "Vec::is_empty", default)]
    pub vacuum_breakpoints: Vec<[f64; 2]>,
    /// The coil whose energy is worked out; absent where the sheet does not say what coil it is.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub coil: Option<CoilSettings>,
}

/// One settled test point.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TestPointResult {
    /// Steady speed.
    pub speed_crank_rpm: f64,
    /// Depression.
    pub depression_kpa: f64,
    /// From which side the speed was reached.
    pub direction: Direction,
    /// What the chosen curve wants, BTDC.
    pub wanted_crank_degrees: f64,
    /// Mean of the whole cycles' errors, early positive; absent where no cycle was whole.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub mean_error_crank_degrees_early: Option<f64>,
    /// Standard deviation of single sparks about their own pulse's mean.
    pub scatter_crank_degrees: f64,
    /// Twice the standard uncertainty of the mean error by its scatter; absent below two whole cycles.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub uncertainty_crank_degrees: Option<f64>,
    /// Systematic bound B, which adds to the uncertainty.
    pub bound_crank_degrees: f64,
    /// What makes B.
    pub bound_parts: Bound,
    /// Greatest less least mean of the pulses of two turns.
    pub pulse_spread_crank_degrees: f64,
    /// Whole cycles measured: the pulses of two crank turns each.
    pub cycles: usize,
    /// Pulses measured.
    pub pulses: usize,
    /// Pulses without a spark.
    pub missing: usize,
    /// Sparks beyond one a pulse.
    pub extra: usize,
    /// Sparks that came further than tolerance and bound from where they were wanted.
    #[serde(default)]
    pub outside: usize,
    /// The spark that is furthest off, early positive; absent where none came.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub worst_spark_crank_degrees_early: Option<f64>,
    /// On-time of the coil; absent where it was not recorded.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub dwell: Option<DwellResult>,
    /// The verdict on this test point.
    pub verdict: Verdict,
}

/// Sparks one by one: the tolerance is how far a spark may come from where it is wanted.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SingleSparksResult {
    /// Sparks judged.
    pub judged: usize,
    /// Those of them that came further than tolerance and bound from where they were wanted.
    pub outside: usize,
    /// What share may be outside at most, with 95 % confidence; a pass needs less than 1/500.
    pub greatest_share: f64,
    /// The spark that is furthest off, early positive.
    pub worst_crank_degrees_early: f64,
    /// The verdict on them.
    pub verdict: Verdict,
}

/// On-time of the coil.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct DwellResult {
    /// Shortest.
    pub least_ms: f64,
    /// Mean.
    pub mean_ms: f64,
    /// Longest.
    pub greatest_ms: f64,
    /// What the sheet's own settings order here: at the battery's voltage, or at that of the shortest dwell where nobody said it.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub ordered_ms: Option<f64>,
    /// What the coil holds after the shortest dwell, worked out and not measured; absent where the battery's voltage or the coil
    /// is not known.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub energy_mj: Option<f64>,
}

/// Offset, lag and the like, each with its expanded uncertainty U (k = 2).
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct RegressionResult {
    /// The same error everywhere, crank degrees, early positive.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub offset_crank_degrees_early: Option<EstimateResult>,
    /// Later with speed, microseconds, late positive.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub lag_us: Option<EstimateResult>,
    /// By how much sparks are later after the speed rose than after it fell, crank degrees.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub up_against_down_crank_degrees: Option<EstimateResult>,
    /// Vacuum advance missing at full depression, crank degrees.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub vacuum_shortfall_crank_degrees: Option<EstimateResult>,
    /// What these test points do not tell from the others, in words.
    #[serde(skip_serializing_if = "Vec::is_empty", default)]
    pub not_told_apart: Vec<String>,
    /// Chi-square over its degrees of freedom; above 1 it widened the uncertainties.
    pub reduced_chi_square: f64,
}

/// An estimate in the unit of its field.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct EstimateResult {
    /// The estimate.
    pub value: f64,
    /// Expanded uncertainty, k = 2.
    pub expanded_uncertainty: f64,
    /// The part of it that more sparks would lessen, k = 2: their scatter alone. Absent in results of older tools.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub by_scatter: Option<f64>,
    /// What no number of sparks lessens: by how much bench, ticks and clocks may be off, added up without a root. Absent in results of older
    /// tools.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub bound: Option<f64>,
    /// The standard uncertainties that make it.
    pub parts: Vec<UncertaintyPart>,
}

/// One line of the list that makes U.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct UncertaintyPart {
    /// Where it comes from.
    pub name: String,
    /// As a standard uncertainty.
    pub standard_uncertainty: f64,
}

/// Counts over all settled test points.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Counts {
    /// Test points of the plan.
    pub planned_test_points: usize,
    /// Test points that passed.
    pub passed: usize,
    /// Test points that failed.
    pub failed: usize,
    /// Test points that stayed undecided.
    pub undecided: usize,
    /// Pulses measured.
    pub pulses: usize,
    /// Pulses without a spark.
    pub missing: usize,
    /// Sparks beyond one a pulse.
    pub extra: usize,
}

/// One thing that is wrong.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FindingResult {
    /// What it is about.
    pub kind: FindingKind,
    /// It in words, with figures and what to do.
    pub sentence: String,
}

impl BenchResult {
    /// What a verdict rests on besides what was driven, such as `simulated, 6 assumptions`; empty where nothing was assumed.
    pub fn rests_on(&self) -> String {
        let how = if self.is_simulated() { "simulated, " } else { "on " };
        match self.assumptions.len() {
            0 => String::new(),
            1 => format!("{how}1 assumption"),
            count => format!("{how}{count} assumptions"),
        }
    }

    /// Whether the built-in simulation was benched, and no box.
    pub fn is_simulated(&self) -> bool {
        self.settings.driven_by == DrivenBy::Simulation
    }

    /// A result of which nothing is known yet but the name of its sheet: for filling in.
    pub fn not_driven(sheet: &str) -> Self {
        Self {
            schema: SCHEMA.to_owned(),
            tool_version: env!("CARGO_PKG_VERSION").to_owned(),
            sheet: SheetIdentity { name: sheet.to_owned(), file: String::new(), digest: None },
            curve_source: CurveSource {
                readings_file: None,
                readings_digest: None,
                statements: Vec::new(),
                remarks: Vec::new(),
            },
            assumptions: Vec::new(),
            limits: LimitsOutcome { kept: true, statements: Vec::new() },
            settings: BenchSettings {
                driven_by: DrivenBy::Simulation,
                source: String::new(),
                seed: None,
                simulate: None,
                pulses_in_two_turns: 0,
                tolerance_crank_degrees: 0.0,
                tolerance_ramp_crank_degrees: 0.0,
                tick_bench_us: 0.0,
                tick_ignition_us: 0.0,
                clock_tolerance_percent: 0.0,
                vacuum_step_kpa: 0.0,
                vacuum_breakpoints: Vec::new(),
                coil: None,
            },
            test_points: Vec::new(),
            regression: None,
            counts: Counts::of(&[], 0),
            single_sparks: None,
            every_pulse: None,
            cranking: Vec::new(),
            ramps: Vec::new(),
            disturbed_pulses: Vec::new(),
            findings: Vec::new(),
            broken_off: None,
            verdict: Verdict::Undecided,
            not_proven: Vec::new(),
        }
    }

    /// The result as JSON, ended by a line feed.
    pub fn to_json(&self) -> Result<String, serde_json::Error> {
        Ok(serde_json::to_string_pretty(self)? + "\n")
    }
}

/// What bounds the systematic error of a test point, crank degrees; the parts add linearly.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Bound {
    /// The core's arithmetic.
    pub core_crank_degrees: f64,
    /// Half a tick of the stimulator at this speed.
    pub tick_bench_crank_degrees: f64,
    /// Half a tick of the ignition at this speed.
    pub tick_ignition_crank_degrees: f64,
    /// The clocks' tolerance on the slope of the centrifugal curve.
    pub clocks_crank_degrees: f64,
    /// Half a step of depression on the slope of the vacuum curve.
    pub vacuum_step_crank_degrees: f64,
}

impl Bound {
    /// The whole bound B, crank degrees.
    pub fn total(&self) -> f64 {
        self.core_crank_degrees
            + self.tick_bench_crank_degrees
            + self.tick_ignition_crank_degrees
            + self.clocks_crank_degrees
            + self.vacuum_step_crank_degrees
    }
}

/// What a finding is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum FindingKind {
    /// Pulses without a spark.
    Missing,
    /// More sparks than pulses.
    Extra,
    /// One pulse of the two turns sparks elsewhere than the others.
    Pulse,
    /// Sparks are timed by the pickup's other flank.
    Flank,
    /// The same error everywhere.
    Offset,
    /// Later or earlier with speed.
    Lag,
    /// Another curve while the speed rises than while it falls.
    UpDown,
    /// Too little or too much vacuum advance.
    VacuumShortfall,
    /// Later or earlier in proportion to the delay from the flank to the spark.
    Clock,
    /// The centrifugal curve at another speed.
    SpeedAxis,
    /// The vacuum curve at a depression that is off by the same everywhere.
    SensorZero,
    /// The vacuum curve at a depression that is off by a share of it.
    SensorGain,
    /// The pulses of the pickup stand unevenly.
    UnevenPickup,
    /// The shaft turned unevenly within a turn or a pulse.
    UnevenTurning,
    /// A breakpoint of the centrifugal curve lies elsewhere.
    Breakpoint,
    /// Test points depart and no cause above explains it.
    TestPoints,
    /// Single sparks scatter by more than the tolerance.
    Scatter,
    /// Single sparks come outside the tolerance.
    SingleSparks,
    /// Something is wrong at a pulse of a trace that belongs to no test point.
    EveryPulse,
    /// The coil gets too short a dwell, or holds too little energy.
    Dwell,
}

/// From which side a speed was reached.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Direction {
    /// From a lower speed.
    Rising,
    /// From a higher speed.
    Falling,
}

impl Direction {
    /// It in a word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Rising => "rising",
            Self::Falling => "falling",
        }
    }

    /// +1 rising, -1 falling.
    pub fn sign(self) -> f64 {
        match self {
            Self::Rising => 1.0,
            Self::Falling => -1.0,
        }
    }
}

/// The coil of a bench run.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CoilSettings {
    /// Of the whole loop.
    pub resistance_ohm: f64,
    /// Of the primary winding.
    pub inductance_mh: f64,
    /// Across the driver while it is on.
    pub driver_drop_volts: f64,
    /// The battery's voltage while it was benched; absent where nobody said it.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub battery_volts: Option<f64>,
    /// What the sheet asks a spark to have; absent where it asks for nothing.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub least_energy_mj: Option<f64>,
}
