//! What heats the winding, and how warm it gets.
//!
//! A winding is taken for one body: it gains by the watts in it and loses in proportion to its rise (Newton's law of cooling), `T dr/dt =
//! K P(r) - r`, with K kelvin for each watt in the end and the time constant T. The watts are no constant: copper that gets warm gains
//! resistance, and a coil without a ballast loses a quarter of its watts over 80 K. So the time to a rise is `T` times the integral of
//! `1 / (K P(r) - r)` up to it. One reading by the clock cannot part K from T: it gives the least that K can be, that of a warming which
//! has ended. A second one after twice the time can: its integral is twice that of the first for one K alone.

use super::{CoilReadings, Left, Needed, Use, circuit, measured};
use crate::curve::copper;
use crate::record::coil::{Heat, HeatRow, HeatedBy, Measured, Warmed};
use crate::words::number::short;

/// Seconds in a minute.
const MINUTE: f64 = 60.0;

/// The heat.
///
/// # Errors
/// What is missing for it, in a sentence.
pub(super) fn heat(readings: &CoilReadings, wanted: &Use, needed: Option<&Needed>) -> Result<Heat, String> {
    let (Some(winding), Some(rest)) = (readings.coil_ohm(), readings.rest_ohm()) else {
        return Err("there is missing the winding's own resistance, `--resistance` and `--leads`, and what is in series with it, `--supply` and \
                    `--across-coil`, or `--ballast`"
            .to_owned());
    };
    let warmed = warmed(readings)?;
    let air_c = wanted.air_c.or(readings.cold_c);
    let volts = wanted.battery.to;
    let drop = wanted.driver_drop_volts.unwrap_or(0.0);
    // Watts in a winding at a temperature; the rest of the loop stays as it is.
    let left_on = |ohm: f64| ((volts - drop).max(0.0) / (ohm + rest)).powi(2) * ohm;
    let mut rows = vec![row(HeatedBy::LeftOn, winding, readings, air_c, warmed.as_ref(), left_on)];
    if let (Some(needed), Some(cold)) = (needed, circuit(readings, wanted, 0.0)) {
        let left = Left::of(wanted, &needed.table);
        for (used, speed) in [(HeatedBy::Idle, wanted.idle_crank_rpm), (HeatedBy::TopSpeed, wanted.top_crank_rpm)] {
            let at_speed = || {
                let crank_rpm = speed?;
                Some((left.at(volts, crank_rpm)?, left.period_s(crank_rpm)?))
            };
            let Some((dwell, period)) = at_speed() else { continue };
            let watts = |ohm: f64| {
                let warm = crate::curve::Circuit { resistance_ohm: cold.resistance_ohm - winding + ohm, ..cold };
                warm.square_ampere_seconds(volts, dwell) / period * ohm
            };
            rows.push(row(used, winding, readings, air_c, warmed.as_ref(), watts));
        }
    }
    Ok(Heat { warmed, air_c, volts, greatest_w: wanted.allowed.greatest_heat_w, rows })
}

/// Watts, and the temperature at which they are what the winding gives off.
fn row(
    used: HeatedBy,
    cold_ohm: f64,
    readings: &CoilReadings,
    air_c: Option<f64>,
    warmed: Option<&Warmed>,
    watts: impl Fn(f64) -> f64,
) -> HeatRow {
    let known = warmed.filter(|warmed| !warmed.says_nothing()).zip(readings.cold_c).zip(air_c);
    let Some(((warmed, cold_c), air_c)) = known else {
        return HeatRow { used, watts: watts(cold_ohm), winding_c: None };
    };
    let ohm_at = |celsius: f64| copper::resistance_at(cold_ohm, cold_c, celsius);
    let gets = |celsius: f64| air_c + warmed.kelvin_per_watt.value * watts(ohm_at(celsius));
    // More warmth is more ohms and, by the same volts, not much more watts: halving finds where both agree.
    let (mut low, mut high) = (air_c, HOTTEST_LOOKED_AT_C);
    if gets(high) > high {
        return HeatRow { used, watts: watts(ohm_at(high)), winding_c: Some(high) };
    }
    for _ in 0..60 {
        let middle = f64::midpoint(low, high);
        if gets(middle) > middle { low = middle } else { high = middle }
    }
    HeatRow { used, watts: watts(ohm_at(low)), winding_c: Some(low) }
}

/// No winding is followed further than this, degrees Celsius.
pub(crate) const HOTTEST_LOOKED_AT_C: f64 = 1_000.0;

