//! The rotor under the old cap: where it must point when the spark comes, and how far it stands from its tower then.
//!
//! The rotor turns with the distributor's shaft, half as fast as the crank. A spark that comes early finds it before its
//! tower, a late one past it, by half of the crank degrees. That is geometry; that a distributor turns at half the crank's
//! speed is in U.S. Army TM 10-3930-644-14&P. Where old weights still work, they turn the rotor ahead of its shaft by the
//! advance that they give; the old vacuum unit turned the plate and not the rotor.

use crate::curve::sparks::sparks;
use crate::quantity::of_core::{angle_degrees, speed};
use crate::record::figures::{PickupShaft, RotorFigures, Travel};
use crate::sheet::{OldAdvance, PickupPlace, Rotation, Settings, Sheet, SheetError, centrifugal};
use crate::words::number::short;
use bobweight::quantity::{CrankAngle, CrankSpeed};
use bobweight::sparks::Cause;
use bobweight::{AdvanceModel, Phase};

/// Crank degrees in one distributor degree.
const CRANK_PER_DISTRIBUTOR: f64 = 2.0;
/// Up to here the engine is run with the advance held, crank rpm.
const HELD_UP_TO: f64 = 1_500.0;

impl Travel {
    /// Where the rotor is lined up with its tower: halfway, crank degrees before top dead centre.
    pub fn line_up_crank_degrees(&self) -> f64 {
        f64::midpoint(self.latest_crank_degrees, self.earliest_crank_degrees)
    }

    /// From end to end, distributor degrees.
    pub fn in_all_distributor_degrees(&self) -> f64 {
        (self.earliest_crank_degrees - self.latest_crank_degrees) / CRANK_PER_DISTRIBUTOR
    }

    /// How far the rotor stands before its tower when the crank is this many crank degrees before top dead centre, distributor
    /// degrees; negative past it.
    pub fn before_tower(&self, crank_degrees: f64) -> f64 {
        (crank_degrees - self.line_up_crank_degrees()) / CRANK_PER_DISTRIBUTOR
    }

    /// The distance to the nearest other tower at either end, distributor degrees; negative where the rotor has passed it.
    pub fn other_tower_distributor_degrees(&self) -> f64 {
        self.towers_apart_distributor_degrees - self.in_all_distributor_degrees() / 2.0
    }
}

impl RotorFigures {
    /// Where the towers of an engine that fires unevenly have to stand; nothing of one that fires evenly.
    pub fn towers_at_in_words(&self) -> Option<String> {
        let at = self.towers_at_distributor_degrees.as_ref()?;
        let each: Vec<String> = self
            .towers
            .iter()
            .zip(at)
            .map(|(cylinder, at)| format!("cylinder {cylinder} at {}", short(*at, 1)))
            .collect();
        Some(format!(
            "the engine fires unevenly, so its towers stand unevenly: from that of cylinder 1 in the rotor's direction, distributor \
             degrees, {}. All of this holds for a cap that has them there: measure it. Of a cap whose towers stand elsewhere nothing \
             here is told",
            each.join(", ")
        ))
    }
}

/// By how much the arcs of a tip and a tower face each other when their middles are `apart`; negative is the gap that the
/// spark jumps sideways. All in distributor degrees.
pub fn overlap(tip: f64, tower: f64, apart: f64) -> f64 {
    f64::midpoint(tip, tower) - apart.abs()
}

/// The rotor of a sheet's engine.
///
/// # Errors
/// A key that is missing.
pub fn figures(sheet: &Sheet, model: &AdvanceModel) -> Result<RotorFigures, SheetError> {
    let (distributor, pickup) = (&sheet.distributor, &sheet.pickup);
    let cylinders = *sheet.engine.cylinders.get()?;
    let firing_order = sheet.engine.firing_order.get()?.clone();
    let weights_work = *distributor.old_advance.get()? == OldAdvance::Working;
    let flank = pickup.angle_crank_degrees.value().copied();
    let clockwise = *distributor.rotation.get()? == Rotation::Clockwise;
    let (latest, earliest) = ends(sheet, model, weights_work)?;
    let travel = Travel {
        latest_crank_degrees: angle_degrees(latest),
        earliest_crank_degrees: angle_degrees(earliest),
        towers_apart_distributor_degrees: towers_apart(sheet, cylinders),
    };
    let each_side = travel.in_all_distributor_degrees() / 2.0;
    let widths = distributor.rotor_tip_width_crank_degrees.value().zip(distributor.tower_width_crank_degrees.value());
    let start = firing_order.iter().position(|cylinder| *cylinder == 1).unwrap_or(0);
    Ok(RotorFigures {
        line_up_crank_degrees: travel.line_up_crank_degrees(),
        each_side_distributor_degrees: each_side,
        other_tower_distributor_degrees: travel.other_tower_distributor_degrees(),
        overlap_at_ends_distributor_degrees: widths
            .map(|(tip, tower)| overlap(tip / CRANK_PER_DISTRIBUTOR, tower / CRANK_PER_DISTRIBUTOR, each_side)),
        at_flank_before_tower_distributor_degrees: flank.map(|flank| travel.before_tower(flank)),
        flank_crank_degrees: flank,
        latest_cranking_crank_degrees: None,
        pickup: pickup.place.value().map(PickupShaft::from),
        weights_work,
        clockwise,
        towers: firing_order[start..].iter().chain(&firing_order[..start]).copied().collect(),
        towers_at_distributor_degrees: sheet.engine.uneven_intervals().map(|intervals| towers_at(intervals, start)),
        travel,
    })
}

