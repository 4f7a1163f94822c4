//! A coil from what a meter and a clock read at it: its circuit, the dwell table that it needs, ballast, energy and heat.
//!
//! Three sittings suffice for all but the inductance. Ohms of the cold winding; volts of the battery and across the winding while
//! current flows, which give that current and with it every ohm outside of the winding; and the winding's ohms again after some
//! minutes of that current, for copper tells its temperature by its resistance. The inductance is no part of any of them, see
//! [`readings`].

mod ballast;
mod contradiction;
mod heat;
mod readings;
#[cfg(test)]
mod tests;
mod words;

pub use contradiction::Contradiction;
pub use readings::{Alternating, CoilReadings, Inductance, Read};
pub use words::{heat_row_in_words, heat_warnings, measured_in_words, top_in_words, warmed_in_words};

use crate::curve::circuit::Circuit;
use crate::curve::copper;
use crate::curve::figures::coil::{Battery, Wanted, at, steady_dwell_s};
use crate::record::TOOL_VERSION;
use crate::record::coil::{AtTop, CoilResult, CoilRow, DwellOfCoil, Measured, SCHEMA, TopSpeed};
use crate::record::figures::Section;
use crate::sheet::{DwellPoint, Settings, Sheet};
use crate::words::number::{short, short_ungrouped};

/// What the coil is to do.
#[derive(Clone, Copy, Debug)]
pub struct Use<'a> {
    /// The spark that is wanted.
    pub wanted: Option<WantedSpark>,
    /// Volts across the new driver while it is on.
    pub driver_drop_volts: Option<f64>,
    /// The battery.
    pub battery: Battery,
    /// No dwell is longer, seconds; three time constants where nobody says.
    pub largest_dwell_s: Option<f64>,
    /// Share of the time that the coil may be on; [`LARGEST_DUTY`] where nobody says.
    pub largest_duty: Option<f64>,
    /// Seconds that a spark burns; [`BURN_TIME_S`] where nobody says.
    pub burn_time_s: Option<f64>,
    /// Cylinders that the one coil serves.
    pub cylinders: Option<u32>,
    /// Crank rpm of the greatest speed.
    pub top_crank_rpm: Option<f64>,
    /// Crank rpm of idling.
    pub idle_crank_rpm: Option<f64>,
    /// Degrees Celsius of the air about the coil; as cold as it was read where nobody says.
    pub air_c: Option<f64>,
    /// Ohms of the whole loop, where readings do not tell.
    pub loop_ohm: Option<f64>,
    /// What a sheet allows, where there is one.
    pub allowed: Allowed,
    /// A sheet, whose ignition is asked what it leaves of a dwell where it is whole.
    pub sheet: Option<&'a Sheet>,
}

/// What a sheet says that its coil and driver bear.
#[derive(Clone, Copy, Debug, Default)]
pub struct Allowed {
    /// Amperes.
    pub greatest_current_a: Option<f64>,
    /// Watts in the winding, while the engine runs.
    pub greatest_heat_w: Option<f64>,
    /// The battery's volts while the starter turns and the ballast is bypassed; nothing where it is not.
    pub bypassed_from_to_volts: Option<[f64; 2]>,
}

/// The spark that is wanted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum WantedSpark {
    /// Amperes.
    Current(f64),
    /// Joules in the coil.
    Energy(f64),
}

/// How long a spark burns; common practice, no source.
pub const BURN_TIME_S: f64 = 1.5e-3;
/// Share of the time that a coil may be on; common practice, no source.
pub const LARGEST_DUTY: f64 = 0.7;
/// After so many time constants a current has all but 5 % of what it ever gets.
const TIME_CONSTANTS: f64 = 3.0;
/// No sheet takes a longer dwell, seconds.
const LONGEST_DWELL_S: f64 = 0.03;
/// By how much warmer a winding is reckoned with, kelvin: copper has 1.39 times the resistance then.
const WARMER_K: f64 = 100.0;
/// What a winding is taken to be where nobody read its temperature, degrees Celsius.
const ROOM_C: f64 = 20.0;

