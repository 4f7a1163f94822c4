//! What the dwell of a run leaves the coil.

use super::Bench;
use crate::curve::circuit::Circuit;
use crate::curve::figures::coil::steady_dwell_s;
use crate::proof::verdict::{JudgedPoint, Setting};
use crate::record::bench::{BenchResult, CoilSettings, DwellResult, FindingKind, FindingResult, TestPointResult};
use crate::record::verdict::Verdict;
use crate::sheet::{Sheet, SheetError};
use crate::words::number::{fixed, short};

impl Bench<'_> {
    /// The same at a battery's voltage that is known: the energy of its sparks can be worked out.
    #[must_use]
    pub fn at_battery(mut self, volts: f64) -> Self {
        self.coil = self.coil.map(|coil| CoilSettings { battery_volts: Some(volts), ..coil });
        self.ordered_at_volts = volts;
        self
    }

    /// What it works the energy out from; nothing where the sheet does not say what coil it is.
    pub fn coil(&self) -> Option<&CoilSettings> {
        self.coil.as_ref()
    }

    /// A judged test point, held to what its dwell leaves the coil.
    pub(super) fn test_point(&self, point: &JudgedPoint, verdict: Verdict, setting: &Setting) -> TestPointResult {
        let conditions = &point.measured.conditions;
        // A closed throttle keeps ported vacuum away, and then it moves nothing.
        let depression = (conditions.vacuum_advance > 0.0).then_some(conditions.depression_kpa);
        let ordered = steady_dwell_s(self.settings, self.ordered_at_volts, conditions.speed_crank_rpm, depression);
        TestPointResult::new(point, verdict, setting).with_coil(self.coil(), ordered * 1e3)
    }
}

/// The voltage at which a dwell table asks for the shortest dwell: nothing less is ever ordered for the battery's sake.
///
/// # Errors
/// Where the sheet has no dwell table.
pub(super) fn volts_of_shortest_dwell(sheet: &Sheet) -> Result<f64, SheetError> {
    let points = sheet.coil.dwell.get()?;
    let shortest = points.iter().min_by(|a, b| a.dwell_s.total_cmp(&b.dwell_s));
    Ok(shortest.map_or(f64::NAN, |point| point.volts))
}

/// What is wrong with the dwell of a run, gravest first.
pub(super) fn findings(result: &BenchResult) -> Vec<FindingResult> {
    let coil = result.settings.coil.as_ref();
    let dwells = || result.test_points.iter().filter_map(|point| Some((point, point.dwell?)));
    let finding = |sentence: String| FindingResult { kind: FindingKind::Dwell, sentence };
    let places = |wrong: &dyn Fn(&DwellResult) -> bool| {
        let others = dwells().filter(|(_, dwell)| wrong(dwell)).count().saturating_sub(1);
        if others == 0 { String::new() } else { format!(", and too little at {others} other test points") }
    };
    let look = "look at the dwell table that the box holds, at its largest duty, and at the battery's voltage as it measures it";
    // Of places that are equally bad to the digits that are told, the first is named: to a hundredth of the order, to 0.1 mJ.
    let worst = |badness: &dyn Fn(&DwellResult) -> Option<f64>| {
        dwells()
            .filter_map(|(point, dwell)| Some((point, dwell, badness(&dwell)?.round())))
            .min_by(|a, b| a.2.total_cmp(&b.2))
            .map(|(point, dwell, _)| (point, dwell))
    };
    let starved = worst(&|dwell| {
        let percent = dwell.mean_ms / dwell.ordered_ms.filter(|_| dwell.is_starved())? * 100.0;
        Some(percent)
    });
    let weak = worst(&|dwell| Some(10.0 * dwell.energy_mj.filter(|_| dwell.is_too_weak(coil))?));
    let weak = weak.zip(coil).map(|((point, dwell), coil)| {
        finding(format!(
            "a starved coil: the shortest dwell of {} ms leaves it {} mJ at {} V, worked out, at {} crank rpm, where the sheet asks \
             for {} mJ{}: {look}",
            fixed(dwell.least_ms, 2),
            fixed(dwell.energy_mj.unwrap_or(0.0), 1),
            short(coil.battery_volts.unwrap_or(0.0), 1),
            fixed(point.speed_crank_rpm, 0),
            short(coil.least_energy_mj.unwrap_or(0.0), 1),
            places(&|dwell| dwell.is_too_weak(Some(coil)))
        ))
    });
    let starved = starved.map(|(point, dwell)| {
        finding(format!(
            "too short a dwell: {} ms in the mean at {} crank rpm, where the sheet's own settings order {} ms{}: {look}",
            fixed(dwell.mean_ms, 2),
            fixed(point.speed_crank_rpm, 0),
            fixed(dwell.ordered_ms.unwrap_or(0.0), 2),
            places(&DwellResult::is_starved)
        ))
    });
    weak.into_iter().chain(starved).collect()
}

/// A dwell below this share of what the settings order starves the coil. The rest is for the battery's voltage as the box
/// measures it: half a volt is a twentieth of the dwell. No source but sense.
pub const STARVED: f64 = 0.9;

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
