//! Runs the bench: what comes first, the table as it grows, the verdict.

use std::io::{Read, Write};

use bobweight::Trim;
use indicatif::{ProgressBar, ProgressStyle};

use super::{BenchArguments, Prepared};
use crate::cli::exit::Exit;
use crate::cli::failure::{Failure, Told};
use crate::cli::json_file::{JsonFile, deliver, tell};
use crate::cli::terminal::Terminal;
use crate::interrupt::Interrupt;
use crate::link::{Link, LinkError};
use crate::page::brief;
use crate::page::text::{self, Colour};
use crate::proof::bench::{Bench, BenchError, Measurements, Watcher};
use crate::proof::source::simulated::{ImperfectIgnition, Imperfections};
use crate::proof::verdict::{NOT_PROVEN, NOT_PROVEN_SIMULATED, NOT_PROVEN_TRIM, Setting};
use crate::record::bench::{
    BenchResult, BenchSettings, CoilSettings, DrivenBy, SIMULATION, STIMULATOR_AT, TRACE, TestPointResult,
};
use crate::record::verdict::Verdict;

/// The battery of the built-in bench where nobody says another: a car's while it is charged, volts.
pub(super) const BATTERY_VOLTS: f64 = 13.0;

/// The timetable of the simulated ignition: the sheet's, with the imperfections that lie in its settings.
pub(super) fn imperfect(prepared: &Prepared, imperfections: &Imperfections) -> Result<bobweight::Timetable, Failure> {
    let settings = &prepared.settings;
    ImperfectIgnition::new(&settings.model, &settings.pickup, imperfections)
        .and_then(|ignition| ignition.timetable(&settings.dwell, &settings.firmware))
        .map_err(|error| Failure::new(Exit::WrongInput, Told { text: format!("--simulate: {error}"), help: None }))
}

/// A board plays flanks at fixed angles.
const MOVING_FLANK_STANDS: &str =
    "the pickup's moving flank: the stimulator's stands still, at its latest angle; only the simulation moves it";

/// Everything of a result that is known before anything is driven.
pub(super) fn opening(arguments: &BenchArguments, prepared: &Prepared) -> Result<BenchResult, Failure> {
    let simulated = arguments.serial.is_none() && arguments.trace.is_none();
    let mut not_proven = vec![NOT_PROVEN.to_owned()];
    if simulated {
        not_proven.push(NOT_PROVEN_SIMULATED.to_owned());
    }
    if prepared.settings.model.trim() != &Trim::NONE {
        not_proven.push(NOT_PROVEN_TRIM.to_owned());
    }
    if arguments.serial.is_some() && prepared.settings.pickup.settings().moving_flank.is_some() {
        not_proven.push(MOVING_FLANK_STANDS.to_owned());
    }
    let (driven_by, source) = match (&arguments.serial, &arguments.trace) {
        (Some(path), _) => (DrivenBy::SerialPort, format!("{STIMULATOR_AT}{}", path.display())),
        (None, Some(path)) => (DrivenBy::Trace, format!("{TRACE}{}", path.display())),
        (None, None) => (DrivenBy::Simulation, SIMULATION.to_owned()),
    };
    let tolerance = &prepared.sheet.tolerance;
    let settings = BenchSettings {
        driven_by,
        source,
        seed: simulated.then_some(arguments.seed),
        simulate: arguments.simulate.as_ref().map(|simulate| simulate.typed.clone()),
        pulses_in_two_turns: usize::from(prepared.settings.pickup.settings().pulses_in_two_turns),
        tolerance_crank_degrees: *tolerance.bench_crank_degrees.get()?,
        tolerance_ramp_crank_degrees: *tolerance.bench_ramp_crank_degrees.get()?,
        tick_bench_us: 0.0,
        tick_ignition_us: prepared.sheet.ignition.tick_s.get()? * 1e6,
        clock_tolerance_percent: prepared.sheet.ignition.clock_tolerance.get()? * 100.0,
        vacuum_step_kpa: 0.0,
        vacuum_breakpoints: Vec::new(),
        coil: CoilSettings::of(&prepared.sheet).map(|coil| CoilSettings {
            battery_volts: arguments.battery.or(simulated.then_some(BATTERY_VOLTS)),
            ..coil
        }),
    };
    not_proven.extend(energy_not_judged(settings.coil.as_ref()));
    let assumptions = prepared.sheet.assumptions().to_vec();
    if !assumptions.is_empty() {
        not_proven.push(format!("what the sheet only assumes, and nobody knows so far: {}", assumptions.join(", ")));
    }
    Ok(BenchResult {
        assumptions,
        sheet: prepared.identity()?,
        curve_source: prepared.curve_source()?,
        limits: prepared.limits(),
        settings,
        not_proven,
        ..BenchResult::not_driven("")
    })
}

/// Why nothing is told of the energy of the sparks, or why it is not judged, and what would mend that.
fn energy_not_judged(coil: Option<&CoilSettings>) -> Option<String> {
    let why = match coil {
        None => "`resistance`, `inductance` or `driver_drop` of `[coil]` is not in the sheet",
        Some(CoilSettings { battery_volts: None, .. }) => {
            "nobody said the battery's voltage at the box; bench again with it, such as `--battery \"12.6 V\"`"
        }
        Some(CoilSettings { least_energy_mj: None, .. }) => {
            "no least energy in the sheet: not judged; write `least_energy` under `[coil]`, and bench again"
        }
        Some(_) => return None,
    };
    Some(format!("the energy of the sparks: {why}"))
}

