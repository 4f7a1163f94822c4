//! `[coil]`: what the coil needs, and what it may be given.

use super::error::SheetError;
use super::key::Key;
use super::points::{Column, points};
use super::table::Table;
use crate::quantity::{CURRENT, ENERGY, INDUCTANCE, POWER, RESISTANCE, SHARE, TIME, VOLTAGE};
use serde::Serialize;

/// A point of the dwell table.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct DwellPoint {
    /// Volts of the battery.
    pub volts: f64,
    /// Seconds.
    pub dwell_s: f64,
}

/// What the starter's contact does with a ballast.
#[derive(Clone, Copy, Debug, Eq, PartialEq, Serialize)]
pub enum Ballast {
    /// It stays in the circuit.
    Kept,
    /// A second contact leads around it.
    Bypassed,
}

/// `[coil]`.
#[derive(Clone, Debug, Serialize)]
pub struct Coil {
    /// Ohms of the whole loop: coil, ballast, wiring.
    pub resistance_ohm: Key<f64>,
    /// Ohms of what is in series with the winding and does not warm like copper; counted in the resistance, too.
    pub ballast_ohm: Key<f64>,
    /// What becomes of the ballast while the starter turns the engine.
    pub ballast_while_cranking: Key<Ballast>,
    /// Henries.
    pub inductance_h: Key<f64>,
    /// Volts across the driver while it is on.
    pub driver_drop_volts: Key<f64>,
    /// Amperes wanted at the spark.
    pub current_a: Key<f64>,
    /// Joules that the coil is to hold at every spark, at the least.
    pub least_energy_j: Key<f64>,
    /// Amperes that coil and driver bear, at the most.
    pub greatest_current_a: Key<f64>,
    /// Watts that the winding bears as heat, at the most.
    pub greatest_heat_w: Key<f64>,
    /// 2 to 16, rising in volts.
    pub dwell: Key<Vec<DwellPoint>>,
    /// Seconds.
    pub largest_dwell_s: Key<f64>,
    /// Fraction of one.
    pub largest_duty: Key<f64>,
    /// Seconds.
    pub burn_time_s: Key<f64>,
}

/// The battery voltages that a dwell table may have: from a 6 V battery under its starter to a 24 V regulator that fails high.
pub const DWELL_TABLE_VOLTS: (f64, f64) = (4.0, 36.0);
/// Longest dwell that any bound allows, seconds.
const LONGEST_DWELL_S: f64 = 0.03;
/// Shortest dwell that makes a spark at all, seconds.
const SHORTEST_DWELL_S: f64 = 0.000_5;

pub(super) fn coil(table: Table) -> Result<Coil, SheetError> {
    let columns = [Column::Of(&VOLTAGE, DWELL_TABLE_VOLTS), Column::Of(&TIME, (SHORTEST_DWELL_S, LONGEST_DWELL_S))];
    let dwell = points(&table, "dwell", 2..=16, columns)?;
    let coil = Coil {
        resistance_ohm: table.quantity("resistance", &RESISTANCE, ("0.1 ohm", "20 ohm"))?,
        ballast_ohm: table.quantity("ballast", &RESISTANCE, ("0 ohm", "20 ohm"))?,
        ballast_while_cranking: table
            .word("ballast_while_cranking", &[("kept", Ballast::Kept), ("bypassed", Ballast::Bypassed)])?,
        inductance_h: table.quantity("inductance", &INDUCTANCE, ("0.1 mH", "100 mH"))?,
        driver_drop_volts: table.quantity("driver_drop", &VOLTAGE, ("0 V", "4 V"))?,
        current_a: table.quantity("current", &CURRENT, ("0.5 A", "30 A"))?,
        least_energy_j: table.quantity("least_energy", &ENERGY, ("1 mJ", "1000 mJ"))?,
        greatest_current_a: table.quantity("greatest_current", &CURRENT, ("0.5 A", "50 A"))?,
        greatest_heat_w: table.quantity("greatest_heat", &POWER, ("1 W", "200 W"))?,
        dwell: dwell.map(|points| points.into_iter().map(|[volts, dwell_s]| DwellPoint { volts, dwell_s }).collect()),
        largest_dwell_s: table.quantity("largest_dwell", &TIME, ("0.5 ms", "30 ms"))?,
        largest_duty: table.quantity("largest_duty", &SHARE, ("5 %", "90 %"))?,
        burn_time_s: table.quantity("burn_time", &TIME, ("0.1 ms", "5 ms"))?,
    };
    table.finish()?;
    Ok(coil)
}
