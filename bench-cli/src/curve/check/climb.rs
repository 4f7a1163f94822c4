//! What a climb adds falsely: an absolute sensor counts its depression from an atmosphere that lies below.

use crate::quantity::atmosphere::{geopotential_m, pressure_kpa};
use crate::quantity::of_core::{angle_degrees, crank_degrees, depression, kpa_of, rpm_of};
use crate::record::check::ClimbResult;
use crate::sheet::{Atmosphere, SensorKind, Sheet, SheetError};
use crate::words::number::whole;
use bobweight::AdvanceModel;
use bobweight::quantity::Depression;

/// Nothing where the sensor has the atmosphere on its other side. A climb begins at the sea with the key turned on there.
///
/// # Errors
/// Where the sheet does not say what the sensor is, or how high it is used.
pub(super) fn added(
    sheet: &Sheet,
    model: &AdvanceModel,
    warnings: &mut Vec<String>,
) -> Result<Option<ClimbResult>, SheetError> {
    let sensor = &sheet.sensor;
    if *sensor.kind.get()? == SensorKind::Differential {
        return Ok(None);
    }
    let height = *sensor.highest_place_m.get()?;
    let (atmosphere, counted_from) = match sensor.atmosphere.get()? {
        Atmosphere::ReadAtKeyOn => (pressure_kpa(0.0), "with the key turned on at sea level".to_owned()),
        Atmosphere::Constant(kpa) => (*kpa, format!("with {kpa:.1} kPa for the atmosphere")),
    };
    let there = pressure_kpa(geopotential_m(height));
    let shown = atmosphere - there;
    let gives = |kpa: f64| crank_degrees(model.vacuum_advance(Some(depression(kpa)), false));
    let added = |true_kpa: f64| gives((true_kpa + shown).max(0.0)) - gives(true_kpa);
    let at_full_throttle = added(0.0);
    let at_most = corners(model, shown).into_iter().map(added).fold(0.0, f64::max);
    let [_, full_throttle, ..] = model.judge().0;
    if full_throttle.holds() {
        let sum = angle_degrees(full_throttle.worst.sum) + at_full_throttle;
        let allowed = crank_degrees(full_throttle.allowed);
        if sum > allowed {
            warnings.push(format!(
                "after a climb to {height} m full throttle has {sum:.1} crank degrees at {} crank rpm, beyond the greatest \
                 without vacuum, {allowed:.1}: turn the key off and on up there, or use a differential sensor",
                whole(rpm_of(full_throttle.worst.speed))
            , height = whole(height)));
        }
    }
    let statement = if shown > 0.0 {
        format!(
            "at {height} m the atmosphere is down to {there:.1} kPa: {counted_from}, the sensor shows {shown:.1} kPa too much \
             vacuum there. That adds {at_full_throttle:.1} crank degrees at full throttle, and {at_most:.1} at most",
            height = whole(height)
        )
    } else {
        format!(
            "at {height} m the atmosphere is {there:.1} kPa: {counted_from}, the sensor shows no vacuum that is not there, and \
             nothing is added",
            height = whole(height)
        )
    };
    Ok(Some(ClimbResult {
        highest_place_m: height,
        atmosphere_kpa: atmosphere,
        pressure_there_kpa: there,
        false_depression_kpa: shown,
        added_at_full_throttle_crank_degrees: at_full_throttle,
        added_at_most_crank_degrees: at_most,
        statement,
    }))
}

/// True depressions at which the difference of the curve and the curve moved by `shown` can be greatest: where either has a
/// breakpoint.
fn corners(model: &AdvanceModel, shown: f64) -> Vec<f64> {
    let Some(vacuum) = &model.settings().vacuum else { return Vec::new() };
    let breakpoints = (0..vacuum.curve.count()).map(|i| kpa_of(vacuum.curve.breakpoint(i).0));
    let all = breakpoints.flat_map(|at| [at, at - shown]).chain([0.0]);
    all.filter(|at| (0.0..=kpa_of(Depression::MAX)).contains(at)).collect()
}