/// The link failed before anything was driven: what is known of sheet and limits is kept all the same.
pub(super) fn not_begun(
    arguments: &BenchArguments,
    error: &LinkError,
    mut result: BenchResult,
    json: Option<JsonFile>,
    terminal: &mut Terminal,
) -> Result<Exit, Failure> {
    result.broken_off = Some(error.to_string());
    let text = told(arguments, &result, terminal);
    deliver(&result, &text, json, terminal)?;
    let exit = if matches!(error, LinkError::Interrupted { .. }) { Exit::Interrupted } else { Exit::LinkFailed };
    Err(Failure::new(exit, Told { text: error.to_string(), help: None }))
}

pub(super) fn drive<S: Read + Write>(
    arguments: &BenchArguments,
    bench: &Bench<'_>,
    link: Link<S>,
    mut result: BenchResult,
    json: Option<JsonFile>,
    terminal: &mut Terminal,
) -> Result<Exit, Failure> {
    let setting = bench.setting(&link)?;
    state(&mut result.settings, &setting);
    let to_err = matches!(json, Some(JsonFile::StandardOutput));
    let mut measurements = Measurements::default();
    let mut table = Table::begin(arguments, &result, terminal, to_err)?;
    let driven = bench.drive(link, &setting, &mut measurements, &mut table, &Interrupt::of_process());
    if let Some(bar) = table.bar.take() {
        bar.finish_and_clear();
    }
    let unwritten = table.failed.take();
    let failure = driven.err();
    result.broken_off = failure.as_ref().map(ToString::to_string);
    bench.judge(measurements, &setting, &mut result);
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

/// What only the stimulator could tell.
pub(super) fn state(settings: &mut BenchSettings, setting: &Setting) {
    settings.tick_bench_us = setting.tick_bench_s * 1e6;
    settings.clock_tolerance_percent = setting.clock_tolerance * 100.0;
    settings.vacuum_step_kpa = setting.vacuum_step_kpa;
}

/// A result of which nothing was told yet.
pub(super) fn told(arguments: &BenchArguments, result: &BenchResult, terminal: &Terminal) -> String {
    let colour = colour(terminal);
    if arguments.details {
        format!("{}\n{}", text::opening(result), text::summary(result, colour))
    } else {
        brief::render(result, colour)
    }
}

/// What stands below the table as it grew; all of it where none was told.
pub(super) fn rest(arguments: &BenchArguments, result: &BenchResult, terminal: &Terminal) -> String {
    let colour = colour(terminal);
    if arguments.details { format!("\n{}", text::summary(result, colour)) } else { brief::render(result, colour) }
}

fn colour(terminal: &Terminal) -> Colour {
    if terminal.colour_out { Colour::Ansi } else { Colour::Plain }
}

/// The table of test points as it grows, with a bar below it where somebody looks.
pub(super) struct Table<'t, 's> {
    terminal: &'t mut Terminal<'s>,
    /// Where the text for people goes.
    to_err: bool,
    /// Whether the table is told, or only the bar.
    details: bool,
    pub bar: Option<ProgressBar>,
    pub failed: Option<Failure>,
}

impl<'t, 's> Table<'t, 's> {
    /// Tells what stands above the table, where details are wanted.
    ///
    /// # Errors
    /// Where it cannot be written.
    pub fn begin(
        arguments: &BenchArguments,
        result: &BenchResult,
        terminal: &'t mut Terminal<'s>,
        to_err: bool,
    ) -> Result<Self, Failure> {
        let details = arguments.details;
        if details {
            tell(terminal, to_err, &format!("{}\n{}", text::opening(result), text::header()))?;
        }
        Ok(Self { terminal, to_err, details, bar: None, failed: None })
    }
}

impl Watcher for Table<'_, '_> {
    fn step(&mut self, done: usize, of: usize) {
        if !self.terminal.err_is_terminal {
            return;
        }
        let bar = self.bar.get_or_insert_with(|| {
            let style = ProgressStyle::with_template("{bar:30} {pos} of {len} steps, {eta} to go");
            ProgressBar::new(of as u64).with_style(style.unwrap_or_else(|_| ProgressStyle::default_bar()))
        });
        bar.set_position(done as u64);
    }

    fn test_point(&mut self, point: &TestPointResult) {
        if !self.details {
            return;
        }
        let (terminal, to_err) = (&mut *self.terminal, self.to_err);
        let mut write = || tell(terminal, to_err, &text::row(point));
        let written = match &self.bar {
            Some(bar) => bar.suspend(write),
            None => write(),
        };
        if let Err(failure) = written {
            self.failed.get_or_insert(failure);
        }
    }
}

impl From<BenchError> for Failure {
    fn from(error: BenchError) -> Self {
        if error.is_interrupt() {
            return Self::new(Exit::Interrupted, Told { text: error.to_string(), help: None });
        }
        let (exit, help) = match error {
            BenchError::Sheet(error) => return error.into(),
            BenchError::Trace(error) => return Self::new(Exit::WrongInput, error),
            BenchError::Plan(_) => (Exit::WrongInput, None),
            BenchError::Driver(_) | BenchError::Measure(_) => (
                Exit::LinkFailed,
                Some("what was measured before is kept and judged above; mend the link and run the bench again"),
            ),
        };
        Self::new(exit, Told { text: error.to_string(), help })
    }
}
