//! `bobweight bench`: what is asked of it, and what must hold before anything is driven.

mod run;
mod trace;

use self::run::{BATTERY_VOLTS, drive, imperfect, not_begun, opening, told};
use super::cautions::{Work, acknowledge};
use super::exit::Exit;
use super::failure::Failure;
use super::terminal::Terminal;
use crate::cli::json_file::{JsonFile, deliver};
use crate::curve::check::limits_outcome;
use crate::distributor::departure::curve_source;
use crate::interrupt::{Interrupt, orderly};
use crate::link::serial;
use crate::proof::begin::with_all_missing;
use crate::proof::bench::{Bench, BenchError, TracedDepression};
use crate::proof::source::simulated::{CoreIgnition, ImperfectionText, Imperfections, SimulatedBench};
use crate::quantity::of_core::{seconds, voltage};
use crate::record::bench::CurveSource;
use crate::record::check::LimitsOutcome;
use crate::record::sheet::SheetIdentity;
use crate::sheet::{self, Settings, Sheet, SheetError};
use clap::Args;
use std::path::{Path, PathBuf};

/// Bench an ignition: drive it through every test point, and judge whether its sparks come where the curve says.
///
/// Without `--serial` and `--trace` the ignition is simulated, and nothing is connected. A test point is a speed and a vacuum, held
/// still. A pass proves the box and its program, and nothing beyond them.
#[derive(Args, Debug)]
pub struct BenchArguments {
    /// The engine's sheet, such as `fit --new-sheet` makes.
    #[arg(value_name = "SHEET.toml")]
    pub sheet: PathBuf,
    /// Drive a box through the stimulator at this serial port. A stimulator is a board that plays the pickup and watches the coil.
    #[arg(long, value_name = "PATH", conflicts_with = "simulate")]
    pub serial: Option<PathBuf>,
    /// Judge what a logic analyser recorded of a box, a VCD or CSV file. Nothing is driven.
    #[arg(long, value_name = "FILE", conflicts_with_all = ["serial", "simulate"], requires = "pickup", requires = "coil")]
    pub trace: Option<PathBuf>,
    /// Which signal of the trace is the pickup's output.
    #[arg(long, value_name = "NAME", requires = "trace")]
    pub pickup: Option<String>,
    /// Which signal of the trace is the coil driver's input: high while current is to flow in the coil.
    #[arg(long, value_name = "NAME", requires = "trace")]
    pub coil: Option<String>,
    /// The vacuum while the trace was recorded, such as "6 inHg depression", or "as planned" where `bench --serial` drove the box
    /// meanwhile. Otherwise none.
    #[arg(long, value_name = "DEPRESSION", value_parser = trace::depression_from, requires = "trace")]
    pub depression: Option<TracedDepression>,
    /// How often the analyser looked at its inputs, such as "42 ns". A VCD file says it itself.
    #[arg(long, value_name = "TIME", value_parser = trace::time_from, requires = "trace")]
    pub sampled_every: Option<f64>,
    /// The battery's voltage at the box, such as "12.6 V", from which the energy of the sparks is worked out. The simulation has
    /// 13 V unless you say another.
    #[arg(long, value_name = "VOLTAGE", value_parser = trace::volts_from)]
    pub battery: Option<f64>,
    /// Save the result in FILE too, for `report` and for programs; `-` is standard output.
    #[arg(long, value_name = "FILE")]
    pub json: Option<PathBuf>,
    /// Where the simulated scatter begins: the same number gives the same run.
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub seed: u64,
    /// Faults of the simulated ignition, such as "lag=150 us, pickup=1.5 crank degrees early,
    /// scatter=0.3 crank degrees, lose=1/400, vacuum=80 %, clock=0.5 %".
    #[arg(long, value_name = "TEXT", value_parser = simulate)]
    pub simulate: Option<Simulate>,
    /// Print everything: the table of all test points, every limit, and what makes up each uncertainty.
    #[arg(long)]
    pub details: bool,
    /// Go on without being asked: you have read the cautions.
    #[arg(long)]
    pub acknowledge_cautions: bool,
}

/// What a bench needs of a sheet.
pub(super) fn needed(sheet: &Sheet) -> Result<Settings, SheetError> {
    let settings = Settings::from_sheet(sheet)?;
    sheet.name.get()?;
    sheet.pickup.flank.get()?;
    sheet.engine.idle_crank_rpm.get()?;
    sheet.engine.greatest_speed_crank_rpm.get()?;
    sheet.ignition.clock_tolerance.get()?;
    sheet.tolerance.bench_crank_degrees.get()?;
    sheet.tolerance.bench_ramp_crank_degrees.get()?;
    Ok(settings)
}

/// What the simulated ignition does wrong.
#[derive(Clone, Debug)]
pub struct Simulate {
    /// As it was typed; a result says it again.
    pub typed: String,
    /// As it was read.
    pub imperfections: Imperfections,
}

