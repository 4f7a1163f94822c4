//! `bobweight bench --trace`: a capture in the place of a stimulator.

use std::path::Path;

use super::run::{Table, opening, rest, state};
use super::{BenchArguments, Prepared};
use crate::cli::exit::Exit;
use crate::cli::failure::{Failure, Told};
use crate::cli::json_file::{JsonFile, deliver};
use crate::cli::terminal::Terminal;
use crate::interrupt::{Interrupt, orderly};
use crate::proof::bench::{Bench, BenchError, Coverage, Measurements, TracedDepression};
use crate::proof::source::trace::{Names, Trace};
use crate::quantity::of_core::seconds;
use crate::quantity::{self, Pressure};
use crate::record::verdict::Verdict;
use crate::sheet::Flank;

/// The tolerance of an analyser's crystal, twice over; common practice, no source.
const ANALYSER_CLOCK: f64 = 100e-6;

/// Reads `as planned`, or a depression such as `6 inHg depression`, for the command line.
///
/// # Errors
/// What is wrong with the text and what to write instead, in one line.
pub fn depression_from(typed: &str) -> Result<TracedDepression, String> {
    if typed.trim() == "as planned" {
        return Ok(TracedDepression::AsPlanned);
    }
    match quantity::parse_pressure(typed) {
        Ok(Pressure::Depression(kpa)) if kpa <= 110.0 => Ok(TracedDepression::Constant(kpa)),
        Ok(_) => Err("write the depression while the trace was recorded, such as `6 inHg depression`".to_owned()),
        Err(error) => Err(format!("{error}; or `as planned`, where `bench` drove the plan meanwhile")),
    }
}

/// Reads a time such as `42 ns`, for the command line; seconds.
///
/// # Errors
/// What is wrong with the text and what to write instead, in one line.
pub fn time_from(typed: &str) -> Result<f64, String> {
    let time = quantity::parse(&quantity::TIME, typed).map_err(|error| error.to_string())?;
    if time > 0.0 && time <= 1e-3 {
        Ok(time)
    } else {
        Err("an analyser looks at its inputs every 1 ms or oftener".to_owned())
    }
}

/// Reads the battery's voltage, such as `12.6 V`, for the command line.
///
/// # Errors
/// What is wrong with the text and what to write instead, in one line.
pub fn volts_from(typed: &str) -> Result<f64, String> {
    match quantity::parse(&quantity::VOLTAGE, typed) {
        Ok(volts) if (4.0..=20.0).contains(&volts) => Ok(volts),
        Ok(_) => Err("a battery has 4 to 20 V".to_owned()),
        Err(error) => Err(error.to_string()),
    }
}

/// Judges a trace.
///
/// # Errors
/// A trace that cannot be used, and a result that cannot be written.
pub fn run(
    arguments: &BenchArguments,
    path: &Path,
    prepared: &Prepared,
    json: Option<JsonFile>,
    terminal: &mut Terminal,
) -> Result<Exit, Failure> {
    let mut result = opening(arguments, prepared)?;
    let name = |name: &Option<String>| name.clone().unwrap_or_default();
    let names = Names { pickup: name(&arguments.pickup), coil: name(&arguments.coil) };
    let _orderly = orderly();
    let mut trace = Trace::open_heeding(path, &names, &Interrupt::of_process()).map_err(BenchError::from)?;
    let step_s = sampled_every(arguments, &trace, path)?;
    let (least, longest) = prepared.settings.dwell.settings().curve.range();
    let bench = Bench::new(&prepared.sheet, &prepared.settings, [seconds(least), seconds(longest)])?;
    let bench = arguments.at_battery(bench);
    let depression = arguments.depression.unwrap_or(TracedDepression::Constant(0.0));
    let setting = bench.setting_of(step_s, ANALYSER_CLOCK, depression.step_kpa())?;
    state(&mut result.settings, &setting);
    let to_err = matches!(json, Some(JsonFile::StandardOutput));
    let rises = *prepared.sheet.pickup.flank.get()? == Flank::Rising;
    let mut measurements = Measurements::default();
    let mut table = Table::begin(arguments, &result, terminal, to_err)?;
    let judged = bench.judge_trace(&mut trace, rises, depression, &setting, &mut measurements, &mut table);
    let unwritten = table.failed.take();
    let (coverage, failure) = match judged {
        Ok(coverage) => (coverage, None),
        Err(error) => (Coverage::default(), Some(error)),
    };
    result.broken_off = failure.as_ref().map(ToString::to_string);
    bench.judge(measurements, &setting, &mut result);
    coverage.tell(depression, &mut result);
    let told = rest(arguments, &result, terminal);
    deliver(&result, &told, json, terminal)?;
    if let Some(unwritten) = unwritten {
        return Err(unwritten);
    }
    match failure {
        Some(failure) => Err(failure.into()),
        None if result.verdict == Verdict::Pass => Ok(Exit::Pass),
        None => Ok(Exit::Fail),
    }
}

/// The time between two looks of the analyser, seconds. A dump's own step where nothing is said; a table has none.
fn sampled_every(arguments: &BenchArguments, trace: &Trace, path: &Path) -> Result<f64, Failure> {
    arguments.sampled_every.or(trace.step_s()).ok_or_else(|| {
        let text = format!("{}: a table does not say how often the analyser looked at its inputs", path.display());
        let help = Some("say it with `--sampled-every`, such as \"42 ns\" for 24 million samples a second");
        Failure::new(Exit::WrongInput, Told { text, help })
    })
}
