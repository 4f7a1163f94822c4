//! What the dwell of a run leaves the coil.

use super::Bench;
use crate::curve::figures::coil::steady_dwell_s;
use crate::proof::verdict::{FindingKind, JudgedPoint, Setting, Verdict};
use crate::record::bench::{BenchResult, CoilSettings, DwellResult, FindingResult, TestPointResult};
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
