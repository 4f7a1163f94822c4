//! What the readings of a coil come to, as it is saved.

use super::figures::Section;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Marks the format.
pub const SCHEMA: &str = "bobweight-coil/1";

/// Everything that is printed or saved of a coil that was read by a meter.
#[derive(Clone, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct CoilResult {
    /// Always `bobweight-coil/1`.
    #[schemars(extend("const" = SCHEMA))]
    pub schema: String,
    /// Version of the tool that made it.
    pub tool_version: String,
    /// What was measured, one sentence each.
    pub measured: Vec<String>,
    /// Ohms of the primary winding, cold.
    pub coil_ohm: Option<Measured>,
    /// Ohms of ballast and wiring.
    pub rest_ohm: Option<Measured>,
    /// Millihenries.
    pub inductance_mh: Option<Measured>,
    /// Dwell, current and energy.
    pub dwell: Section<DwellOfCoil>,
    /// What heats the winding.
    pub heat: Section<Heat>,
    /// What the readings do not tell, one sentence each.
    pub not_told: Vec<String>,
}

/// A figure, and by how much it may be out.
#[derive(Clone, Copy, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct Measured {
    /// The figure.
    pub value: f64,
    /// It may be out by so much to either side, in some 95 of 100 cases; nothing where a meter's accuracy is not known.
    pub give_or_take: Option<f64>,
}

/// Dwell, current and energy of a coil.
#[derive(Clone, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct DwellOfCoil {
    /// Amperes wanted at the spark.
    pub wanted_a: f64,
    /// Millijoules that the coil holds at that current.
    pub energy_mj: Measured,
    /// No dwell is longer, milliseconds.
    pub largest_dwell_ms: f64,
    /// One row for each battery voltage.
    pub table: Vec<CoilRow>,
    /// The speed of the last columns; nothing where it is not known.
    pub top: Option<TopSpeed>,
    /// Current limit and ballast, one sentence each.
    pub ballast: Vec<String>,
    /// The lines of a sheet.
    pub sheet_lines: Vec<String>,
}

/// The speed at which dwell is shortest.
#[derive(Clone, Copy, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct TopSpeed {
    /// Crank rpm.
    pub crank_rpm: f64,
    /// Cylinders that the one coil serves.
    pub cylinders: u32,
    /// Whether the ignition's own rules were asked, edge by edge; else its time is what duty and burn time leave, at most.
    pub by_its_rules: bool,
    /// Share of the time that the coil may be on.
    pub largest_duty: f64,
    /// Milliseconds that a spark burns.
    pub burn_time_ms: f64,
}

/// Dwell, current and energy at one battery voltage.
#[derive(Clone, Copy, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct CoilRow {
    /// Volts of the battery.
    pub volts: f64,
    /// Milliseconds of the table.
    pub dwell_ms: f64,
    /// Amperes at the end of that.
    pub current_a: f64,
    /// Millijoules then.
    pub energy_mj: f64,
    /// The same at top speed.
    pub at_top: Option<AtTop>,
}

/// Dwell and energy at top speed.
#[derive(Clone, Copy, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct AtTop {
    /// Milliseconds that are left of the dwell.
    pub dwell_ms: f64,
    /// Millijoules after that, winding cold.
    pub energy_mj: Measured,
    /// Millijoules with the winding 100 K warmer.
    pub hot_energy_mj: f64,
}

/// What heats the winding, and how warm it gets.
#[derive(Clone, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct Heat {
    /// What the clock told; nothing where nobody looked.
    pub warmed: Option<Warmed>,
    /// Degrees Celsius of the air about the coil that the rows are reckoned for; nothing where no temperature is known.
    pub air_c: Option<f64>,
    /// Volts of the battery that they are reckoned for.
    pub volts: f64,
    /// Watts that the sheet allows in the winding while the engine runs; absent in older results, and where no sheet says.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub greatest_w: Option<f64>,
    /// One for each use.
    pub rows: Vec<HeatRow>,
}

/// A winding that was watched getting warm.
#[derive(Clone, Copy, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct Warmed {
    /// Kelvin above what it was before, at the last reading.
    pub rise_k: Measured,
    /// Watts in the winding then.
    pub watts: f64,
    /// Kelvin for each watt: in the end where `at_end`, else at least.
    pub kelvin_per_watt: Measured,
    /// Whether two readings told where it ends.
    pub at_end: bool,
    /// Minutes in which it comes two thirds of the way; nothing where one reading cannot tell.
    pub time_constant_min: Option<f64>,
}

/// The heat in one use.
#[derive(Clone, Copy, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct HeatRow {
    /// The use.
    pub used: HeatedBy,
    /// Watts in the winding.
    pub watts: f64,
    /// Degrees Celsius that the winding reaches; nothing where the clock did not tell.
    pub winding_c: Option<f64>,
}

/// What the coil is used for.
#[derive(Clone, Copy, Debug, Deserialize, Eq, JsonSchema, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum HeatedBy {
    /// Current that is left on: contacts that stand closed, or a driver that sticks.
    LeftOn,
    /// Idling.
    Idle,
    /// The greatest speed.
    TopSpeed,
}