/// What the readings come to.
///
/// # Errors
/// Readings that cannot be.
pub fn result(readings: &CoilReadings, wanted: &Use) -> Result<CoilResult, Contradiction> {
    contradiction::none_in(readings)?;
    let table = needed(readings, wanted);
    let measured = |figure: fn(&CoilReadings) -> Option<f64>| measured(readings, figure);
    Ok(CoilResult {
        schema: SCHEMA.to_owned(),
        tool_version: TOOL_VERSION.to_owned(),
        measured: in_words(readings),
        coil_ohm: measured(CoilReadings::coil_ohm),
        rest_ohm: if readings.given_ballast_ohm.is_some() { None } else { measured(CoilReadings::rest_ohm) },
        inductance_mh: measured(|readings| Some(readings.inductance_h()? * 1e3)),
        heat: told(heat::heat(readings, wanted, table.as_ref().ok())),
        dwell: told(table.map(|table| dwell(readings, wanted, &table))),
        not_told: not_told(readings),
    })
}

fn told<T>(made: Result<T, String>) -> Section<T> {
    match made {
        Ok(known) => Section::Known(known),
        Err(missing) => Section::Missing(missing),
    }
}

/// A figure with what it may be out.
fn measured(readings: &CoilReadings, figure: impl Fn(&CoilReadings) -> Option<f64>) -> Option<Measured> {
    Some(Measured { value: figure(readings)?, give_or_take: readings.give_or_take(figure) })
}

/// A circuit with the dwell table that it needs.
struct Needed {
    wanted: Wanted,
    largest_dwell_s: f64,
    table: Vec<DwellPoint>,
}

/// Ohms of the whole loop, with the winding so many kelvin warmer than it was read.
fn loop_ohm(readings: &CoilReadings, wanted: &Use, warmer_k: f64) -> Option<f64> {
    let cold_c = readings.cold_c.unwrap_or(ROOM_C);
    let winding = readings.coil_ohm();
    let all = winding.and_then(|winding| Some(winding + readings.rest_ohm()?)).or(wanted.loop_ohm)?;
    // Where only the loop is known, all of it is taken for copper: the current then falls more than it will.
    let winding = winding.unwrap_or(all);
    Some(all - winding + copper::resistance_at(winding, cold_c, cold_c + warmer_k))
}

fn circuit(readings: &CoilReadings, wanted: &Use, warmer_k: f64) -> Option<Circuit> {
    Some(Circuit {
        resistance_ohm: loop_ohm(readings, wanted, warmer_k)?,
        inductance_h: readings.inductance_h()?,
        driver_drop_volts: wanted.driver_drop_volts?,
    })
}

/// Amperes of the spark that is wanted: half L I squared is its energy.
fn wanted_a(readings: &CoilReadings, wanted: &Use) -> Option<f64> {
    match wanted.wanted? {
        WantedSpark::Current(amperes) => Some(amperes),
        WantedSpark::Energy(joules) => Some((2.0 * joules / readings.inductance_h()?).sqrt()),
    }
}

fn needed(readings: &CoilReadings, wanted: &Use) -> Result<Needed, String> {
    let mut missing = Vec::new();
    if loop_ohm(readings, wanted, 0.0).is_none() {
        missing.push(
            "the resistance of the loop: `--resistance` and `--leads`, with `--supply` and `--across-coil`, or with `--ballast` where \
             it is known",
        );
    }
    if readings.inductance.is_none() {
        missing.push(
            "the inductance: `--inductance` from the coil's data, or three alternating voltages. No ohms and no steady volts tell it",
        );
    }
    if wanted.driver_drop_volts.is_none() {
        missing.push("the volts across the new driver while it is on: `--driver-drop`");
    }
    if wanted.wanted.is_none() {
        missing.push("the spark that is wanted: `--energy`, or `--current`");
    }
    let known = circuit(readings, wanted, 0.0).zip(wanted_a(readings, wanted));
    let Some((circuit, current_a)) = known else { return Err(format!("there is missing {}", missing.join("; "))) };
    let time_constant = circuit.inductance_h / circuit.resistance_ohm;
    let largest =
        wanted.largest_dwell_s.unwrap_or_else(|| tenths_of_ms(TIME_CONSTANTS * time_constant).min(LONGEST_DWELL_S));
    let asked = Wanted { circuit, current_a, largest_dwell_s: Some(largest) };
    let table = asked.table(wanted.battery);
    if table.is_empty() {
        return Err(format!(
            "this circuit never reaches {} A from {} to {} V: want less, or take ballast out where coil and driver stand it",
            short(current_a, 2),
            short(wanted.battery.from, 1),
            short(wanted.battery.to, 1)
        ));
    }
    Ok(Needed { wanted: asked, largest_dwell_s: largest, table })
}

/// Rounded up to a tenth of a millisecond, as a person would write it.
fn tenths_of_ms(seconds: f64) -> f64 {
    (seconds * 1e4 - 1e-6).ceil() / 1e4
}

