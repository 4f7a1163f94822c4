//! `bobweight figures`: what the curve means where the engine is used.

mod known;

use super::cautions::{Work, acknowledge, cautions_of};
use super::exit::Exit;
use super::failure::{Failure, Told, refuse_broken_limits};
use super::json_file::{JsonFile, deliver};
use super::terminal::Terminal;
use crate::curve::check::broken_limits_in_words;
use crate::curve::figures::coil::{self, Battery};
use crate::curve::figures::figures;
use crate::curve::figures::what_if::{Changes, VacuumUnit, advance_from, height_from};
use crate::page;
use crate::proof::begin::with_all_missing;
use crate::proof::first_start::first_start;
use crate::sheet::{self, Sheet};
use crate::words::shown::PAGE_BREAK;
use bobweight::quantity::Advance;
use clap::Args;
use known::KnownArguments;
use std::path::PathBuf;

/// Tell what the curve means on the engine: the timing in each of its uses and what it is made of, advice with its reasons, where
/// the rotor must point under the old cap, and the dwell that the coil needs.
///
/// With `--first-start` it prints the page for the day when the ignition goes onto the engine. Without a sheet it answers from the
/// numbers that you know: `--initial`, `--centrifugal`, `--vacuum`.
#[derive(Args, Debug)]
pub struct FiguresArguments {
    /// The engine's sheet, such as `fit --new-sheet` makes.
    #[arg(value_name = "SHEET.toml", required_unless_present_any = ["initial", "centrifugal", "vacuum"])]
    pub sheet: Option<PathBuf>,
    /// Try a total at full throttle, such as "34 crank degrees": which initial timing gives it.
    #[arg(long, value_name = "TOTAL", value_parser = advance_from, allow_hyphen_values = true)]
    pub full_throttle: Option<Advance>,
    /// Try another initial timing, such as "10 crank degrees"; without a sheet, the initial timing that you know.
    #[arg(long, value_name = "ADVANCE", value_parser = advance_from, allow_hyphen_values = true)]
    pub initial: Option<Advance>,
    /// What is known without a sheet.
    #[command(flatten)]
    pub known: KnownArguments,
    /// Try another vacuum unit, such as "15 crank degrees, 8..14 inHg depression".
    #[arg(long, value_name = "UNIT", value_parser = str::parse::<VacuumUnit>, requires = "sheet")]
    pub vacuum_unit: Option<VacuumUnit>,
    /// Try another height above the sea, such as "1500 m".
    #[arg(long, value_name = "HEIGHT", value_parser = height_from, requires = "sheet", allow_hyphen_values = true)]
    pub altitude: Option<f64>,
    /// The battery voltages of the dwell table, such as "8..15 V". Otherwise 6 to 16 V, with a supply of 6 V 4 to 8 V, and of 24 V 10 to
    /// 32 V.
    #[arg(long, value_name = "RANGE", value_parser = str::parse::<Battery>, requires = "sheet")]
    pub battery: Option<Battery>,
    /// Write the dwell table that the coil needs into the sheet. Everything else in it stays, comments too.
    #[arg(long, requires = "sheet")]
    pub write_dwell: bool,
    /// Print the page for the first start instead, with this engine's angles, to tick off at the engine.
    #[arg(
        long,
        requires = "sheet",
        conflicts_with_all = ["json", "full_throttle", "initial", "vacuum_unit", "altitude", "write_dwell", "battery"]
    )]
    pub first_start: bool,
    /// Go on without being asked: you have read the cautions.
    #[arg(long, requires = "first_start")]
    pub acknowledge_cautions: bool,
    /// Save the result in FILE too, for `report` and for programs; `-` is standard output.
    #[arg(long, value_name = "FILE", requires = "sheet")]
    pub json: Option<PathBuf>,
}

impl FiguresArguments {
    fn changes(&self) -> Changes {
        Changes {
            initial: self.initial,
            full_throttle: self.full_throttle,
            vacuum_unit: self.vacuum_unit,
            altitude_m: self.altitude,
        }
    }
}

/// Runs the command.
///
/// # Errors
/// A sheet that cannot be used, cautions that nobody acknowledged, and results that cannot be written.
pub fn run(arguments: &FiguresArguments, terminal: &mut Terminal) -> Result<Exit, Failure> {
    let Some(path) = &arguments.sheet else {
        return known::run(&arguments.known, arguments.initial, arguments.full_throttle, terminal);
    };
    if arguments.initial.is_some() && arguments.full_throttle.is_some() {
        let text = "--full-throttle asks for the initial timing, and --initial gives it".to_owned();
        return Err(Failure::new(Exit::WrongInput, Told { text, help: Some("leave one of them out") }));
    }
    let json = arguments.json.as_deref().map(|json| JsonFile::open(json, &[path])).transpose()?;
    let mut sheet = sheet::read(path)?;
    if arguments.first_start {
        return print_first_start(arguments, &sheet, terminal);
    }
    let battery = arguments.battery.unwrap_or_else(|| Battery::of(&sheet));
    let mut written = String::new();
    if arguments.write_dwell {
        let changed = sheet::with_dwell_table(sheet.file(), sheet.text(), &coil::needed_table(&sheet, battery)?)?;
        if changed.text != sheet.text() {
            sheet::replace(path, sheet.text(), &changed.text)?;
        }
        written = written_in_words(&changed, sheet.file());
        sheet = sheet::read(path)?;
    }
    let result = with_all_missing(&sheet, |sheet| figures(sheet, &arguments.changes(), battery))?;
    let text = format!("{}{written}", page::figures::render(&result));
    deliver(&result, &text, json, terminal)?;
    Ok(Exit::Pass)
}

fn written_in_words(changed: &sheet::Changed, file: &str) -> String {
    if changed.changes.is_empty() {
        return format!("\nThe dwell table in {file} is this one already\n");
    }
    let changes: Vec<String> = changed.changes.iter().map(sheet::Change::in_words).collect();
    format!("\nWritten into {file}:\n  {}\n", changes.join("\n  "))
}

fn print_first_start(arguments: &FiguresArguments, sheet: &Sheet, terminal: &mut Terminal) -> Result<Exit, Failure> {
    let page = first_start(sheet)?;
    let broken = broken_limits_in_words(sheet, &sheet::model(sheet)?);
    refuse_broken_limits(sheet, broken, "there is no page for a first start")?;
    acknowledge(Work::Engine, arguments.acknowledge_cautions, terminal)?;
    let cautions: Vec<&str> = cautions_of(Work::Engine).collect();
    let [front, back] = page::first_start::render(&page, &cautions);
    terminal.out.write_all(front.as_bytes())?;
    terminal.out.write_all(PAGE_BREAK)?;
    terminal.out.write_all(back.as_bytes())?;
    terminal.out.flush()?;
    Ok(Exit::Pass)
}

#[cfg(test)]
mod tests;
