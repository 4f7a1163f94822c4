//! `bobweight coil`: what a coil is and what it needs, from a meter and a clock.

use super::exit::Exit;
use super::failure::Failure;
use super::json_file::{JsonFile, deliver};
use super::terminal::Terminal;
use crate::curve::figures::coil::Battery;
use crate::curve::measured_coil::{
    Allowed, Alternating, CoilReadings, Contradiction, Inductance, Read, Use, WantedSpark, result,
};
use crate::page;
use crate::quantity::{
    Accuracy, CURRENT, DRIVEN, Dimension, ENERGY, FREQUENCY, INDUCTANCE, QuantityError, RESISTANCE, SHARE, SPEED,
    TEMPERATURE, TIME, VOLTAGE, WAIT, parse, parse_accuracy,
};
use crate::sheet::{self, Sheet};
use clap::Args;
use miette::Diagnostic;
use std::ops::RangeInclusive;
use std::path::PathBuf;

/// Work a coil out from what a multimeter and a clock read at it: its circuit, the dwell it needs at each battery voltage, the
/// ballast it wants, how warm it gets, and its energy at the top speed.
///
/// Each reading tells something of its own, and none is asked for that the others do not need. Without any it tells how to take
/// them, and what can hurt you there.
#[derive(Args, Debug)]
pub struct CoilArguments {
    /// Reading 1: ohms across the primary winding, its leads off and the coil cold, such as "1.9 ohm".
    #[arg(long, value_name = "OHMS", value_parser = ohms, requires = "leads", help_heading = "Reading 1, cold")]
    pub resistance: Option<f64>,
    /// Ohms with the meter's tips held together; they are taken off.
    #[arg(long, value_name = "OHMS", value_parser = ohms_or_none, requires = "resistance", help_heading = "Reading 1, cold")]
    pub leads: Option<f64>,
    /// The coil's temperature then, such as "18 C".
    #[arg(long, value_name = "TEMPERATURE", value_parser = celsius, allow_hyphen_values = true, help_heading = "Reading 1, cold")]
    pub cold: Option<f64>,
    /// Reading 2: volts at the battery's posts, engine standing, while current flows through ballast and coil.
    #[arg(long, value_name = "VOLTS", value_parser = volts, requires_all = ["across_coil", "resistance"], help_heading = "Reading 2, current flowing")]
    pub supply: Option<f64>,
    /// Volts across the primary winding at the same time.
    #[arg(long, value_name = "VOLTS", value_parser = volts, requires = "supply", conflicts_with = "ballast", help_heading = "Reading 2, current flowing")]
    pub across_coil: Option<f64>,
    /// Volts across the closed contacts, or whatever switches, at the same time; else they count with the ballast.
    #[arg(long, value_name = "VOLTS", value_parser = volts_or_none, requires = "across_coil", help_heading = "Reading 2, current flowing")]
    pub across_switch: Option<f64>,
    /// In the place of reading 2: ohms of ballast and wiring, where you know them; "0 ohm" where there are none.
    #[arg(long, value_name = "OHMS", value_parser = ohms_or_none, requires = "resistance", help_heading = "Reading 2, current flowing")]
    pub ballast: Option<f64>,
    /// Reading 3: ohms as in reading 1, at once after the current has flowed for a while.
    #[arg(long, value_name = "OHMS", value_parser = ohms, requires_all = ["after", "resistance", "cold", "supply"], help_heading = "Reading 3, by the clock")]
    pub hot: Option<f64>,
    /// How long it had flowed, such as "15 min".
    #[arg(long, value_name = "TIME", value_parser = wait, requires = "hot", help_heading = "Reading 3, by the clock")]
    pub after: Option<f64>,
    /// The same after twice that time, the current on again in between; it tells where the warming ends.
    #[arg(long, value_name = "OHMS", value_parser = ohms, requires = "hot", help_heading = "Reading 3, by the clock")]
    pub hotter: Option<f64>,
    /// The coil's inductance by its data, such as "8 mH".
    #[arg(long, value_name = "INDUCTANCE", value_parser = inductance, conflicts_with = "mains", help_heading = "Inductance")]
    pub inductance: Option<f64>,
    /// Or by a small transformer: the frequency of the mains, "50 Hz" or "60 Hz".
    #[arg(long, value_name = "FREQUENCY", value_parser = hertz, requires_all = ["series", "across_series", "across_primary", "across_both"], help_heading = "Inductance")]
    pub mains: Option<f64>,
    /// Ohms of a resistor in series with the coil, read by the same meter, its leads taken off.
    #[arg(long, value_name = "OHMS", value_parser = series, requires = "mains", help_heading = "Inductance")]
    pub series: Option<f64>,
    /// Alternating volts across that resistor.
    #[arg(long, value_name = "VOLTS", value_parser = volts, requires = "mains", help_heading = "Inductance")]
    pub across_series: Option<f64>,
    /// Alternating volts across the primary winding.
    #[arg(long, value_name = "VOLTS", value_parser = volts, requires = "mains", help_heading = "Inductance")]
    pub across_primary: Option<f64>,
    /// Alternating volts across both together.
    #[arg(long, value_name = "VOLTS", value_parser = volts, requires = "mains", help_heading = "Inductance")]
    pub across_both: Option<f64>,
    /// The meter's accuracy for ohms, as its maker says it, such as "0.8 % + 0.1 ohm".
    #[arg(long, value_name = "ACCURACY", value_parser = ohms_accuracy, help_heading = "The meter")]
    pub ohms_accuracy: Option<Accuracy>,
    /// For steady volts, such as "0.5 % + 0.02 V".
    #[arg(long, value_name = "ACCURACY", value_parser = volts_accuracy, help_heading = "The meter")]
    pub dc_accuracy: Option<Accuracy>,
    /// For alternating volts, such as "1 % + 0.03 V".
    #[arg(long, value_name = "ACCURACY", value_parser = volts_accuracy, help_heading = "The meter")]
    pub ac_accuracy: Option<Accuracy>,
    /// The energy wanted in the coil at each spark, such as "40 mJ".
    #[arg(long, value_name = "ENERGY", value_parser = energy, conflicts_with = "current", help_heading = "What it is for")]
    pub energy: Option<f64>,
    /// Or the current wanted at the spark, such as "5 A".
    #[arg(long, value_name = "CURRENT", value_parser = current, help_heading = "What it is for")]
    pub current: Option<f64>,
    /// Volts that stay across the new driver while it is on, by its data, such as "1 V".
    #[arg(long, value_name = "VOLTS", value_parser = drop, help_heading = "What it is for")]
    pub driver_drop: Option<f64>,
    /// The battery voltages to reckon with, such as "8..15 V". Otherwise those of a 12 V supply, 6 to 16 V, or of the sheet's.
    #[arg(long, value_name = "RANGE", value_parser = str::parse::<Battery>, help_heading = "What it is for")]
    pub battery: Option<Battery>,
    /// The longest dwell. Otherwise three time constants of the circuit.
    #[arg(long, value_name = "TIME", value_parser = largest_dwell, help_heading = "What it is for")]
    pub largest_dwell: Option<f64>,
    /// How many cylinders the one coil serves.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=12), help_heading = "What it is for")]
    pub cylinders: Option<u32>,
    /// The greatest speed, such as "5000 crank rpm".
    #[arg(long, value_name = "SPEED", value_parser = speed, help_heading = "What it is for")]
    pub top_speed: Option<f64>,
    /// Idling, such as "700 crank rpm".
    #[arg(long, value_name = "SPEED", value_parser = speed, help_heading = "What it is for")]
    pub idle: Option<f64>,
    /// The share of the time that the coil may be on. Otherwise 70 % (common practice, no source).
    #[arg(long, value_name = "SHARE", value_parser = duty, help_heading = "What it is for")]
    pub largest_duty: Option<f64>,
    /// How long a spark burns. Otherwise 1.5 ms (common practice, no source).
    #[arg(long, value_name = "TIME", value_parser = burn_time, help_heading = "What it is for")]
    pub burn_time: Option<f64>,
    /// The air about the coil on the engine, such as "60 C". Otherwise as it was when the coil was cold.
    #[arg(long, value_name = "TEMPERATURE", value_parser = celsius, allow_hyphen_values = true, help_heading = "What it is for")]
    pub air: Option<f64>,
    /// An engine's sheet: what it says of coil and engine counts where no option says otherwise.
    #[arg(long, value_name = "SHEET.toml")]
    pub sheet: Option<PathBuf>,
    /// Save the result in FILE too, for `report` and for programs; `-` is standard output.
    #[arg(long, value_name = "FILE")]
    pub json: Option<PathBuf>,
}

