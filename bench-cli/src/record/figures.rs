//! The operating figures, as they are saved.

use super::check::LimitsOutcome;
use super::sheet::SheetIdentity;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Marks the format.
pub const SCHEMA: &str = "bobweight-figures/1";

/// Everything that is printed or saved of an engine's figures.
#[derive(Clone, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct FiguresResult {
    /// Always `bobweight-figures/1`.
    #[schemars(extend("const" = SCHEMA))]
    pub schema: String,
    /// Version of the tool that made it.
    pub tool_version: String,
    /// Which sheet.
    pub sheet: SheetIdentity,
    /// What the engine is, as far as the sheet says.
    pub engine: String,
    /// The operating conditions, in the sheet's order.
    pub conditions: Vec<ConditionFigures>,
    /// Whether the sheet names none, and these are the bends of its curve.
    pub conditions_are_proposed: bool,
    /// The initial timing for a wanted total at full throttle, where one is wanted.
    pub full_throttle: Option<FullThrottle>,
    /// The same engine with something changed, where a change is asked for.
    pub what_if: Option<WhatIf>,
    /// Whether the curve keeps its limits.
    pub limits: LimitsOutcome,
    /// What somebody who knows the trade would say to the curve.
    pub advice: Vec<Advice>,
    /// The rotor under the old cap.
    pub rotor: Section<RotorFigures>,
    /// The coil.
    pub coil: Section<CoilFigures>,
}

/// A part of the figures, or why it is not there.
#[derive(Clone, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Section<T> {
    /// It is worked out.
    Known(T),
    /// What is missing for it, with file, line and key, and what to do.
    Missing(String),
}

/// The parts of an advance, crank degrees before top dead centre.
#[derive(Clone, Copy, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct Parts {
    /// The initial timing; while cranking, the cranking advance.
    pub initial_crank_degrees: f64,
    /// The centrifugal advance.
    pub centrifugal_crank_degrees: f64,
    /// The vacuum advance.
    pub vacuum_crank_degrees: f64,
    /// All of them together.
    pub sum_crank_degrees: f64,
    /// What is ordered: the sum within the limits.
    pub total_crank_degrees: f64,
}

/// The figures of one condition.
#[derive(Clone, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct ConditionFigures {
    /// What a person calls it.
    pub name: String,
    /// Crank rpm.
    pub speed_crank_rpm: f64,
    /// kPa below the atmosphere.
    pub depression_kpa: f64,
    /// Whether the throttle is closed.
    pub throttle_closed: bool,
    /// What the ignition gives; nothing where there is no spark.
    pub parts: Option<Parts>,
    /// What people reckon: the whole of each part that has begun.
    pub plain_sum: Option<Parts>,
    /// Why the two differ, one sentence each; empty where they do not.
    pub why: Vec<String>,
}

/// The same engine with something changed.
#[derive(Clone, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct WhatIf {
    /// What is changed, one sentence each.
    pub changed: Vec<String>,
    /// The conditions of the engine as it is, each with the change.
    pub conditions: Vec<ConditionFigures>,
    /// Whether the changed curve keeps its limits.
    pub limits: LimitsOutcome,
    /// What somebody who knows the trade would say to the changed curve.
    pub advice: Vec<Advice>,
}

/// The initial timing that gives a wanted total at full throttle.
#[derive(Clone, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct FullThrottle {
    /// The wanted total, crank degrees before top dead centre.
    pub wanted_crank_degrees: f64,
    /// The initial timing for it.
    pub initial_crank_degrees: f64,
    /// What the centrifugal curve adds.
    pub centrifugal_crank_degrees: f64,
    /// The lowest speed with that much, crank rpm.
    pub from_crank_rpm: f64,
}

/// What a piece of advice is about.
#[derive(Clone, Copy, Debug, Deserialize, Eq, JsonSchema, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Topic {
    /// Vacuum advance that is there at full throttle.
    VacuumAtFullThrottle,
    /// A vacuum unit that is not all in at idle, or only just.
    VacuumAtIdle,
    /// An advance that moves with the speed of idling.
    Hunting,
    /// A high cranking advance.
    Cranking,
    /// A pickup far from the cranking advance.
    PickupFarFromCranking,
    /// Where a reluctor's zero crossing is set: the static advance.
    ZeroCrossing,
    /// Thin air.
    Altitude,
    /// Where the hose goes.
    PortedOrManifold,
    /// A total outside of the range that the sheet says is expected there.
    Expected,
    /// Vacuum figures that may be in another unit.
    VacuumUnits,
    /// Centrifugal figures that may be of the distributor.
    DistributorFigures,
}

/// Where a piece of advice comes from.
#[derive(Clone, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Basis {
    /// People of the trade do so; nobody has published why.
    CommonPractice,
    /// A publication.
    Source(String),
    /// It follows from the sheet's own figures; the threshold is this tool's.
    Reckoned,
}

