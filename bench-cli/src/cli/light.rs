//! `bobweight light`: the proof with a timing light.

mod session;

use super::cautions::{Work, acknowledge};
use super::exit::Exit;
use super::failure::Failure;
use super::json_file::{JsonFile, deliver, tell};
use super::out_file::{Holds, refuse_loss};
use super::sitting::Sitting;
use super::terminal::Terminal;
use crate::page;
use crate::proof::light::{LightError, LightReadings, Said, judge, lag_us, read};
use crate::record::light::Kind;
use crate::record::verdict::Verdict;
use crate::sheet;
use clap::{Args, ValueEnum};
use miette::Diagnostic;
use session::Took;
use std::path::PathBuf;

/// Prove the curve with a timing light, and be told what to turn where it is not right.
///
/// On a terminal it asks for one reading after the other, the most telling first, and keeps every answer at once. Started again,
/// it goes on from there. A script gives a file of readings that is whole.
#[derive(Args, Debug)]
pub struct LightArguments {
    /// The engine's sheet, such as `fit --new-sheet` makes.
    #[arg(value_name = "SHEET.toml")]
    pub sheet: PathBuf,
    /// The readings: a CSV file with columns such as `hose`, `speed_was`, `crank_rpm`, `crank_degrees`, `vacuum_kPa`, and lines
    /// `# light = dial`, `# light_lag = 30 us`, `# taken = on the engine`, `# zero = true`. On a terminal they are kept in it. Otherwise they are in a file
    /// beside the sheet.
    #[arg(long, value_name = "FILE.csv")]
    pub readings: Option<PathBuf>,
    /// The kind of timing light. Otherwise plain.
    #[arg(long, value_enum)]
    pub light: Option<LightArgument>,
    /// How long the light itself takes to flash after the spark, such as "30 us", where you know it.
    #[arg(long, value_name = "TIME", value_parser = lag_us)]
    pub light_lag: Option<f64>,
    /// The readings are taken on a motor-driven wheel beside the stimulator, not on the engine.
    #[arg(long)]
    pub on_bench: bool,
    /// Go on without being asked: you have read the cautions.
    #[arg(long)]
    pub acknowledge_cautions: bool,
    /// Save the result in FILE too, for `report` and for programs; `-` is standard output.
    #[arg(long, value_name = "FILE")]
    pub json: Option<PathBuf>,
}

/// The kind of the light.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub enum LightArgument {
    /// It flashes at the spark.
    Plain,
    /// It has a dial that is turned until the mark stands at 0.
    Dial,
}

/// Options and file say different things, or there is no file.
#[derive(Debug, Diagnostic, thiserror::Error)]
#[error("{what}")]
struct NotJudged {
    what: String,
    #[help]
    help: &'static str,
}

impl From<LightError> for Failure {
    fn from(error: LightError) -> Self {
        let help = match error {
            LightError::Sheet(error) => return error.into(),
            LightError::TooFew { .. } => "read three at idle and some at the top, hose off, and try again",
            LightError::NoSpark { .. } => "correct the speed, or take the line out",
        };
        Self::new(Exit::WrongInput, NotJudged { what: error.to_string(), help })
    }
}

impl From<crate::proof::light::LightReadingsError> for Failure {
    fn from(error: crate::proof::light::LightReadingsError) -> Self {
        Self::new(Exit::WrongInput, error)
    }
}

impl LightArguments {
    fn path(&self) -> PathBuf {
        self.readings.clone().unwrap_or_else(|| {
            let ending = if self.on_bench { "bench-light.csv" } else { "light.csv" };
            self.sheet.with_extension(ending)
        })
    }

    /// What the options say; the file's own lines where they say nothing.
    fn said(&self, file: Option<&LightReadings>) -> Result<Said, Failure> {
        let kind = self.light.map(|light| match light {
            LightArgument::Plain => Kind::Plain,
            LightArgument::Dial => Kind::Dial,
        });
        let Some(file) = file else {
            return Ok(Said {
                kind: kind.unwrap_or_default(),
                light_lag_us: self.light_lag,
                on_bench: self.on_bench,
                zero_is_true: None,
            });
        };
        let other = |what: &str| {
            let what = format!("{}: the readings say another {what} than the options", self.path().display());
            let help = "readings of two kinds do not belong in one file: name another with `--readings`";
            Failure::new(Exit::WrongInput, NotJudged { what, help })
        };
        if kind.is_some_and(|kind| kind != file.said.kind) {
            return Err(other("light"));
        }
        if self.on_bench && !file.said.on_bench {
            return Err(other("place"));
        }
        Ok(Said { light_lag_us: self.light_lag.or(file.said.light_lag_us), ..file.said })
    }
}

/// Runs the command.
///
/// # Errors
/// A sheet or readings that cannot be used, cautions that nobody acknowledged, results that cannot be written.
pub fn run(arguments: &LightArguments, terminal: &mut Terminal) -> Result<Exit, Failure> {
    let path = arguments.path();
    let json = arguments.json.as_deref().map(|json| JsonFile::open(json, &[&arguments.sheet, &path])).transpose()?;
    let sheet = sheet::read(&arguments.sheet)?;
    sheet::driven(&sheet)?;
    sheet.tolerance.light_crank_degrees.get()?;
    let sitting = terminal.can_ask.then(|| Sitting::begin(&path)).transpose()?;
    let file = if path.exists() || !terminal.can_ask { Some(read(&path)?) } else { None };
    let said = arguments.said(file.as_ref())?;
    if terminal.can_ask {
        refuse_loss(&path, &[&arguments.sheet], Holds::Readings)?;
    }
    acknowledge(if said.on_bench { Work::Bench } else { Work::Engine }, arguments.acknowledge_cautions, terminal)?;
    let (readings, stopped) = match (file, terminal.can_ask) {
        (Some(file), false) => (LightReadings { said, ..file }, None),
        (file, _) => match session::take(&sheet, &path, said, file, terminal)? {
            Took::Readings(readings) => (readings, None),
            Took::Stopped(readings, sentence) => (readings, Some(sentence)),
            Took::Later => return Ok(Exit::Interrupted),
        },
    };
    // Nothing is written into the readings any more, and an interrupt need not wait for the judgement.
    drop(sitting);
    let Some(sentence) = stopped else {
        let result = judge(&sheet, &readings)?;
        deliver(&result, &page::light::render(&result), json, terminal)?;
        return Ok(if result.verdict == Verdict::Pass { Exit::Pass } else { Exit::Fail });
    };
    let mut text = page::light::stopped(&sentence, &path.display().to_string());
    match judge(&sheet, &readings) {
        Ok(result) => deliver(&result, &format!("{text}\n{}", page::light::render(&result)), json, terminal)?,
        // What ends after a few readings is judged by the sentence alone.
        Err(LightError::TooFew { .. } | LightError::NoSpark { .. }) => {
            if json.is_some() {
                text.push_str("\nToo little was read for a result: none is written for programs.\n");
            }
            tell(terminal, matches!(json, Some(JsonFile::StandardOutput)), &text)?;
        }
        Err(error) => return Err(error.into()),
    }
    Ok(Exit::Fail)
}

#[cfg(test)]
mod tests;