fn told(error: &QuantityError) -> String {
    format!("{error}: {}", error.help())
}

/// Reads a quantity within its bounds, in the inner unit of its dimension.
fn within(dimension: &'static Dimension, typed: &str, [least, greatest]: [&str; 2]) -> Result<f64, String> {
    let read = |text: &str| parse(dimension, text).map_err(|error| told(&error));
    let bounds: RangeInclusive<f64> = read(least)?..=read(greatest)?;
    let value = read(typed)?;
    if bounds.contains(&value) { Ok(value) } else { Err(format!("write a value from {least} to {greatest}")) }
}

/// Makes the reader of an option.
macro_rules! readers {
    ($($name:ident: $dimension:ident, $least:literal, $greatest:literal;)*) => {
        $(fn $name(typed: &str) -> Result<f64, String> {
            within(&$dimension, typed, [$least, $greatest])
        })*
    };
}

readers! {
    ohms: RESISTANCE, "0.1 ohm", "40 ohm";
    ohms_or_none: RESISTANCE, "0 ohm", "20 ohm";
    series: RESISTANCE, "0.5 ohm", "1000 ohm";
    celsius: TEMPERATURE, "-40 C", "120 C";
    volts: VOLTAGE, "0.01 V", "48 V";
    volts_or_none: VOLTAGE, "0 V", "4 V";
    wait: WAIT, "1 min", "5 h";
    inductance: INDUCTANCE, "0.1 mH", "100 mH";
    hertz: FREQUENCY, "16 Hz", "400 Hz";
    energy: ENERGY, "1 mJ", "1000 mJ";
    current: CURRENT, "0.5 A", "30 A";
    drop: VOLTAGE, "0 V", "4 V";
    largest_dwell: TIME, "0.5 ms", "30 ms";
    duty: SHARE, "5 %", "90 %";
    burn_time: TIME, "0.1 ms", "5 ms";
    speed: SPEED, "100 crank rpm", "20000 crank rpm";
}