fn simulate(typed: &str) -> Result<Simulate, ImperfectionText> {
    Ok(Simulate { typed: typed.to_owned(), imperfections: typed.parse()? })
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
    /// The simulation of a sheet, saved, as nobody asked for more.
    pub(super) fn simulated(sheet: &Path, json: &Path) -> Self {
        Self {
            sheet: sheet.to_owned(),
            serial: None,
            trace: None,
            pickup: None,
            coil: None,
            depression: None,
            sampled_every: None,
            battery: None,
            json: Some(json.to_owned()),
            seed: 1,
            simulate: None,
            details: false,
            acknowledge_cautions: false,
        }
    }

    /// Reads the sheet. Limits that its curve breaks are told by [`Prepared::limits`].
    ///
    /// # Errors
    /// A sheet that cannot be used, with exit status 2.
    pub fn prepare(&self) -> Result<Prepared, Failure> {
        let sheet = sheet::read(&self.sheet)?;
        let settings = with_all_missing(&sheet, needed)?;
        if self.serial.is_some() {
            sheet.refuse_assumed("no box is benched by it")?;
        }
        Ok(Prepared { sheet, settings })
    }

    /// A bench at the battery's voltage, where somebody said it.
    fn at_battery<'a>(&self, bench: Bench<'a>) -> Bench<'a> {
        match self.battery {
            Some(volts) => bench.at_battery(volts),
            None => bench,
        }
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
    /// Which sheet this is.
    ///
    /// # Errors
    /// Where the engine has no name, with exit status 2.
    pub fn identity(&self) -> Result<SheetIdentity, Failure> {
        Ok(SheetIdentity::of(&self.sheet)?)
    }

    /// Where the chosen curve comes from, and how it lies to the readings.
    ///
    /// # Errors
    /// Readings that cannot be used, with exit status 2.
    pub fn curve_source(&self) -> Result<CurveSource, Failure> {
        Ok(curve_source(&self.sheet, &self.settings.model)?)
    }

    /// Whether the curve keeps its limits.
    pub fn limits(&self) -> LimitsOutcome {
        limits_outcome(&self.sheet, &self.settings.model)
    }
}

/// Runs the command.
///
/// # Errors
/// A sheet that cannot be used, a link that fails, a result that cannot be written.
pub fn run(arguments: &BenchArguments, terminal: &mut Terminal) -> Result<Exit, Failure> {
    let json = {
        let inputs: Vec<&Path> =
            std::iter::once(&arguments.sheet).chain(&arguments.trace).map(PathBuf::as_path).collect();
        arguments.json.as_deref().map(|path| JsonFile::open(path, &inputs)).transpose()?
    };
    let prepared = arguments.prepare()?;
    let mut result = opening(arguments, &prepared)?;
    if !result.limits.kept {
        result.broken_off = Some(format!(
            "the curve breaks the sheet's own limits, so nothing was driven; `bobweight check {}` says where",
            arguments.sheet.display()
        ));
        result.verdict = result.verdict_of_parts();
        let text = told(arguments, &result, terminal);
        deliver(&result, &text, json, terminal)?;
        return Ok(Exit::Fail);
    }
    if let Some(path) = &arguments.trace {
        return trace::run(arguments, path, &prepared, json, terminal);
    }
    arguments.acknowledge(terminal)?;
    let _orderly = orderly();
    if let Some(path) = &arguments.serial {
        let (least, longest) = prepared.settings.dwell.settings().curve.range();
        let bench = Bench::new(&prepared.sheet, &prepared.settings, [seconds(least), seconds(longest)])?;
        let bench = arguments.at_battery(bench);
        return match serial::open(&path.display().to_string(), &Interrupt::of_process()) {
            Ok(link) => drive(arguments, &bench, link, result, json, terminal),
            Err(error) => not_begun(arguments, &error, result, json, terminal),
        };
    }
    let volts = arguments.battery.unwrap_or(BATTERY_VOLTS);
    let battery = voltage(volts);
    let dwell = prepared.settings.dwell.settings().curve.at(battery);
    let bench = Bench::new(&prepared.sheet, &prepared.settings, [seconds(dwell); 2])?.at_battery(volts);
    let imperfections = arguments.simulate.as_ref().map(|simulate| simulate.imperfections).unwrap_or_default();
    let table = imperfect(&prepared, &imperfections)?;
    let ignition = CoreIgnition::new(&table, prepared.settings.firmware, battery);
    let link = SimulatedBench::new(ignition, imperfections, arguments.seed)
        .with_pickup(&prepared.settings.pickup, *prepared.sheet.engine.greatest_speed_crank_rpm.get()?)
        .link()
        .map_err(BenchError::from)?;
    drive(arguments, &bench, link, result, json, terminal)
}

#[cfg(test)]
mod tests;
