//! The finished result of a check: everything that is printed or saved of it is read from here.
//!
//! Angles are crank degrees before top dead centre, speeds crank rpm, depressions kPa below the atmosphere. A field that is
//! not there does not apply, or the sheet does not say enough yet; `not_told` says which.

use crate::record::sheet::SheetIdentity;
use crate::record::sparks::SparksResult;
use bobweight::Limit;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Marks the format of this result.
pub const SCHEMA: &str = "bobweight-check/1";

/// The result of a check.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CheckResult {
    /// Always `bobweight-check/1`.
    #[schemars(extend("const" = SCHEMA))]
    pub schema: String,
    /// Version of the tool that made it.
    pub tool_version: String,
    /// Which sheet was checked.
    pub sheet: SheetIdentity,
    /// Whether every limit is kept everywhere, and everything that is asked of the sparks.
    pub kept: bool,
    /// The four limits.
    pub limits: Vec<LimitResult>,
    /// For each broken limit where the clamp would act; empty where it never does.
    pub clamp: Vec<ClampResult>,
    /// The lag that is made up for by ordering early.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub lag: Option<LagResult>,
    /// The earliest and the latest spark while cranking.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cranking: Option<CrankingSparks>,
    /// Every spark that the ignition can make; absent in older results, and where the sheet says too little.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sparks: Option<SparksResult>,
    /// A vacuum sensor that sticks inside its band at full throttle.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub stuck_sensor: Option<StuckSensorResult>,
    /// A climb to the highest place of use.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub climb: Option<ClimbResult>,
    /// What a person should think of, in sentences. Nothing of it fails the check.
    pub warnings: Vec<String>,
    /// What the sheet does not say enough for yet, in sentences.
    pub not_told: Vec<String>,
}

/// Which limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum LimitName {
    /// `greatest`.
    Greatest,
    /// `greatest_without_vacuum`.
    GreatestWithoutVacuum,
    /// `greatest_cranking`.
    GreatestCranking,
    /// `least`.
    Least,
}

impl From<Limit> for LimitName {
    fn from(limit: Limit) -> Self {
        match limit {
            Limit::Greatest => Self::Greatest,
            Limit::GreatestWithoutVacuum => Self::GreatestWithoutVacuum,
            Limit::GreatestCranking => Self::GreatestCranking,
            Limit::Least => Self::Least,
        }
    }
}

/// One limit at its worst corner.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LimitResult {
    /// Which limit.
    pub limit: LimitName,
    /// What the sheet allows.
    pub allowed_crank_degrees: f64,
    /// The sum of all advances at the worst corner; while cranking without a second flank, the earliest spark that the crank's
    /// uneven turning makes of the cranking advance.
    pub sum_crank_degrees: f64,
    /// How far the sum stays inside the limit; negative where it breaks it.
    pub margin_crank_degrees: f64,
    /// Whether it is kept everywhere.
    pub kept: bool,
    /// The speed of the worst corner; absent where the cranking or held advance alone is worst.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub speed_crank_rpm: Option<f64>,
    /// The depression of the worst corner; absent without vacuum advance.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub depression_kpa: Option<f64>,
    /// All of it in a sentence.
    pub statement: String,
}

/// From here to there, both counted.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Range {
    /// From.
    pub from: f64,
    /// To.
    pub to: f64,
}

/// Where the clamp would act for one limit.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ClampResult {
    /// Which limit.
    pub limit: LimitName,
    /// Speeds in crank rpm at which it would, with the depression of the worst corner.
    pub speeds_crank_rpm: Vec<Range>,
    /// Depressions in kPa at which it would, at the speed of the worst corner.
    pub depressions_kpa: Vec<Range>,
    /// It in a sentence.
    pub statement: String,
}

/// The lag that is made up for.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LagResult {
    /// The sheet's lag.
    pub lag_us: f64,
    /// The engine's greatest speed, or that above which there is no spark where the sheet does not name one.
    pub speed_crank_rpm: f64,
    /// By how much orders come earlier at that speed.
    pub earlier_crank_degrees: f64,
    /// Where the earliest order stands: the earliest spark if nothing lagged.
    pub earliest_order_crank_degrees: f64,
    /// At which speed that is.
    pub earliest_order_crank_rpm: f64,
    /// It in a sentence.
    pub statement: String,
}

/// Sparks while cranking.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CrankingSparks {
    /// Whether they are timed by the pickup's second flank.
    pub by_second_flank: bool,
    /// Whether they are made at a reluctor's zero crossing; absent in older results, which knew none.
    #[serde(default)]
    pub by_zero_crossing: bool,
    /// The earliest.
    pub earliest_crank_degrees: f64,
    /// The latest; negative after top dead centre.
    pub latest_crank_degrees: f64,
    /// The fastest cranking speed.
    pub fastest_crank_rpm: f64,
    /// It in a sentence.
    pub statement: String,
}

/// A vacuum sensor that sticks.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct StuckSensorResult {
    /// The greatest advance at full throttle.
    pub full_throttle_crank_degrees: f64,
    /// The whole vacuum advance.
    pub vacuum_crank_degrees: f64,
    /// Both together.
    pub sum_crank_degrees: f64,
    /// It in a sentence.
    pub statement: String,
}

/// A climb to the highest place of use.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ClimbResult {
    /// Metres above the sea.
    pub highest_place_m: f64,
    /// The pressure that the sensor's depression is counted from.
    pub atmosphere_kpa: f64,
    /// The standard atmosphere's pressure at the highest place.
    pub pressure_there_kpa: f64,
    /// The depression that the sensor shows too much.
    pub false_depression_kpa: f64,
    /// The advance that it adds at full throttle.
    pub added_at_full_throttle_crank_degrees: f64,
    /// The most that it adds at any depression.
    pub added_at_most_crank_degrees: f64,
    /// It in a sentence.
    pub statement: String,
}

/// Whether the chosen curve keeps the sheet's limits.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LimitsOutcome {
    /// Whether all are kept.
    pub kept: bool,
    /// One sentence a limit.
    pub statements: Vec<String>,
}
