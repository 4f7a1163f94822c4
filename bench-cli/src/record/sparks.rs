//! Every spark that an ignition can make, as it was worked out. Angles are crank degrees before top dead centre, negative after it.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The list, and what it was held to.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SparksResult {
    /// One row for each cause.
    pub rows: Vec<SparkResult>,
    /// The sparks of the starter at each voltage of the dwell table that the battery can have then.
    pub cranking: Vec<CrankingAtVoltage>,
    /// What is asked of them.
    pub demands: Vec<DemandResult>,
    /// What the sheet does not say and was assumed, in sentences.
    pub assumed: Vec<String>,
}

/// The sparks of one cause.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SparkResult {
    /// Its name, such as `lost_edge`.
    pub cause: String,
    /// Whether a sound engine makes them again and again; the others take a fault, or are the few of an engine that catches.
    pub ordinary: bool,
    /// The angles; absent where there is no spark.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub angles: Option<SparkAngles>,
    /// The energy; absent where there is no spark, or the sheet does not say what coil it is.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub energy: Option<SparkEnergy>,
    /// All of it in a sentence, with the rule that bounds it.
    pub statement: String,
}

/// Between which angles they lie.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SparkAngles {
    /// The earliest.
    pub earliest_crank_degrees: f64,
    /// About the speed there.
    pub earliest_at_crank_rpm: f64,
    /// The latest.
    pub latest_crank_degrees: f64,
    /// About the speed there.
    pub latest_at_crank_rpm: f64,
    /// Whether the range is a whole pulse or more.
    pub anywhere: bool,
    /// How the rotor stands; absent without a cap.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub rotor: Option<RotorAtSparks>,
}

/// How a rotor stands, distributor degrees.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct RotorAtSparks {
    /// Before its own tower, at most; negative where it is always past it.
    pub before_distributor_degrees: f64,
    /// Past its own tower, at most; negative where it is always before it.
    pub past_distributor_degrees: f64,
    /// How far the nearest other tower is then, at least.
    pub other_tower_distributor_degrees: f64,
}

/// The energy of sparks.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SparkEnergy {
    /// The least: winding hot, battery low.
    pub least_mj: f64,
    /// The greatest: winding cold, battery high.
    pub greatest_mj: f64,
}

/// The sparks of the starter at one voltage.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CrankingAtVoltage {
    /// At the ignition.
    pub volts: f64,
    /// The earliest.
    pub earliest_crank_degrees: f64,
    /// The latest.
    pub latest_crank_degrees: f64,
    /// The energy.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub energy: Option<SparkEnergy>,
}

/// What is asked of the sparks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum DemandName {
    /// No spark of a starting engine is beyond the greatest cranking limit.
    KickBack,
    /// The rotor stands nearest to its own tower.
    OwnTower,
    /// Enough energy.
    LeastEnergy,
    /// Not too much current.
    GreatestCurrent,
    /// Not too much heat.
    GreatestHeat,
}

/// One demand.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct DemandResult {
    /// Which.
    pub demand: DemandName,
    /// The cause that comes nearest to breaking it.
    pub cause: String,
    /// Whether it is kept.
    pub kept: bool,
    /// All of it in a sentence.
    pub statement: String,
}