/// What the clock told.
fn warmed(readings: &CoilReadings) -> Result<Option<Warmed>, String> {
    let (Some(_), Some(after_s)) = (readings.hot, readings.after_s) else { return Ok(None) };
    if readings.cold_c.is_none() {
        return Err(
            "the coil's temperature when it was cold is missing, `--cold`: without it the hot reading tells nothing"
                .to_owned(),
        );
    }
    if readings.supply.is_none() {
        return Err(
            "the volts while it got warm are missing, `--supply` and `--across-coil`: nobody knows what warmed it"
                .to_owned(),
        );
    }
    let twice = readings.hotter.is_some();
    let missing = || {
        format!(
            "the hot readings cannot be reckoned with: {} K warmer, and {} K after twice the time, is no way towards an end. Something \
             changed meanwhile, or they lie too near to each other: let the current flow longer",
            short(rise_k(readings, 0).unwrap_or_default(), 1),
            short(rise_k(readings, 1).unwrap_or_default(), 1)
        )
    };
    let last = usize::from(twice);
    let kelvin_per_watt = move |readings: &CoilReadings| if twice { by_two(readings) } else { by_one(readings) };
    let whole = || {
        let kelvin_per_watt = measured(readings, kelvin_per_watt)?;
        let time_constant_s = |first: f64| Some(after_s / time_constants(readings, first, kelvin_per_watt.value)?);
        Some(Warmed {
            rise_k: measured(readings, |readings| rise_k(readings, last))?,
            watts: watts(readings, rise_k(readings, last)?)?,
            kelvin_per_watt,
            at_end: twice,
            time_constant_min: if twice {
                time_constant_s(rise_k(readings, 0)?).map(|seconds| seconds / MINUTE)
            } else {
                None
            },
        })
    };
    whole().map(Some).ok_or_else(missing)
}

/// Kelvin above the cold at one of the two hot readings.
fn rise_k(readings: &CoilReadings, which: usize) -> Option<f64> {
    let cold_c = readings.cold_c?;
    let (hot, _) = readings.hot_ohm()[which]?;
    Some(copper::temperature_of(readings.coil_ohm()?, cold_c, hot) - cold_c)
}

/// Watts in the winding at a rise, behind what was in series with it while it was read.
fn watts(readings: &CoilReadings, rise: f64) -> Option<f64> {
    let (cold, cold_c, rest) = (readings.coil_ohm()?, readings.cold_c?, readings.rest_ohm()?);
    let driving = readings.supply?.value - readings.across_switch.map_or(0.0, |read| read.value);
    let ohm = copper::resistance_at(cold, cold_c, cold_c + rise);
    Some((driving / (ohm + rest)).powi(2) * ohm)
}

/// The least kelvin for each watt that one reading leaves.
fn by_one(readings: &CoilReadings) -> Option<f64> {
    let rise = rise_k(readings, 0)?;
    Some(rise / watts(readings, rise)?)
}

/// Kelvin for each watt in the end: the one by which the second rise takes twice the time of the first.
fn by_two(readings: &CoilReadings) -> Option<f64> {
    let (a, b) = (rise_k(readings, 0)?, rise_k(readings, 1)?);
    let too_soon = |kelvin_per_watt: f64| {
        let [first, second] = [a, b].map(|rise| time_constants(readings, rise, kelvin_per_watt));
        Some(second? < 2.0 * first?)
    };
    // With as little as the second rise needs it takes for ever; with very much it comes as soon as the watts allow.
    let least = b / watts(readings, b)?;
    let (mut low, mut high) = (least, least * MOST_TIMES);
    if !(b > a && too_soon(high)?) {
        return None;
    }
    for _ in 0..100 {
        let middle = f64::midpoint(low, high);
        // Where it is not reached at all, it is not reached too soon.
        if too_soon(middle).unwrap_or(false) { high = middle } else { low = middle }
    }
    Some(f64::midpoint(low, high))
}

/// A warming whose end lies further off than so many times what was seen of it tells nothing of its end.
const MOST_TIMES: f64 = 1_000.0;
/// Pieces of the integral, an even number.
const PIECES: u32 = 400;

/// The time to a rise in time constants, by Simpson's rule; nothing where it is never reached.
fn time_constants(readings: &CoilReadings, rise: f64, kelvin_per_watt: f64) -> Option<f64> {
    let step = rise / f64::from(PIECES);
    (0..=PIECES)
        .map(|piece| {
            let at = f64::from(piece) * step;
            let gains = kelvin_per_watt * watts(readings, at)? - at;
            let weight = match piece {
                0 | PIECES => 1.0,
                odd if odd % 2 == 1 => 4.0,
                _ => 2.0,
            };
            (gains > 0.0).then(|| weight / gains)
        })
        .sum::<Option<f64>>()
        .map(|sum| sum * step / 3.0)
}

impl Warmed {
    /// Whether the meter is too coarse for it: rise, or what follows of it, may be out by as much as they are.
    pub(crate) fn says_nothing(&self) -> bool {
        let out = |figure: &Measured| figure.give_or_take.is_some_and(|by| by >= figure.value.abs());
        out(&self.rise_k) || out(&self.kelvin_per_watt)
    }
}
