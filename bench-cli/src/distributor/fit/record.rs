//! A fit for programs.

use super::{Answer, Estimate, Finding, FitResult, Misread, Subject, Unsettled, VacuumOutcome};
use crate::distributor::readings::Readings;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Marks the format.
pub const RECORD_SCHEMA: &str = "bobweight-fit/1";

/// The JSON Schema of [`FitRecord`] as committed in `bench-cli/fit.schema.json`, ended by a line feed.
pub fn record_schema() -> String {
    format!("{:#}\n", schemars::schema_for!(FitRecord).as_value())
}

/// The result of a fit.
#[derive(Clone, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct FitRecord {
    /// Always `bobweight-fit/1`.
    #[schemars(extend("const" = RECORD_SCHEMA))]
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

/// A value with its 95 % interval.
#[derive(Clone, Copy, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct Interval {
    /// The value of the found curve.
    pub value: f64,
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

/// A breakpoint of the centrifugal curve.
#[derive(Clone, Copy, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct CentrifugalRecord {
    /// Crank rpm.
    pub crank_rpm: Interval,
    /// Crank degrees added to the initial timing.
    pub crank_degrees: Interval,
}

/// The vacuum curve.
#[derive(Clone, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct VacuumRecord {
    /// kPa depression at which the advance begins.
    pub start_kpa_depression: Interval,
    /// kPa depression at which it is all in.
    pub full_kpa_depression: Interval,
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

impl FitRecord {
    /// A fit, as it is saved.
    pub fn new(readings: &Readings, fit: &FitResult, findings: &[Finding], questions: Vec<String>, seed: u64) -> Self {
        let breakpoints = fit.knots.iter().zip(&fit.centrifugal);
        Self {
            schema: RECORD_SCHEMA.to_owned(),
            readings: readings.name.clone(),
            hose_off_readings: readings.hose_off().count(),
            hose_on_readings: readings.hose_on().count(),
            seed,
            initial_crank_degrees: fit.initial.into(),
            ramps: fit.ramps,
            odds_of_two_ramps: fit.odds_of_two_ramps,
            centrifugal: breakpoints
                .map(|(knot, rise)| CentrifugalRecord { crank_rpm: (*knot).into(), crank_degrees: (*rise).into() })
                .collect(),
            vacuum: match &fit.vacuum {
                VacuumOutcome::Fitted(vacuum) => Some(VacuumRecord {
                    start_kpa_depression: vacuum.start.into(),
                    full_kpa_depression: vacuum.full.into(),
                    greatest_crank_degrees: vacuum.greatest.into(),
                    misread: vacuum.misread.as_ref().map(MisreadRecord::from),
                }),
                VacuumOutcome::NotRead | VacuumOutcome::TooFew { .. } => None,
            },
            up_down_crank_degrees: fit.up_down.into(),
            scatter_crank_degrees: fit.scatter.into(),
            residual_sum_crank_degrees_squared: fit.residual_sum,
            misread: fit.misread.as_ref().map(MisreadRecord::from),
            read_next: fit
                .wide_corners
                .iter()
                .map(|corner| ReadNextRecord {
                    breakpoint: corner.knot + 1,
                    worth_crank_degrees: corner.worth_degrees,
                    crank_rpm: corner.read_next,
                })
                .collect(),
            moving_at_lowest: EndRecord { crank_rpm: fit.lowest.speed, probability: fit.lowest.still_moving },
            moving_at_highest: EndRecord { crank_rpm: fit.highest.speed, probability: fit.highest.still_moving },
            unsettled: fit
                .unsettled
                .iter()
                .map(|why| match why {
                    Unsettled::Readings(count) => format!("only {count} readings with the hose off"),
                    Unsettled::Scatter(scatter) => format!("readings scatter by {scatter:.2} crank degrees"),
                })
                .collect(),
            findings: findings.iter().map(FindingRecord::from).collect(),
            questions,
        }
    }
}

impl From<Estimate> for Interval {
    fn from(Estimate { value, low, high }: Estimate) -> Self {
        Self { value, low, high }
    }
}

impl From<&Finding> for FindingRecord {
    fn from(finding: &Finding) -> Self {
        let Finding { subject, answer, statistic, threshold, sentence } = finding.clone();
        Self { subject, answer, statistic, threshold, sentence }
    }
}

impl From<&Misread> for MisreadRecord {
    fn from(misread: &Misread) -> Self {
        Self { line: misread.reading.line, probability: misread.probability }
    }
}