fn ohms_accuracy(typed: &str) -> Result<Accuracy, String> {
    parse_accuracy(&RESISTANCE, typed).map_err(|error| told(&error))
}

fn volts_accuracy(typed: &str) -> Result<Accuracy, String> {
    parse_accuracy(&VOLTAGE, typed).map_err(|error| told(&error))
}

/// The mains keep their frequency within one per cent (EN 50160, from memory).
const MAINS_WITHIN: f64 = 0.01;

fn read(value: Option<f64>, accuracy: Option<Accuracy>) -> Option<Read> {
    value.map(|value| Read { value, within: accuracy.map(|accuracy| accuracy.within(value)) })
}

impl CoilArguments {
    /// Nothing that is a reading, and no sheet that could have one.
    fn asks_how(&self) -> bool {
        self.resistance.is_none() && self.inductance.is_none() && self.mains.is_none() && self.sheet.is_none()
    }

    fn readings(&self, sheet: Option<&Sheet>) -> CoilReadings {
        let (ohms, dc) = (self.ohms_accuracy, self.dc_accuracy);
        let ballast_of_sheet = || sheet?.coil.ballast_ohm.value().copied();
        CoilReadings {
            resistance: read(self.resistance, ohms),
            leads: read(self.leads, ohms),
            cold_c: self.cold,
            supply: read(self.supply, dc),
            across_coil: read(self.across_coil, dc),
            across_switch: read(self.across_switch, dc),
            // What was read of the ballast counts more than what the sheet says.
            given_ballast_ohm: self.ballast.or_else(|| if self.supply.is_some() { None } else { ballast_of_sheet() }),
            winding_by_sheet_ohm: ballast_of_sheet()
                .and_then(|ballast| Some(sheet?.coil.resistance_ohm.value()? - ballast))
                .filter(|winding| *winding > 0.0),
            hot: read(self.hot, ohms),
            after_s: self.after,
            hotter: read(self.hotter, ohms),
            inductance: self.alternating().or_else(|| {
                let of_sheet = || sheet?.coil.inductance_h.value().copied();
                self.inductance.or_else(of_sheet).map(Inductance::Given)
            }),
        }
    }

