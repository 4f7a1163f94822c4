//! A fit of the old distributor's readings, as it is saved.

use super::interval::Interval;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What a finding is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Deserialize, Serialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Subject {
    /// A reading with the hose off that is probably misread.
    SuspectReading,
    /// Weights that stick: rising against falling speed.
    StickingWeights,
    /// No centrifugal advance at all.
    SeizedAdvance,
    /// The centrifugal advance already moves at the lowest speed read, so the initial timing is not seen.
    InitialContaminated,
    /// The centrifugal advance still rises at the highest speed read.
    Unfinished,
    /// More centrifugal advance on the ramps than the book allows.
    WeakSprings,
    /// Less centrifugal advance on the ramps than the book allows.
    StrongSprings,
    /// More centrifugal advance in all than the book allows.
    PastTheStop,
    /// A hose-on reading that is probably misread.
    SuspectVacuumReading,
    /// The vacuum unit starts later than the book allows.
    VacuumLate,
    /// The vacuum unit gives less than the book allows, or nothing.
    VacuumShort,
    /// The vacuum unit takes advance away.
    VacuumRetards,
    /// The vacuum unit does not hold its depression.
    VacuumLeaks,
}

/// One of three answers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Deserialize, Serialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Answer {
    /// The fault is not there, with a probability of at least 95 %.
    Sound,
    /// The readings leave it open.
    CannotTell,
    /// The fault is there.
    Accused,
}

/// Marks the format.
pub const SCHEMA: &str = "bobweight-fit/1";

/// The result of a fit.
#[derive(Clone, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct FitRecord {
    /// Always `bobweight-fit/1`.
    #[schemars(extend("const" = SCHEMA))]
    pub schema: String,
    /// The file of the readings, as it was named.
    pub readings: String,
    /// Readings with the hose off.
    pub hose_off_readings: usize,
    /// Readings with the hose on.
    pub hose_on_readings: usize,
    /// Seed of the draws.
    pub seed: u64,
    /// Initial timing, crank degrees before top dead centre.
    pub initial_crank_degrees: Interval,
    /// Ramps of the centrifugal curve: 1 or 2.
    pub ramps: usize,
    /// Odds of two ramps against one.
    pub odds_of_two_ramps: f64,
    /// Breakpoints of the centrifugal curve.
    pub centrifugal: Vec<CentrifugalRecord>,
    /// The vacuum curve; null where the readings give none.
    pub vacuum: Option<VacuumRecord>,
    /// Crank degrees by which a falling speed reads above a rising one.
    pub up_down_crank_degrees: Interval,
    /// Standard deviation of a reading, crank degrees.
    pub scatter_crank_degrees: Interval,
    /// Sum of the squared residuals, crank degrees squared.
    pub residual_sum_crank_degrees_squared: f64,
    /// The hose-off reading that is probably misread.
    pub misread: Option<MisreadRecord>,
    /// Another one beside it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub second_misread: Option<MisreadRecord>,
    /// Probability that the curve without vacuum is straight lines with sharp corners; below 0.05 it is rounder, and its breakpoints are
    /// where straight lines fit best. Absent of a fit that did not ask.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sharp_probability: Option<f64>,
    /// Breakpoints that need another reading.
    pub read_next: Vec<ReadNextRecord>,
    /// Probability that the advance still moves at the lowest speed read.
    pub moving_at_lowest: EndRecord,
    /// Probability that the advance still moves at the highest speed read.
    pub moving_at_highest: EndRecord,
    /// Why the fit is not settled; empty where it is.
    pub unsettled: Vec<String>,
    /// What is worn, what is sound and what cannot be told.
    pub findings: Vec<FindingRecord>,
    /// Figures that may stand in the wrong column.
    pub questions: Vec<String>,
}

/// One finding.
#[derive(Clone, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct FindingRecord {
    /// What it is about.
    pub subject: Subject,
    /// Whether it is so.
    pub answer: Answer,
    /// A probability, or for sticking weights and a leak a difference over its standard deviation; null where nothing tells.
    pub statistic: Option<f64>,
    /// Accused where the statistic lies above.
    pub threshold: f64,
    /// What it means and what to do next.
    pub sentence: String,
}

/// A breakpoint of the centrifugal curve.
#[derive(Clone, Copy, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct CentrifugalRecord {
    /// Crank rpm; where the tachometer's accuracy was stated, its interval allows for that as well.
    pub crank_rpm: Interval,
    /// Crank degrees added to the initial timing.
    pub crank_degrees: Interval,
    /// What the interval of the speed is made of, crank rpm; absent where the tachometer's accuracy was not stated.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by_tachometer: Option<ByMeterRecord>,
}

/// What an interval is made of where the meter may be out, in the unit of the figure.
#[derive(Clone, Copy, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct ByMeterRecord {
    /// As the meter shows it, with its 95 % interval by the readings alone.
    pub by_readings: Interval,
    /// The meter may be out by so much either way, the same way at every reading: more readings make it no less.
    pub within: f64,
}

/// The vacuum curve.
#[derive(Clone, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct VacuumRecord {
    /// kPa depression at which the advance begins; where the gauge's accuracy was stated, its interval allows for that as well, and so does the
    /// next.
    pub start_kpa_depression: Interval,
    /// kPa depression at which it is all in.
    pub full_kpa_depression: Interval,
    /// What the interval of its beginning is made of, kPa; absent where the gauge's accuracy was not stated.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub start_by_gauge: Option<ByMeterRecord>,
    /// What the interval of where it is all in is made of, likewise.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub full_by_gauge: Option<ByMeterRecord>,
    /// The whole of it, crank degrees.
    pub greatest_crank_degrees: Interval,
    /// The hose-on reading that is probably misread.
    pub misread: Option<MisreadRecord>,
}

/// A reading that is probably misread.
#[derive(Clone, Copy, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct MisreadRecord {
    /// Line of the readings' file, from 1.
    pub line: usize,
    /// How probable.
    pub probability: f64,
}

/// A breakpoint that needs another reading.
#[derive(Clone, Copy, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct ReadNextRecord {
    /// Which breakpoint, from 1.
    pub breakpoint: usize,
    /// Crank degrees that its uncertainty is worth.
    pub worth_crank_degrees: f64,
    /// Crank rpm to read at.
    pub crank_rpm: f64,
}

/// An end of the survey.
#[derive(Clone, Copy, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct EndRecord {
    /// Crank rpm of the last reading.
    pub crank_rpm: f64,
    /// How probable it is that the advance still moves there.
    pub probability: f64,
}
