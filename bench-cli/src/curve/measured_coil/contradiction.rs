//! Readings that cannot be: nothing is worked out of them.

use super::readings::{CoilReadings, Inductance};
use crate::curve::copper;
use crate::words::number::short;

/// Readings that contradict each other or the nature of a coil.
#[derive(Clone, Debug, PartialEq, miette::Diagnostic, thiserror::Error)]
#[error("{what}")]
pub struct Contradiction {
    /// What cannot be.
    pub what: String,
    /// What to do.
    #[help]
    pub help: String,
}

/// Hotter than this no winding of a coil gets and lives, degrees Celsius: class 180 (H) of insulation in IEC 60085, from memory; old
/// coils are of a lower one.
const HOTTEST_C: f64 = 180.0;
/// By so much alternating current may meet less than copper alone, as a share, before it is a contradiction; where the meter's
/// accuracy is known that counts.
const LESS_THAN_COPPER: f64 = 0.1;

fn refuse(what: String, help: &str) -> Result<(), Contradiction> {
    Err(Contradiction { what, help: help.to_owned() })
}

fn ohms(value: f64) -> String {
    format!("{} ohm", short(value, 2))
}

/// Looks for what cannot be.
///
/// # Errors
/// The first contradiction, with what to read again.
pub fn none_in(readings: &CoilReadings) -> Result<(), Contradiction> {
    if let (Some(read), Some(leads)) = (readings.resistance, readings.leads)
        && leads.value >= read.value
    {
        return refuse(
            format!("the leads alone have {}, and with the coil {} were read", ohms(leads.value), ohms(read.value)),
            "hold the meter's tips firmly together for `--leads`, in the same range, and read both again",
        );
    }
    if let (Some(supply), Some(coil)) = (readings.supply, readings.across_coil) {
        let switch = readings.across_switch.map_or(0.0, |read| read.value);
        if coil.value + switch > supply.value {
            return refuse(
                format!(
                    "{} V across coil and switch are more than the {} V of the battery",
                    short(coil.value + switch, 2),
                    short(supply.value, 2)
                ),
                "read all of them while the same current flows, the battery's at its own posts",
            );
        }
    }
    heat(readings)?;
    alternating(readings)
}

fn heat(readings: &CoilReadings) -> Result<(), Contradiction> {
    let mut before = readings.coil_ohm();
    for (hot, _) in readings.hot_ohm().into_iter().flatten() {
        if let Some(cold) = before
            && hot <= cold
        {
            return refuse(
                format!("{} after the current has flowed are not more than the {} before", ohms(hot), ohms(cold)),
                "copper that gets warm gains resistance: read again, longer after, with the tips clean and firm",
            );
        }
        before = Some(hot);
        if let (Some(cold), Some(at)) = (readings.coil_ohm(), readings.cold_c) {
            let reached = copper::temperature_of(cold, at, hot);
            if reached > HOTTEST_C {
                return refuse(
                    format!(
                        "{} after {} cold would be copper of {} C, which no coil lives through",
                        ohms(hot),
                        ohms(cold),
                        short(reached, 0)
                    ),
                    "read both again, with the same leads and range; a winding that truly does so has a fault: do not use it",
                );
            }
        }
    }
    Ok(())
}

fn alternating(readings: &CoilReadings) -> Result<(), Contradiction> {
    let Some(Inductance::Measured(read)) = readings.inductance else { return Ok(()) };
    if read.cosine().abs() >= 1.0 {
        return refuse(
            format!(
                "alternating voltages of {} V, {} V and {} V make no triangle, as those of two parts and of both must",
                short(read.across_series.value, 3),
                short(read.across_coil.value, 3),
                short(read.across_both.value, 3)
            ),
            "read all three again, in the range for alternating volts, while the same current flows",
        );
    }
    let (Some(alternating), Some(copper)) = (readings.alternating_ohm(), readings.coil_ohm()) else { return Ok(()) };
    let apart = |readings: &CoilReadings| Some(readings.coil_ohm()? - readings.alternating_ohm()?);
    let allowed = readings.give_or_take(apart).unwrap_or(0.0).max(LESS_THAN_COPPER * copper);
    if copper - alternating > allowed {
        return refuse(
            format!(
                "alternating current meets {} in the coil, less than the {} of its copper",
                ohms(alternating),
                ohms(copper)
            ),
            "it can only meet more: read the three alternating voltages again, and see that the one across both is taken over coil and \
             resistance together",
        );
    }
    Ok(())
}