    fn alternating(&self) -> Option<Inductance> {
        let mains = self.mains?;
        Some(Inductance::Measured(Alternating {
            mains_hz: Read { value: mains, within: Some(mains * MAINS_WITHIN) },
            series_ohm: read(self.series, self.ohms_accuracy)?,
            across_series: read(self.across_series, self.ac_accuracy)?,
            across_coil: read(self.across_primary, self.ac_accuracy)?,
            across_both: read(self.across_both, self.ac_accuracy)?,
        }))
    }

    fn wanted<'a>(&self, sheet: Option<&'a Sheet>) -> Use<'a> {
        let coil = sheet.map(|sheet| &sheet.coil);
        let engine = sheet.map(|sheet| &sheet.engine);
        let of_coil = |key: fn(&sheet::Coil) -> &sheet::Key<f64>| coil.and_then(|coil| key(coil).value().copied());
        let of_engine =
            |key: fn(&sheet::Engine) -> &sheet::Key<f64>| engine.and_then(|engine| key(engine).value().copied());
        let typed = self.energy.map(WantedSpark::Energy).or(self.current.map(WantedSpark::Current));
        Use {
            wanted: typed.or_else(|| of_coil(|coil| &coil.current_a).map(WantedSpark::Current)),
            driver_drop_volts: self.driver_drop.or_else(|| of_coil(|coil| &coil.driver_drop_volts)),
            battery: self.battery.unwrap_or_else(|| sheet.map_or_else(|| DRIVEN.into(), Battery::of)),
            largest_dwell_s: self.largest_dwell.or_else(|| of_coil(|coil| &coil.largest_dwell_s)),
            largest_duty: self.largest_duty.or_else(|| of_coil(|coil| &coil.largest_duty)),
            burn_time_s: self.burn_time.or_else(|| of_coil(|coil| &coil.burn_time_s)),
            cylinders: self.cylinders.or_else(|| engine?.cylinders.value().copied()),
            top_crank_rpm: self.top_speed.or_else(|| of_engine(|engine| &engine.greatest_speed_crank_rpm)),
            idle_crank_rpm: self.idle.or_else(|| of_engine(|engine| &engine.idle_crank_rpm)),
            air_c: self.air,
            allowed: Allowed {
                greatest_current_a: of_coil(|coil| &coil.greatest_current_a),
                greatest_heat_w: of_coil(|coil| &coil.greatest_heat_w),
                bypassed_from_to_volts: sheet
                    .filter(|sheet| sheet.coil.ballast_while_cranking.value() == Some(&sheet::Ballast::Bypassed))
                    .and_then(|sheet| sheet.battery.cranking_volts.value().copied()),
            },
            loop_ohm: of_coil(|coil| &coil.resistance_ohm),
            // What an option changes, the sheet's own ignition would not know of.
            sheet: sheet.filter(|_| {
                self.largest_duty.is_none()
                    && self.burn_time.is_none()
                    && self.cylinders.is_none()
                    && self.largest_dwell.is_none()
            }),
        }
    }
}

impl From<Contradiction> for Failure {
    fn from(error: Contradiction) -> Self {
        Self::new(Exit::WrongInput, error)
    }
}

/// Options that tell nothing without others.
#[derive(Debug, Diagnostic, thiserror::Error)]
#[error("there is no reading of a coil, and so nothing to save")]
#[diagnostic(help("`bobweight coil` alone tells how to take them"))]
struct NoReading;

/// Runs the command.
///
/// # Errors
/// Readings that cannot be, a sheet that cannot be read, and results that cannot be written.
pub fn run(arguments: &CoilArguments, terminal: &mut Terminal) -> Result<Exit, Failure> {
    if arguments.asks_how() {
        if arguments.json.is_some() {
            return Err(Failure::new(Exit::WrongInput, NoReading));
        }
        terminal.out.write_all(page::coil::how_to_read().as_bytes())?;
        terminal.out.flush()?;
        return Ok(Exit::Pass);
    }
    let json = {
        let inputs: Vec<_> = arguments.sheet.iter().map(PathBuf::as_path).collect();
        arguments.json.as_deref().map(|path| JsonFile::open(path, &inputs)).transpose()?
    };
    let sheet = arguments.sheet.as_deref().map(sheet::read).transpose()?;
    let result = result(&arguments.readings(sheet.as_ref()), &arguments.wanted(sheet.as_ref()))?;
    deliver(&result, &page::coil::render(&result), json, terminal)?;
    Ok(Exit::Pass)
}

#[cfg(test)]
mod tests;
