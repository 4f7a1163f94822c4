//! `bobweight trials`: timings tried on an engine, from the late side.

mod session;

use super::cautions::{Work, acknowledge};
use super::exit::Exit;
use super::failure::{Failure, refuse_broken_limits};
use super::json_file::{JsonFile, deliver};
use super::out_file::{Holds, refuse_loss};
use super::sitting::Sitting;
use super::terminal::Terminal;
use crate::curve::check::broken_limits_in_words;
use crate::page;
use crate::proof::trials::{judge, read};
use crate::record::trials::Top;
use crate::sheet;
use clap::Args;
use miette::Diagnostic;
use session::Took;
use std::path::PathBuf;

/// Find the best timing of an engine by trials, and be told where to begin on one that was changed.
///
/// What was changed stands in `[changed]` of the sheet. On a terminal it asks for one trial after the other and keeps every answer at
/// once: always from the late side, a crank degree further at most, never past a limit of the sheet; at the first pinking the series
/// ends. Started again, it goes on from there. A script gives a file of trials, and is told what they come to. Nothing it says calls a
/// timing safe.
#[derive(Args, Debug)]
pub struct TrialsArguments {
    /// The engine's sheet, such as `fit --new-sheet` makes.
    #[arg(value_name = "SHEET.toml")]
    pub sheet: PathBuf,
    /// The trials at one place of the curve: a CSV file with the columns `series`, `crank_degrees`, `pinking`, `conditions` and one of
    /// `time_s`, `torque_Nm`, `power_kW`, `delivery_l_per_min`, `speed_crank_rpm`, and lines such as `# place = full throttle`, `# speed
    /// = 3000 crank rpm`, `# listening = ear`. Lines are added to it. Otherwise it is a file beside the sheet.
    #[arg(long, value_name = "FILE.csv")]
    pub trials: Option<PathBuf>,
    /// Begin another series in the same file, from the late side again: on another day, or after pinking.
    #[arg(long)]
    pub again: bool,
    /// Go on without being asked: you have read the cautions.
    #[arg(long)]
    pub acknowledge_cautions: bool,
    /// Save the result in FILE too, for `report` and for programs; `-` is standard output.
    #[arg(long, value_name = "FILE")]
    pub json: Option<PathBuf>,
}

/// Why no trial is asked for.
#[derive(Debug, Diagnostic, thiserror::Error)]
#[error("{what}")]
struct NoTrials {
    what: String,
    #[help]
    help: &'static str,
}

/// Runs the command. It ends with exit status 0 where the best timing lies inside what was tried, and with 1 where it is not told.
///
/// # Errors
/// A sheet or a log that cannot be used, cautions that nobody acknowledged, what cannot be written.
pub fn run(arguments: &TrialsArguments, terminal: &mut Terminal) -> Result<Exit, Failure> {
    let path = arguments.trials.clone().unwrap_or_else(|| arguments.sheet.with_extension("trials.csv"));
    let json = arguments.json.as_deref().map(|json| JsonFile::open(json, &[&arguments.sheet, &path])).transpose()?;
    let sheet = sheet::read(&arguments.sheet)?;
    let broken = broken_limits_in_words(&sheet, &sheet::model(&sheet)?);
    refuse_broken_limits(&sheet, broken, "no trial is asked for")?;
    let sitting = terminal.can_ask.then(|| Sitting::begin(&path)).transpose()?;
    let log = if path.exists() || !terminal.can_ask { Some(read(&path)?) } else { None };
    if terminal.can_ask {
        refuse_loss(&path, &[&arguments.sheet], Holds::Readings)?;
    }
    if arguments.again && log.as_ref().is_some_and(|log| !log.keeps_series()) {
        let what = format!("{}: it has no column `series`, so another series cannot be told from it", path.display());
        let help = "add the column, with 1 in every line, or name another file with `--trials`";
        return Err(Failure::new(Exit::WrongInput, NoTrials { what, help }));
    }
    acknowledge(Work::Trials, arguments.acknowledge_cautions, terminal)?;
    if terminal.can_ask
        && let Took::Later = session::take(&sheet, &path, log, arguments.again, terminal)?
    {
        return Ok(Exit::Interrupted);
    }
    // Read back as at any other time: what is judged is what is kept.
    let log = read(&path)?;
    drop(sitting);
    let result = judge(&sheet, &log)?;
    deliver(&result, &page::trials::render(&result), json, terminal)?;
    Ok(if result.top == Top::Seen { Exit::Pass } else { Exit::Fail })
}

#[cfg(test)]
mod tests;