impl Needed {
    fn volts(&self) -> impl Iterator<Item = f64> {
        self.table.iter().map(|point| point.volts)
    }
}

/// What is left of a table's dwell at a steady speed.
struct Left<'a> {
    table: &'a [DwellPoint],
    duty: f64,
    burn_time_s: f64,
    cylinders: Option<u32>,
    by_rules: Option<Settings>,
}

impl<'a> Left<'a> {
    fn of(wanted: &Use, table: &'a [DwellPoint]) -> Self {
        Self {
            table,
            duty: wanted.largest_duty.unwrap_or(LARGEST_DUTY),
            burn_time_s: wanted.burn_time_s.unwrap_or(BURN_TIME_S),
            cylinders: wanted.cylinders,
            by_rules: wanted.sheet.and_then(|sheet| Settings::with_dwell(sheet, table).ok()),
        }
    }

    /// Seconds at a battery's volts and crank rpm; nothing where it is not known how many sparks there are.
    fn at(&self, volts: f64, crank_rpm: f64) -> Option<f64> {
        if let Some(settings) = &self.by_rules {
            return Some(steady_dwell_s(settings, volts, crank_rpm, None));
        }
        let period = self.period_s(crank_rpm)?;
        Some(at(self.table, volts).min(self.duty * period).min(period - self.burn_time_s).max(0.0))
    }

    /// Seconds from spark to spark: one coil serves every cylinder once in two turns.
    fn period_s(&self, crank_rpm: f64) -> Option<f64> {
        Some(120.0 / (crank_rpm * f64::from(self.cylinders?)))
    }
}

fn dwell(readings: &CoilReadings, wanted: &Use, needed: &Needed) -> DwellOfCoil {
    let Wanted { circuit, current_a, .. } = needed.wanted;
    let left = Left::of(wanted, &needed.table);
    let hot = self::circuit(readings, wanted, WARMER_K).unwrap_or(circuit);
    let row = |point: &DwellPoint| {
        let at_top = wanted.top_crank_rpm.and_then(|top| {
            let seconds = left.at(point.volts, top)?;
            let energy = |readings: &CoilReadings| {
                Some(self::circuit(readings, wanted, 0.0)?.energy_j(point.volts, seconds) * 1e3)
            };
            Some(AtTop {
                dwell_ms: seconds * 1e3,
                energy_mj: measured(readings, energy)?,
                hot_energy_mj: hot.energy_j(point.volts, seconds) * 1e3,
            })
        });
        CoilRow {
            volts: point.volts,
            dwell_ms: point.dwell_s * 1e3,
            current_a: circuit.current_a(point.volts, point.dwell_s),
            energy_mj: circuit.energy_j(point.volts, point.dwell_s) * 1e3,
            at_top,
        }
    };
    let stored = |readings: &CoilReadings| Some(readings.inductance_h()? * current_a.powi(2) / 2.0 * 1e3);
    let top = wanted.top_crank_rpm.zip(wanted.cylinders).map(|(crank_rpm, cylinders)| TopSpeed {
        crank_rpm,
        cylinders,
        by_its_rules: left.by_rules.is_some(),
        largest_duty: left.duty,
        burn_time_ms: left.burn_time_s * 1e3,
    });
    DwellOfCoil {
        wanted_a: current_a,
        energy_mj: measured(readings, stored).unwrap_or(Measured { value: 0.0, give_or_take: None }),
        largest_dwell_ms: needed.largest_dwell_s * 1e3,
        table: needed.table.iter().map(row).collect(),
        top,
        ballast: ballast::in_words(readings, wanted, needed),
        sheet_lines: sheet_lines(readings, needed),
    }
}

/// The lines of `[coil]` that follow from the readings, ready to paste.
fn sheet_lines(readings: &CoilReadings, needed: &Needed) -> Vec<String> {
    let Wanted { circuit, current_a, .. } = needed.wanted;
    let parts = readings.coil_ohm().zip(readings.rest_ohm()).map_or_else(String::new, |(coil, rest)| {
        format!("   # coil {}, ballast and wiring {}", short_ungrouped(coil, 2), short_ungrouped(rest, 2))
    });
    let rows: Vec<String> = needed
        .table
        .iter()
        .map(|point| format!("[{}, {}]", short_ungrouped(point.volts, 2), short_ungrouped(point.dwell_s * 1e3, 2)))
        .collect();
    vec![
        format!("resistance = \"{} ohm\"{parts}", short_ungrouped(circuit.resistance_ohm, 3)),
        format!("inductance = \"{} mH\"", short_ungrouped(circuit.inductance_h * 1e3, 2)),
        format!("driver_drop = \"{} V\"", short_ungrouped(circuit.driver_drop_volts, 2)),
        format!("current = \"{} A\"", short_ungrouped(current_a, 2)),
        "unit = [\"V\", \"ms\"]".to_owned(),
        format!("dwell = [{}]", rows.join(", ")),
        format!("largest_dwell = \"{} ms\"", short_ungrouped(needed.largest_dwell_s * 1e3, 2)),
    ]
}

