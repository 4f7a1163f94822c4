//! `bobweight report`: one page of one result or more, or of a whole folder, and the card for the engine.

mod folder;

use super::cautions::CAUTIONS;
use super::exit::Exit;
use super::failure::Failure;
use super::out_file::{Holds, refuse_loss, write_whole};
use super::terminal::Terminal;
use crate::files::bounded::{self, LARGEST_RESULT_MB};
use crate::files::digest::digest;
use crate::page::report::{EngineFacts, Source, render, saved_at};
use crate::proof::first_start::first_start;
use crate::record::Record;
use crate::saved::{self, Freshness, RecordError};
use crate::sheet::{self, Sheet};
use clap::Args;
use miette::Diagnostic;
use std::path::{Path, PathBuf};

/// Make one page of your results, to keep or to print. It needs no network, and no colours.
///
/// A result is what `--json FILE` of `bench`, `light`, `fit`, `figures`, `check`, `write` or `read` saved. Where there are two of
/// one kind, the later is laid over the earlier. Of a folder it makes the engine's file: sheet, readings and results in pictures, and
/// of which state each of them is.
#[derive(Args, Debug)]
pub struct ReportArguments {
    /// The results, in the order in which they were made; or one folder that holds an engine's files.
    #[arg(value_name = "RESULT.json", required = true)]
    pub results: Vec<PathBuf>,
    /// The page to write.
    #[arg(long, value_name = "FILE.html")]
    pub out: PathBuf,
    /// Add the card for the engine: initial timing, total, hose, pickup, rotor, coil, and how to put the old distributor back. The
    /// sheet must lie where the results say.
    #[arg(long)]
    pub card: bool,
    /// Which sheet of the folder it is about, where there are several.
    #[arg(long, value_name = "SHEET.toml")]
    pub sheet: Option<PathBuf>,
}

/// Why there is no page.
#[derive(Debug, Diagnostic, thiserror::Error)]
#[error("{what}")]
struct NoPage {
    what: String,
    #[help]
    help: String,
}

fn no_page(what: String, help: &str) -> Failure {
    Failure::new(Exit::WrongInput, NoPage { what, help: help.to_owned() })
}

/// Runs the command.
///
/// # Errors
/// Files that are no results, a sheet that the card needs and that cannot be used, a page that cannot be written.
pub fn run(arguments: &ReportArguments, terminal: &mut Terminal) -> Result<Exit, Failure> {
    if arguments.results.iter().any(|path| path.is_dir()) || arguments.sheet.is_some() {
        return folder::run(arguments, terminal);
    }
    let inputs: Vec<&Path> = arguments.results.iter().map(PathBuf::as_path).collect();
    refuse_loss(&arguments.out, &inputs, Holds::Page)?;
    let sources = arguments.results.iter().map(|path| source(path)).collect::<Result<Vec<_>, _>>()?;
    let sheet = sheet_of(&sources);
    let parts = match (&sheet, arguments.card) {
        (Some(sheet), true) => Some((sheet::model(sheet)?, first_start(sheet)?)),
        (None, true) => {
            return Err(no_page(
                "the card needs the sheet, and it is not where the results say, or has changed since they were made"
                    .to_owned(),
                "run it in the folder in which the results were made, with a result of `bench`, `figures` or `light`: a fit alone \
                 names no sheet",
            ));
        }
        _ => None,
    };
    let facts = sheet
        .as_ref()
        .map(|sheet| EngineFacts { sheet, card: parts.as_ref().map(|(model, start)| (model, start.clone())) });
    let cautions: Vec<&str> = CAUTIONS.iter().map(|(_, caution)| *caution).collect();
    let page = render(&sources, facts.as_ref(), &cautions);
    write_whole(&arguments.out, page.as_bytes())?;
    let written = format!("Written: {}. Open it in a browser, and print it from there.", arguments.out.display());
    terminal.tell_result("", &written)?;
    for stale in sources.iter().filter(|source| source.freshness == Freshness::Stale) {
        terminal.say("", &format!("{} is STALE: {}", stale.file, stale.stale_because()))?;
    }
    if sheet.is_none() {
        let why =
            "the sheet is not where the results say, or has changed since: found, specified and chosen are left out";
        terminal.say("", why)?;
    }
    terminal.out.flush()?;
    Ok(Exit::Pass)
}

fn source(path: &Path) -> Result<Source, Failure> {
    let refused = |error: RecordError| Failure::new(Exit::WrongInput, error);
    let bytes = bounded::read(path, LARGEST_RESULT_MB).map_err(|cause| {
        let what = format!("{}: {cause}", path.display());
        no_page(what, "name a file that `--json FILE` of a command wrote")
    })?;
    let file = path.display().to_string();
    let record = saved::parse(&file, &String::from_utf8_lossy(&bytes)).map_err(refused)?;
    let saved = saved_at(path.metadata().and_then(|found| found.modified()).ok());
    let freshness = saved::freshness(&record, sheet_beside(&record).as_ref());
    Ok(Source { digest: digest(&bytes), saved, record, freshness, file })
}

/// The sheet that a result was made from, as it is now.
fn sheet_beside(record: &Record) -> Option<Sheet> {
    sheet::read(Path::new(&record.sheet()?.file)).ok()
}

/// The sheet that the last result with one was made from, where it still is what it was.
fn sheet_of(sources: &[Source]) -> Option<Sheet> {
    let last = sources.iter().rev().find(|source| source.record.sheet().is_some())?;
    (last.freshness == Freshness::Fresh).then(|| sheet_beside(&last.record)).flatten()
}

#[cfg(test)]
mod tests;