impl From<&PickupPlace> for PickupShaft {
    fn from(place: &PickupPlace) -> Self {
        match place {
            PickupPlace::Distributor => Self::Distributor,
            PickupPlace::Cam => Self::Cam,
            PickupPlace::Crank => Self::Crank,
        }
    }
}

/// From each tower to the nearest other one, at the least: the rotor turns by half of a firing interval from spark to spark.
fn towers_apart(sheet: &Sheet, cylinders: u32) -> f64 {
    let least = sheet.engine.uneven_intervals().and_then(|intervals| intervals.iter().copied().min_by(f64::total_cmp));
    least.map_or(360.0 / f64::from(cylinders), |least| least / CRANK_PER_DISTRIBUTOR)
}

/// Where each tower has to stand behind that of cylinder 1, which fires at the place `start` of the order, so that the rotor meets
/// all of them alike.
fn towers_at(intervals: &[f64], start: usize) -> Vec<f64> {
    let from_first = intervals[start..].iter().chain(&intervals[..start]);
    from_first
        .scan(0.0, |at, interval| {
            let here = *at;
            *at += interval / CRANK_PER_DISTRIBUTOR;
            Some(here)
        })
        .collect()
}

/// The latest and the earliest spark as the rotor sees it.
fn ends(sheet: &Sheet, model: &AdvanceModel, weights_work: bool) -> Result<(CrankAngle, CrankAngle), SheetError> {
    let settings = model.settings();
    let old = if weights_work { Some(old_curve(sheet)?) } else { None };
    let carried = |speed: CrankSpeed| old.as_ref().map_or(0, |old| old.at(speed).bits());
    let mut speeds = vec![settings.speeds.running_from, settings.speeds.no_spark_above];
    for curve in std::iter::once(&settings.centrifugal).chain(&old) {
        speeds.extend((0..curve.count()).map(|i| curve.breakpoint(i).0));
    }
    let runs = |speed: &CrankSpeed| (settings.speeds.running_from..=settings.speeds.no_spark_above).contains(speed);
    speeds.retain(runs);
    let mut depressions = vec![None];
    if let Some(vacuum) = &settings.vacuum {
        depressions.extend((0..vacuum.curve.count()).map(|i| Some(vacuum.curve.breakpoint(i).0)));
    }
    // Between these corners advance and old curve are straight, so their difference is greatest and least at one of them.
    let mut seen = Vec::new();
    for speed in speeds {
        let running = depressions.iter().filter_map(|at| model.advance(Phase::Running, speed, *at, false));
        seen.extend(running.map(|advance| advance.total.bits() - carried(speed)));
    }
    for (advance, from, to) in [
        (settings.cranking, CrankSpeed::MIN, settings.speeds.running_from),
        (settings.held, settings.speeds.running_from, speed(HELD_UP_TO)),
    ] {
        seen.extend([from, to].map(|speed| advance.bits() - carried(speed)));
    }
    let end = |bits: Option<i32>| CrankAngle::saturating_from_bits(bits.unwrap_or(0));
    Ok((end(seen.iter().copied().min()), end(seen.iter().copied().max())))
}

/// What old weights that still work turn the rotor ahead of its shaft.
///
/// # Errors
/// Where they work and nobody has read them.
pub fn carried(sheet: &Sheet) -> Result<Option<bobweight::CentrifugalCurve>, SheetError> {
    match sheet.distributor.old_advance.value() {
        Some(OldAdvance::Working) => old_curve(sheet).map(Some),
        _ => Ok(None),
    }
}

/// What the old weights do: only readings can tell.
fn old_curve(sheet: &Sheet) -> Result<bobweight::CentrifugalCurve, SheetError> {
    match &sheet.found {
        Some(found) if found.centrifugal.value().is_some() => centrifugal(&found.centrifugal),
        _ => Err(sheet.distributor.old_advance.refuse(
            "is `working`, and nothing is known of how far the old weights turn the rotor",
            "by how much?",
            "read the old distributor and run `bobweight fit READINGS.csv` with `--sheet` and this sheet, or lock the weights \
             and write `\"locked\"`",
        )),
    }
}

/// The same with the latest spark of the starter, where the sheet says enough for the list of sparks.
///
/// # Errors
/// A key that is wrong.
pub fn with_starting(mut figures: RotorFigures, sheet: &Sheet) -> Result<RotorFigures, SheetError> {
    let list = match Settings::from_sheet(sheet).and_then(|settings| sparks(sheet, &settings)) {
        Ok(list) => list,
        Err(error) if error.is_missing_key() || error.is_not_driven() => return Ok(figures),
        Err(error) => return Err(error),
    };
    let cranking = list.row(Cause::Cranking.key()).and_then(|row| row.angles).filter(|angles| !angles.anywhere);
    figures.latest_cranking_crank_degrees = cranking.map(|angles| angles.latest_crank_degrees);
    Ok(figures)
}

#[cfg(test)]
mod tests;