fn give_or_take(figure: Option<Measured>, unit: &str, places: usize) -> String {
    figure.map_or_else(String::new, |figure| measured_in_words(&figure, unit, places))
}

/// What was measured.
fn in_words(readings: &CoilReadings) -> Vec<String> {
    let figure = |figure: fn(&CoilReadings) -> Option<f64>| measured(readings, figure);
    let mut said = Vec::new();
    if readings.resistance.is_some() && readings.coil_ohm().is_some() {
        let at = readings.cold_c.map_or_else(String::new, |at| format!("at {} C ", short(at, 0)));
        said.push(format!("{at}the primary winding has {}", give_or_take(figure(CoilReadings::coil_ohm), "ohm", 2)));
    }
    if readings.across_coil.is_some() && readings.coil_ohm().is_some() {
        said.push(format!(
            "with current flowing and the engine standing it carried {}",
            give_or_take(figure(CoilReadings::standing_a), "A", 2)
        ));
    }
    if readings.rest_ohm().is_some() && readings.given_ballast_ohm.is_none() {
        let parts = if readings.across_switch.is_some() {
            "ballast and wiring"
        } else {
            "ballast, wiring and whatever switched"
        };
        said.push(format!(
            "{parts} have {}. A ballast that is bypassed on the starter is no part of the loop then",
            give_or_take(figure(CoilReadings::rest_ohm), "ohm", 2)
        ));
    }
    if let Some(Inductance::Measured(_)) = readings.inductance {
        let millihenries = measured(readings, |readings| Some(readings.inductance_h()? * 1e3));
        said.push(format!(
            "its inductance is {}, by a small alternating current. Iron that saturates at the full current has less there: then the \
             current rises faster than reckoned, and the energy is less. No meter tells that; a current probe does",
            give_or_take(millihenries, "mH", 2)
        ));
        if let (Some(alternating), Some(copper)) = (readings.alternating_ohm(), readings.coil_ohm()) {
            said.push(format!(
                "alternating current met {} ohm in it, {} of them not the copper's but losses in the iron. Many times the copper's \
                 own, with an inductance far below the coil's data, are a sign of turns that touch (common practice, no source)",
                short(alternating, 2),
                short((alternating - copper).max(0.0), 2)
            ));
        }
    }
    said
}

/// What no reading here tells.
fn not_told(readings: &CoilReadings) -> Vec<String> {
    let mut open = vec![
        "the secondary winding, its insulation and the spark at the plug: the energies are what the coil holds, and some of it is lost \
         on the way to the gap"
            .to_owned(),
    ];
    let of_the_meter: [fn(&CoilReadings) -> Option<f64>; 3] =
        [CoilReadings::coil_ohm, CoilReadings::rest_ohm, CoilReadings::alternating_ohm];
    if of_the_meter
        .into_iter()
        .filter_map(|figure| measured(readings, figure))
        .any(|figure| figure.give_or_take.is_none())
        && readings.given_ballast_ohm.is_none()
    {
        open.push(
            "by how much each figure may be out: that hangs on the meter, whose accuracy `--ohms-accuracy`, `--dc-accuracy` and \
             `--ac-accuracy` say"
                .to_owned(),
        );
    }
    if readings.across_coil.is_some() {
        open.push(
            "what the ballast gains by its own heat: it was read cold, and one of iron wire has much more once it glows (common practice, \
             no source); then there is less current and less heat than reckoned"
                .to_owned(),
        );
    }
    if readings.cold_c.is_some() && readings.hot.is_some() {
        open.push(
            "the thermometer's own error, which is not counted: 2 K are worth 0.8 % of the rise. A coil is as warm inside as the air \
             only after hours"
                .to_owned(),
        );
    }
    if readings.inductance.is_some_and(|inductance| matches!(inductance, Inductance::Given(_))) {
        open.push("whether this coil has the inductance that was given: nothing here measured it".to_owned());
    }
    open
}
