//! `bobweight report`: one page of one result or more, and the card for the engine.

use super::cautions::CAUTIONS;
use super::exit::Exit;
use super::failure::Failure;
use super::out_file::write_whole;
use super::terminal::Terminal;
use crate::figures::first_start::first_start;
use crate::light::LightResult;
use crate::output::report::{AnyResult, EngineFacts, Source, render};
use crate::result::{BenchResult, digest};
use crate::sheet::{self, Sheet};
use clap::Args;
use miette::Diagnostic;
use std::path::{Path, PathBuf};

/// Make one page of one result or more, to keep or to print: no network, no colour needed.
///
/// Results are what `--json FILE` of `bench`, `light`, `fit`, `figures` and `check` saved. Of two of one kind the later is laid
/// over the earlier, before and after.
#[derive(Args, Debug)]
pub struct ReportArguments {
    /// The results, in the order in which they were made.
    #[arg(value_name = "RESULT.json", required = true)]
    pub results: Vec<PathBuf>,
    /// The page to write.
    #[arg(long, value_name = "FILE.html")]
    pub out: PathBuf,
    /// Add the card for the engine: initial timing, total, hose, pickup, rotor, coil, and how to put the old one back. The
    /// sheet must lie where the results say.
    #[arg(long)]
    pub card: bool,
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
    writeln!(terminal.out, "Written: {}; open it in a browser, or print it from there", arguments.out.display())?;
    if sheet.is_none() {
        let why =
            "the sheet is not where the results say, or has changed since: found, specified and chosen are left out";
        writeln!(terminal.err, "{why}")?;
    }
    terminal.out.flush()?;
    Ok(Exit::Pass)
}

fn source(path: &Path) -> Result<Source, Failure> {
    let file = path.display().to_string();
    let bytes = std::fs::read(path)
        .map_err(|cause| no_page(format!("{file}: {cause}"), "name a file that `--json FILE` of a command wrote"))?;
    let text = String::from_utf8_lossy(&bytes);
    let saved = path.metadata().and_then(|found| found.modified()).map_or_else(
        |_| "at an unknown time".to_owned(),
        |time| humantime::format_rfc3339_seconds(time).to_string().replace('T', " ").replace('Z', " UTC"),
    );
    Ok(Source { digest: digest(&bytes), saved, result: read(&file, &text)?, file })
}

fn read(file: &str, text: &str) -> Result<AnyResult, Failure> {
    let help = "name a file that `--json FILE` of `bench`, `light`, `fit`, `figures` or `check` wrote";
    let no_result = |why: String| no_page(format!("{file}: {why}"), help);
    let value: serde_json::Value =
        serde_json::from_str(text).map_err(|error| no_result(format!("this is not JSON: {error}")))?;
    let mark = value["schema"].as_str().unwrap_or("").to_owned();
    let other = || no_result(format!("it is marked {mark:?}, which this version of bobweight does not read"));
    match mark.split_once('/') {
        Some(("bobweight-result", _)) => {
            let result = BenchResult::from_json(text).map_err(|error| no_result(error.to_string()))?;
            Ok(AnyResult::Bench(Box::new(result)))
        }
        Some(("bobweight-light", "1")) => {
            let result: LightResult = serde_json::from_value(value)
                .map_err(|error| no_result(format!("this is not a result of a timing light: {error}")))?;
            Ok(AnyResult::Light(Box::new(result)))
        }
        Some(("bobweight-fit", "1")) => Ok(AnyResult::Fit(value)),
        Some(("bobweight-figures", "1")) => Ok(AnyResult::Figures(value)),
        Some(("bobweight-check", "1")) => Ok(AnyResult::Check(value)),
        Some(_) => Err(other()),
        None => Err(no_result("this is no result of bobweight".to_owned())),
    }
}

/// The sheet that the last result with one was made from, where it still is what it was.
fn sheet_of(sources: &[Source]) -> Option<Sheet> {
    let identity = sources.iter().rev().find_map(|source| match &source.result {
        AnyResult::Bench(result) => Some((result.sheet.file.clone(), result.sheet.digest.clone())),
        AnyResult::Light(result) => Some((result.sheet.file.clone(), result.sheet.digest.clone())),
        AnyResult::Figures(value) | AnyResult::Check(value) => {
            let text = |key: &str| value["sheet"][key].as_str().map(str::to_owned);
            Some((text("file")?, text("digest")))
        }
        AnyResult::Fit(_) => None,
    })?;
    let sheet = sheet::read(Path::new(&identity.0)).ok()?;
    sheet.has_digest(identity.1.as_deref()?).then_some(sheet)
}

#[cfg(test)]
mod tests;
