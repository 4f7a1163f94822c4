//! What keys of different tables must keep between them. A rule is asked wherever all its keys are there.

use super::Sheet;
use super::curve::VacuumSource;
use super::engine::{CYCLE_CRANK_DEGREES, EVEN_WITHIN_CRANK_DEGREES, OldAdvance};
use super::error::SheetError;
use super::key::Key;
use super::pickup::{PickupKind, PickupPlace};
use super::sensor::SensorKind;
use crate::words::number::{short, whole};
use bobweight::Limit;

/// Two advances that must be one are never further apart than the core's own step, crank degrees.
const SAME_ANGLE: f64 = 1.0 / 256.0;

pub(super) fn judge(sheet: &Sheet) -> Result<(), SheetError> {
    engine(sheet)?;
    pickup(sheet)?;
    speeds(sheet)?;
    vacuum(sheet)?;
    limits(sheet)?;
    coil(sheet)
}

fn engine(sheet: &Sheet) -> Result<(), SheetError> {
    let engine = &sheet.engine;
    if let (Some(cylinders), Some(order)) = (engine.cylinders.value(), engine.firing_order.value()) {
        let mut sorted = order.clone();
        sorted.sort_unstable();
        if !sorted.iter().copied().eq(1..=*cylinders) {
            return Err(engine.firing_order.refuse(
                format!("has not each of the {cylinders} cylinders once"),
                "each cylinder once",
                format!("write the numbers 1 to {cylinders} in the order of their sparks"),
            ));
        }
    }
    intervals(sheet)?;
    pulses(sheet)
}

/// Firing intervals are of one cycle, and every cylinder has its own.
fn intervals(sheet: &Sheet) -> Result<(), SheetError> {
    let engine = &sheet.engine;
    let key = &engine.firing_intervals_crank_degrees;
    let Some(intervals) = key.value() else { return Ok(()) };
    let sum: f64 = intervals.iter().sum();
    if (sum - CYCLE_CRANK_DEGREES).abs() > EVEN_WITHIN_CRANK_DEGREES {
        return Err(key.refuse(
            format!("comes to {} crank degrees in all, and a cycle has {CYCLE_CRANK_DEGREES}", short(sum, 2)),
            "is no whole cycle",
            "write the crank degrees from each spark to the next in two turns of the crank, in the order of `firing_order`",
        ));
    }
    if let Some(cylinders) = engine.cylinders.value()
        && intervals.len() != *cylinders as usize
    {
        return Err(key.refuse(
            format!("has {} intervals, and the engine has {cylinders} cylinders", intervals.len()),
            "one for each cylinder",
            format!("write {cylinders}: from the spark of each cylinder in `firing_order` to the next one's"),
        ));
    }
    Ok(())
}

/// One coil sparks once a pulse. Under a cap each spark goes to the tower that the rotor points at, so one between two towers
/// burns cap and rotor, or finds the next cylinder on its way up. Without a cap a double-ended coil serves two cylinders at most, with
/// one spark in each turn: more would come where a piston is half up, or at the bottom, with fresh mixture above it.
fn pulses(sheet: &Sheet) -> Result<(), SheetError> {
    let (engine, pickup) = (&sheet.engine, &sheet.pickup);
    let Some(pulses) = pickup.pulses_in_two_turns.value() else { return Ok(()) };
    let place = pickup.place.value();
    if place == Some(&PickupPlace::Crank) && pulses % 2 != 0 {
        return Err(pickup.pulses_in_two_turns.refuse(
            format!("is {pulses}, and the pickup sits on the crank"),
            "cannot be: each turn of the crank passes the same places, so two turns have an even count",
            "count the pulses of one turn and write twice as many, or write where the pickup sits as `place`",
        ));
    }
    let Some(cylinders) = engine.cylinders.value() else { return Ok(()) };
    let capped = place == Some(&PickupPlace::Distributor) || *cylinders > 2;
    let (wrong, otherwise) = if capped && pulses > cylinders {
        (true, "would spark between the towers of the cap")
    } else if !capped && *pulses > 2 {
        (true, "would spark away from top dead centre too")
    } else {
        (pulses % cylinders != 0, "would leave a cylinder without its spark")
    };
    if wrong {
        return Err(pickup.pulses_in_two_turns.refuse(
            format!("is {pulses}, and the engine has {cylinders} cylinders"),
            otherwise,
            if capped {
                format!("each cylinder has one spark in two turns of the crank: count the pulses again and write {cylinders}")
            } else {
                "without a cap each turn of the crank may have one spark: count the pulses again and write 2".to_owned()
            },
        ));
    }
    Ok(())
}

