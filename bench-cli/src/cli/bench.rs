//! `bobweight bench`: what is asked of it, and what must hold before anything is driven.

use super::cautions::{Work, acknowledge};
use super::departure::departure_in_words;
use super::exit::Exit;
use super::failure::Failure;
use super::fit::found_in_words;
use super::limits::judged_in_words;
use super::simulate::{SimulateError, Simulation, parse_simulation};
use super::terminal::Terminal;
use crate::fit::{FitOptions, fit};
use crate::readings;
use crate::sheet::{self, Settings, Sheet};
use clap::Args;
use std::path::PathBuf;

/// Drive an ignition through the bench plan and judge every test point: the built-in simulation, or a box behind a serial
/// port.
#[derive(Args, Debug)]
pub struct BenchArguments {
    /// The engine sheet.
    #[arg(value_name = "SHEET.toml")]
    pub sheet: PathBuf,
    /// The serial port of the stimulator; the built-in simulation where none is named.
    #[arg(long, value_name = "PATH", conflicts_with = "simulate")]
    pub serial: Option<PathBuf>,
    /// Write the result for programs, too; `-` is standard output.
    #[arg(long, value_name = "FILE")]
    pub json: Option<PathBuf>,
    /// Seed of the simulated scatter: the same seed gives the same run.
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub seed: u64,
    /// What the simulated ignition does wrong, such as "lag=150 us, pickup=1.5 crank degrees early,
    /// scatter=0.3 crank degrees, lose=1/400, vacuum=80 %, clock=0.5 %".
    #[arg(long, value_name = "TEXT", value_parser = simulation)]
    pub simulate: Option<Simulation>,
    /// You have read the cautions, and go on without being asked.
    #[arg(long)]
    pub acknowledge_cautions: bool,
}

fn simulation(text: &str) -> Result<Simulation, SimulateError> {
    parse_simulation(text)
}

/// A sheet whose ignition can be driven.
#[derive(Debug)]
pub struct Prepared {
    /// The sheet.
    pub sheet: Sheet,
    /// Its model, pickup, dwell and timetable.
    pub settings: Settings,
}

impl BenchArguments {
    /// Reads the sheet. Limits that its curve breaks are told by [`bobweight::AdvanceModel::judge`].
    ///
    /// # Errors
    /// A sheet that cannot be used, with exit status 2.
    pub fn prepare(&self) -> Result<Prepared, Failure> {
        let sheet = sheet::read(&self.sheet)?;
        let settings = Settings::from_sheet(&sheet)?;
        Ok(Prepared { sheet, settings })
    }

    /// Shows the cautions before hardware is driven; a simulated run asks nothing.
    ///
    /// # Errors
    /// Where they are not acknowledged, with exit status 2.
    pub fn acknowledge(&self, terminal: &mut Terminal) -> Result<(), Failure> {
        if self.serial.is_none() { Ok(()) } else { acknowledge(Work::Bench, self.acknowledge_cautions, terminal) }
    }
}

impl Prepared {
    /// Where the chosen curve comes from, how it lies to the readings that the sheet names, and how it keeps its limits.
    ///
    /// # Errors
    /// Readings that cannot be used, with exit status 2.
    pub fn curve_in_words(&self) -> Result<String, Failure> {
        let mut text = format!("The curve: chosen in {}\n", self.sheet.file());
        if self.sheet.readings.value().is_none() {
            text.push_str("  It names no readings, so nothing is known of where the curve comes from\n");
        } else {
            let readings = readings::read(&self.sheet.readings_path()?)?;
            let found = fit(&readings, &FitOptions::default())?;
            text.extend(["\n", &found_in_words(&readings, &found), "\n"]);
            for sentence in departure_in_words(&self.settings.model, &found) {
                text.extend(["  ", &sentence, "\n"]);
            }
        }
        text.push('\n');
        text.push_str(&judged_in_words(&self.settings.model));
        Ok(text)
    }
}

/// The exit status for a curve: a sheet that breaks its own limits is not driven.
pub fn exit_of_limits(settings: &Settings) -> Option<Exit> {
    (!settings.model.judge().hold()).then_some(Exit::Fail)
}

#[cfg(test)]
mod tests;
