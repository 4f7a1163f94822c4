//! What the dwell leaves the coil: its energy, worked out, and what it is held to.

use super::{DwellResult, TestPointResult};
use crate::curve::circuit::Circuit;
use crate::proof::verdict::Verdict;
use crate::sheet::Sheet;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// A dwell below this share of what the settings order starves the coil. The rest is for the battery's voltage as the box
/// measures it: half a volt is a twentieth of the dwell. No source but sense.
pub const STARVED: f64 = 0.9;

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

impl CoilSettings {
    /// The coil of a sheet; nothing where a key of its circuit is missing.
    pub fn of(sheet: &Sheet) -> Option<Self> {
        Some(Self {
            resistance_ohm: *sheet.coil.resistance_ohm.value()?,
            inductance_mh: sheet.coil.inductance_h.value()? * 1e3,
            driver_drop_volts: *sheet.coil.driver_drop_volts.value()?,
            battery_volts: None,
            least_energy_mj: sheet.coil.least_energy_j.value().map(|joules| joules * 1e3),
        })
    }

    /// What the coil holds after a dwell in milliseconds, mJ; nothing where nobody said the battery's voltage.
    pub fn energy_mj(&self, dwell_ms: f64) -> Option<f64> {
        let circuit = Circuit {
            resistance_ohm: self.resistance_ohm,
            inductance_h: self.inductance_mh * 1e-3,
            driver_drop_volts: self.driver_drop_volts,
        };
        self.battery_volts.map(|volts| circuit.energy_j(volts, dwell_ms * 1e-3) * 1e3)
    }
}

impl DwellResult {
    /// Whether the coil gets what the settings order, and holds what the sheet asks for.
    pub fn verdict(&self, coil: Option<&CoilSettings>) -> Verdict {
        if self.is_starved() || self.is_too_weak(coil) { Verdict::Fail } else { Verdict::Pass }
    }

    /// Whether the dwell falls short of what the settings order.
    pub fn is_starved(&self) -> bool {
        self.ordered_ms.is_some_and(|ordered| self.mean_ms < STARVED * ordered)
    }

    /// Whether the shortest dwell leaves less energy than the sheet asks for.
    pub fn is_too_weak(&self, coil: Option<&CoilSettings>) -> bool {
        let least = coil.and_then(|coil| coil.least_energy_mj);
        self.energy_mj.zip(least).is_some_and(|(energy, least)| energy < least)
    }
}

impl TestPointResult {
    /// The same with what its dwell leaves the coil, and held to it.
    #[must_use]
    pub fn with_coil(mut self, coil: Option<&CoilSettings>, ordered_ms: f64) -> Self {
        if let Some(dwell) = &mut self.dwell {
            dwell.ordered_ms = Some(ordered_ms);
            dwell.energy_mj = coil.and_then(|coil| coil.energy_mj(dwell.least_ms));
            self.verdict = Verdict::of_all([self.verdict, dwell.verdict(coil)]);
        }
        self
    }
}