fn pickup(sheet: &Sheet) -> Result<(), SheetError> {
    let pickup = &sheet.pickup;
    if pickup.place.value() == Some(&PickupPlace::Distributor) {
        let old_advance = &sheet.distributor.old_advance;
        if old_advance.value() == Some(&OldAdvance::Working) {
            return Err(old_advance.refuse(
                "is `working`, and the pickup sits in that distributor",
                "would move the pickup, and add its advance to the new one",
                "lock weights and vacuum plate, then write `old_advance = \"locked\"`",
            ));
        }
    }
    coil_pickup(sheet)?;
    let second_flank = &pickup.second_flank_angle_crank_degrees;
    let Some(second) = second_flank.value() else {
        return Ok(());
    };
    if let Some(first) = pickup.angle_crank_degrees.value()
        && second >= first
    {
        return Err(second_flank.refuse(
            format!("is {} crank degrees BTDC, not after the first flank at {}", short(*second, 3), short(*first, 3)),
            "comes before the first flank",
            "write the flank that comes first, which has the greater angle, as `angle`",
        ));
    }
    cranking_at(sheet, *second, "the second flank", "`second_flank_angle`")
}

/// Cranking sparks come at a flank, and the cranking advance is its angle.
fn cranking_at(sheet: &Sheet, flank: f64, what: &str, key: &str) -> Result<(), SheetError> {
    let cranking = &sheet.advance.cranking_crank_degrees;
    match cranking.value() {
        Some(angle) if (angle - flank).abs() > SAME_ANGLE => Err(cranking.refuse(
            format!("is {} crank degrees, and {what} stands at {}", short(*angle, 3), short(flank, 3)),
            format!("is not where {what} is"),
            format!(
                "cranking sparks come at {what}: write `cranking = \"{} crank degrees\"`, or leave {key} out",
                short(flank, 3)
            ),
        )),
        _ => Ok(()),
    }
}

/// What is true of a coil alone stands beside no other pickup, and the other way round.
fn coil_pickup(sheet: &Sheet) -> Result<(), SheetError> {
    let pickup = &sheet.pickup;
    let (moving_flank, signal_from) = (&pickup.moving_flank_crank_degrees, &pickup.signal_from_crank_rpm);
    match pickup.kind.value() {
        Some(PickupKind::Coil) => {
            let second_flank = &pickup.second_flank_angle_crank_degrees;
            if second_flank.value().is_some() {
                return Err(second_flank.refuse(
                    "stands beside `kind = \"coil\"`",
                    "holds no angle: the other flank of a coil moves with the speed",
                    "write the zero crossing as `angle`, and between which angles the other flank lies before it as `moving_flank`, such \
                     as `moving_flank = [\"18 crank degrees BTDC\", \"13 crank degrees BTDC\"]`; or take `second_flank_angle` out",
                ));
            }
        }
        Some(_) => {
            let place = [(moving_flank.value().is_some(), moving_flank.place())]
                .into_iter()
                .chain([(signal_from.value().is_some(), signal_from.place())])
                .find_map(|(there, place)| there.then_some(place));
            if let Some(place) = place {
                return Err(place.refuse(
                    "stands beside another pickup than a coil",
                    "is of a coil alone",
                    "take it out, or write `kind = \"coil\"`; the flank of a vane or a slot that holds its angle is `second_flank_angle`",
                ));
            }
        }
        None => {}
    }
    let Some([earliest, latest]) = moving_flank.value() else { return Ok(()) };
    if earliest < latest {
        return Err(moving_flank.refuse(
            format!("runs from {} to {} crank degrees BTDC", short(*earliest, 3), short(*latest, 3)),
            "the earliest angle first",
            "write the greater angle first: where the flank lies at the highest speed, then where it lies at the lowest",
        ));
    }
    let Some(crossing) = pickup.angle_crank_degrees.value() else { return Ok(()) };
    if latest <= crossing {
        return Err(moving_flank.refuse(
            format!(
                "comes to {} crank degrees BTDC, not before the zero crossing at {}",
                short(*latest, 3),
                short(*crossing, 3)
            ),
            "would come after the zero crossing",
            "the zero crossing ends a coil's pulse: write it as `angle` and its direction as `flank`. Where the flank that holds its angle \
             comes first, change over the coil's two leads",
        ));
    }
    if let Some(pulses) = pickup.pulses_in_two_turns.value() {
        let half = CYCLE_CRANK_DEGREES / 2.0 / f64::from(*pulses);
        if earliest - crossing > half {
            return Err(moving_flank.refuse(
                format!(
                    "begins {} crank degrees before the zero crossing, and half a pulse is {}",
                    short(earliest - crossing, 3),
                    short(half, 3)
                ),
                "is more than half a pulse before the zero crossing",
                "look at both flanks on the conditioner's output: the one that holds its angle is the crossing",
            ));
        }
    }
    cranking_at(sheet, *crossing, "the zero crossing", "`moving_flank`")
}