impl Basis {
    /// It in words.
    pub fn in_words(&self) -> String {
        match self {
            Self::CommonPractice => "common practice, no source".to_owned(),
            Self::Source(source) => format!("source: {source}"),
            Self::Reckoned => "reckoned from the sheet; the threshold is this tool's own".to_owned(),
        }
    }
}

/// A piece of advice.
#[derive(Clone, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct Advice {
    /// What it is about.
    pub topic: Topic,
    /// What is so, with figures.
    pub text: String,
    /// Why it matters, and what to do.
    pub reason: String,
    /// Where it comes from.
    pub basis: Basis,
}

/// How far a rotor travels under its cap from the earliest to the latest spark, and how it lies best.
#[derive(Clone, Copy, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct Travel {
    /// The latest spark, crank degrees before top dead centre; where old weights work, less what they have turned the rotor.
    pub latest_crank_degrees: f64,
    /// The earliest spark, likewise.
    pub earliest_crank_degrees: f64,
    /// From one tower to the next, distributor degrees; where an engine fires unevenly, the least of them.
    pub towers_apart_distributor_degrees: f64,
}

/// The rotor of an engine.
#[derive(Clone, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct RotorFigures {
    /// From the earliest to the latest spark.
    pub travel: Travel,
    /// Where to line it up with the tower of cylinder 1, crank degrees before top dead centre.
    pub line_up_crank_degrees: f64,
    /// How far it stands from the tower at either end, distributor degrees.
    pub each_side_distributor_degrees: f64,
    /// The distance to the nearest other tower at either end, distributor degrees.
    pub other_tower_distributor_degrees: f64,
    /// By how much tip and tower face each other at either end, distributor degrees; negative is a gap. Nothing where their
    /// widths are not given.
    pub overlap_at_ends_distributor_degrees: Option<f64>,
    /// Where the rotor stands at the pickup's flank, distributor degrees before its tower; negative past it. Nothing where the
    /// sheet has no flank.
    pub at_flank_before_tower_distributor_degrees: Option<f64>,
    /// The flank, crank degrees before top dead centre.
    pub flank_crank_degrees: Option<f64>,
    /// While cranking with a weak battery: the latest spark, crank degrees before top dead centre.
    pub latest_cranking_crank_degrees: Option<f64>,
    /// The shaft of the pickup; nothing where the sheet does not say.
    pub pickup: Option<PickupShaft>,
    /// Whether the old weights still turn the rotor.
    pub weights_work: bool,
    /// Which way it turns, seen from above the cap.
    pub clockwise: bool,
    /// The cylinders in the order in which the rotor meets their towers.
    pub towers: Vec<u32>,
    /// Where an engine fires unevenly: where each of these towers has to stand, distributor degrees from that of cylinder 1 on in
    /// the rotor's direction.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub towers_at_distributor_degrees: Option<Vec<f64>>,
}

/// The shaft of the pickup.
#[derive(Clone, Copy, Debug, Deserialize, Eq, JsonSchema, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum PickupShaft {
    /// In the distributor: turning its body moves pickup and towers together.
    Distributor,
    /// On the camshaft.
    Cam,
    /// On the crankshaft.
    Crank,
}

/// The figures of a coil.
#[derive(Clone, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct CoilFigures {
    /// The wanted current, amperes.
    pub wanted_a: f64,
    /// The most that the circuit could ever draw at the highest voltage of the table, amperes.
    pub most_ever_a: f64,
    /// Below this battery voltage the wanted current is never reached, volts.
    pub never_below_volts: f64,
    /// One row for each voltage.
    pub table: Vec<DwellRow>,
    /// Whether `dwell` below is the sheet's own; else it is the needed one.
    pub dwell_is_of_sheet: bool,
    /// The greatest current between the rows, for straight lines between them ask for a little too much: amperes.
    pub greatest_between_rows_a: f64,
    /// The battery voltage of that, volts.
    pub greatest_between_rows_volts: f64,
    /// Where the engine is too fast to give the dwell; a sentence where it cannot be told.
    pub cut_short: Section<Vec<CutShort>>,
}

/// The dwell at one battery voltage.
#[derive(Clone, Copy, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct DwellRow {
    /// Volts of the battery.
    pub volts: f64,
    /// Milliseconds until the wanted current; nothing where it is never reached.
    pub needed_ms: Option<f64>,
    /// Milliseconds that it gets.
    pub dwell_ms: f64,
    /// Amperes at the end of that.
    pub current_a: f64,
}

/// The dwell at the speeds of the engine.
#[derive(Clone, Copy, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct CutShort {
    /// Volts of the battery.
    pub volts: f64,
    /// The lowest speed at which the dwell is cut short, crank rpm; nothing where it is not.
    pub from_crank_rpm: Option<f64>,
    /// The shortest dwell at any speed, milliseconds.
    pub shortest_ms: f64,
    /// Where that is, crank rpm.
    pub shortest_at_crank_rpm: f64,
    /// Amperes at the end of the shortest dwell.
    pub current_a: f64,
}