fn speeds(sheet: &Sheet) -> Result<(), SheetError> {
    let (engine, advance) = (&sheet.engine, &sheet.advance);
    let cranking_below = &advance.cranking_below_crank_rpm;
    let running_from = &advance.running_from_crank_rpm;
    let spark_again_below = &advance.spark_again_below_crank_rpm;
    let no_spark_above = &advance.no_spark_above_crank_rpm;
    for (low, high, otherwise) in [
        (cranking_below, running_from, "a speed between the two would flutter"),
        (running_from, &engine.idle_crank_rpm, "an idling engine would count as cranking"),
        (&engine.idle_crank_rpm, &engine.greatest_speed_crank_rpm, "the engine would have no speeds to run at"),
        (spark_again_below, no_spark_above, "sparks would come and go at one speed"),
        (&engine.greatest_speed_crank_rpm, no_spark_above, "the bench tests up to the first"),
    ] {
        below(low, high, "crank rpm", otherwise)?;
    }
    catching(sheet)
}

/// An engine that catches leaves the starter at the fastest place of a compression, and the next pulse comes much sooner than the mean of those before.
/// An ignition that believes no such change takes it for noise, every second one for as long as the engine gathers speed, and times sparks by two
/// pulses as if they were one. From `m N^2 / 192` on it believes any: there the change of speed in a period, `120 a / (m N^2)`, is 5/8, from which
/// on the core's window is at its widest.
fn catching(sheet: &Sheet) -> Result<(), SheetError> {
    let acceleration = &sheet.pickup.greatest_acceleration_crank_rpm_per_s;
    let (Some(told), Some(pulses), Some(starter)) =
        (acceleration.value(), sheet.pickup.pulses_in_two_turns.value(), sheet.starter.speed_crank_rpm.value())
    else {
        return Ok(());
    };
    let least = f64::from(*pulses) * starter * starter / 192.0;
    if *told >= least {
        return Ok(());
    }
    Err(acceleration.refuse(
        format!(
            "is {} crank rpm per s, and the starter turns the engine at {} crank rpm",
            whole(*told),
            whole(*starter)
        ),
        "an engine that catches would have its pulses taken for noise",
        format!(
            "write {} or more: a greater one is always on the safe side, and only wider ranges of sparks come of it",
            whole((least / 10.0).ceil() * 10.0)
        ),
    ))
}

fn vacuum(sheet: &Sheet) -> Result<(), SheetError> {
    let (vacuum, sensor) = (&sheet.vacuum, &sheet.sensor);
    if vacuum.source.value() == Some(&VacuumSource::None) && vacuum.breakpoints.value().is_some() {
        return Err(vacuum.breakpoints.refuse(
            "stands beside `source = \"none\"`",
            "would never be used",
            "take `breakpoints` out, or write where the vacuum is taken: `\"manifold\"` or `\"ported\"`",
        ));
    }
    if let Some([low, high]) = sensor.band_volts.value() {
        if low >= high {
            let help = "write the lesser voltage first";
            return Err(sensor.band_volts.refuse("does not rise", "holds no voltage", help));
        }
        if let Some(points) = sensor.calibration.value()
            && points.iter().any(|point| point.volts < *low || point.volts > *high)
        {
            return Err(sensor.band_volts.refuse(
                "does not hold the whole calibration",
                "a good voltage would count as a failure",
                "write a band that begins below the first volts of `calibration` and ends above the last",
            ));
        }
    }
    if sensor.kind.value() == Some(&SensorKind::Differential) && sensor.atmosphere.value().is_some() {
        let help = "take `atmosphere` out: a differential sensor has the atmosphere on its other side";
        return Err(sensor.atmosphere.refuse("stands beside `kind = \"differential\"`", "is never used", help));
    }
    Ok(())
}

fn limits(sheet: &Sheet) -> Result<(), SheetError> {
    let limits = &sheet.limits;
    below(
        limits.of(Limit::Least),
        limits.of(Limit::GreatestWithoutVacuum),
        "crank degrees",
        "no advance could keep both limits",
    )?;
    not_above(limits.of(Limit::GreatestWithoutVacuum), limits.of(Limit::Greatest))?;
    not_above(limits.of(Limit::GreatestCranking), limits.of(Limit::Greatest))?;
    let pickup = &sheet.pickup;
    not_above(&pickup.second_flank_angle_crank_degrees, limits.of(Limit::GreatestCranking))?;
    if pickup.moving_flank_crank_degrees.value().is_some() {
        not_above(&pickup.angle_crank_degrees, limits.of(Limit::GreatestCranking))?;
    }
    let tolerance = &sheet.tolerance;
    not_above(&tolerance.bench_crank_degrees, &tolerance.bench_ramp_crank_degrees)
}

fn coil(sheet: &Sheet) -> Result<(), SheetError> {
    let coil = &sheet.coil;
    if let (Some(dwell), Some(largest)) = (coil.dwell.value(), coil.largest_dwell_s.value())
        && let Some(point) = dwell.iter().find(|point| point.dwell_s > *largest)
    {
        return Err(coil.dwell.refuse(
            format!("has {:.3} ms at {} V, above `largest_dwell`", point.dwell_s * 1e3, short(point.volts, 3)),
            "is longer than the largest dwell",
            format!("write dwells up to {:.3} ms, and look whether `unit` says ms or us", largest * 1e3),
        ));
    }
    if let (Some(inductance), Some(current), Some(least)) =
        (coil.inductance_h.value(), coil.current_a.value(), coil.least_energy_j.value())
    {
        let stored = inductance * current * current / 2.0;
        if *least > stored {
            return Err(coil.least_energy_j.refuse(
                format!(
                    "is {} mJ, and this coil holds {} mJ at its `current`",
                    short(least * 1e3, 1),
                    short(stored * 1e3, 1)
                ),
                "is more than the coil ever holds",
                "ask for less; or want a greater `current`, where coil and driver stand it",
            ));
        }
    }
    Ok(())
}

fn below(low: &Key<f64>, high: &Key<f64>, unit: &str, otherwise: &str) -> Result<(), SheetError> {
    match (low.value(), high.value()) {
        (Some(low_value), Some(high_value)) if low_value >= high_value => Err(low.refuse(
            format!(
                "is {} {unit}, not below `{}`, which is {}",
                short(*low_value, 3),
                high.place().key(),
                short(*high_value, 3)
            ),
            "is not below the other",
            format!("{otherwise}: write a lower value here or a higher one there"),
        )),
        _ => Ok(()),
    }
}

fn not_above(low: &Key<f64>, high: &Key<f64>) -> Result<(), SheetError> {
    match (low.value(), high.value()) {
        (Some(low_value), Some(high_value)) if low_value > high_value => Err(low.refuse(
            format!(
                "is {} crank degrees, above `{}`, which is {}",
                short(*low_value, 3),
                high.place().key(),
                short(*high_value, 3)
            ),
            "is above the other",
            "write a lower value here or a higher one there",
        )),
        _ => Ok(()),
    }
}
