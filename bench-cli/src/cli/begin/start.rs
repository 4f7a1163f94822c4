//! What somebody has who begins, and the commands that lead to a curve from there.

use super::{BeginArguments, READINGS, SHEET};
use crate::cli::ask::{Answered, ask};
use crate::cli::cautions::{Work, acknowledge};
use crate::cli::exit::Exit;
use crate::cli::failure::Failure;
use crate::cli::fit::{self, ChooseArgument, FitArguments};
use crate::cli::survey::{self, SurveyArguments};
use crate::cli::terminal::Terminal;
use crate::distributor::readings;
use crate::files::listed::ending_in;
use crate::proof::begin::{Stage, wanted};
use crate::sheet::{self, Start, begun};
use std::path::{Path, PathBuf};

/// Asks what there is, and goes as far as to a curve where readings lead there. False where somebody stopped.
pub(super) fn started(arguments: &BeginArguments, path: &Path, terminal: &mut Terminal) -> Result<bool, Failure> {
    let folder = &arguments.folder;
    let text = path.exists().then(|| sheet::read_text(path)).transpose()?;
    if let Some(text) = &text
        && wanted(&sheet::parse(&path.display().to_string(), text)?, Stage::Curve).is_none()
    {
        return Ok(true);
    }
    let start = match text.as_deref().and_then(sheet::started) {
        Some(start) => start,
        None => match ask_start(terminal)? {
            Some(start) => {
                // A survey has its own, for where the distributor is.
                if start != Start::Distributor {
                    writeln!(terminal.err)?;
                    acknowledge(Work::Engine, arguments.acknowledge_cautions, terminal)?;
                }
                write(folder, path, text.as_deref(), start)?;
                start
            }
            None => return Ok(false),
        },
    };
    match start {
        Start::Numbers | Start::Book => Ok(true),
        Start::Readings => fitted(folder, path, terminal),
        Start::Distributor => surveyed(folder, path, terminal),
    }
}

fn ask_start(terminal: &mut Terminal) -> Result<Option<Start>, Failure> {
    writeln!(terminal.err)?;
    terminal.say("", "What have you of the old ignition?")?;
    for (at, (_, words)) in Start::ALL.iter().enumerate() {
        terminal.say(&format!("  {} ", at + 1), words)?;
    }
    let read = |typed: &str| {
        let number: usize = typed.trim_end_matches('.').parse().unwrap_or(0);
        let start = number.checked_sub(1).and_then(|at| Start::ALL.get(at));
        start.map(|(start, _)| *start).ok_or_else(|| match typed {
            "back" => "this is the first question".to_owned(),
            _ => "type its number, 1 to 4".to_owned(),
        })
    };
    match ask(terminal, "  which? (1 to 4):", read)? {
        Answered::Value(start) => Ok(Some(start)),
        Answered::Done | Answered::Ended => Ok(None),
    }
}

fn write(folder: &Path, path: &Path, text: Option<&str>, start: Start) -> Result<(), Failure> {
    let engine = folder.canonicalize().ok().and_then(|whole| Some(whole.file_name()?.to_string_lossy().into_owned()));
    let engine =
        engine.filter(|name| !name.trim().is_empty()).unwrap_or_else(|| SHEET.trim_end_matches(".toml").to_owned());
    let new = begun(&path.display().to_string(), text, &engine, start)?;
    match text {
        None => sheet::write_new(path, &new)?,
        Some(text) => sheet::replace(path, text, &new)?,
    }
    Ok(())
}

/// Makes a curve of readings and chooses it.
fn fitted(folder: &Path, path: &Path, terminal: &mut Terminal) -> Result<bool, Failure> {
    let first = ending_in(folder, "csv")?.into_iter().find(|file| readings::read(file).is_ok());
    writeln!(terminal.err)?;
    let which = match &first {
        Some(first) => format!("  which file? (an empty line: {}):", first.display()),
        None => "  which file, with columns such as hose, crank_rpm, crank_degrees:".to_owned(),
    };
    let read = |typed: &str| {
        let file = if typed.is_empty() { first.clone().ok_or("type the file's name")? } else { PathBuf::from(typed) };
        let beside = folder.join(&file);
        let file = if file.exists() { file } else { beside };
        readings::read(&file).map(|_| file).map_err(|error| error.to_string())
    };
    match ask(terminal, &which, read)? {
        Answered::Value(file) => chosen(&file, path, terminal),
        Answered::Done | Answered::Ended => Ok(false),
    }
}

fn chosen(file: &Path, path: &Path, terminal: &mut Terminal) -> Result<bool, Failure> {
    writeln!(terminal.out)?;
    let sheet = sheet::read(path)?;
    let named = sheet::with_readings(sheet.file(), sheet.text(), &fit::as_seen_from(Some(path), file))?;
    if named.text != sheet.text() {
        sheet::replace(path, sheet.text(), &named.text)?;
    }
    let arguments = FitArguments {
        choose: Some(ChooseArgument::Found),
        ..FitArguments::into_sheet(file.to_owned(), path.to_owned())
    };
    fit::run(&arguments, terminal)?;
    Ok(true)
}

/// Leads through measuring the old distributor, and makes a curve of what was measured.
fn surveyed(folder: &Path, path: &Path, terminal: &mut Terminal) -> Result<bool, Failure> {
    let out = folder.join(READINGS);
    let off_engine = if out.exists() {
        std::fs::read_to_string(&out).is_ok_and(|text| survey::is_off_engine(&out, &text))
    } else {
        writeln!(terminal.err)?;
        terminal.say(
            "",
            "Then it is measured first: with a timing light on its engine, or out of it, spun by a drill or a lathe. How to, and what can hurt you \
             there, comes with each step.",
        )?;
        let read = |typed: &str| match typed.to_lowercase().as_str() {
            "engine" => Ok(false),
            "drill" => Ok(true),
            _ => Err("type `engine` or `drill`".to_owned()),
        };
        match ask(terminal, "  where is it? (engine, drill):", read)? {
            Answered::Value(off_engine) => off_engine,
            Answered::Done | Answered::Ended => return Ok(false),
        }
    };
    let arguments = SurveyArguments { out: out.clone(), off_engine, acknowledge_cautions: false };
    match survey::run(&arguments, terminal)? {
        Exit::Pass => chosen(&out, path, terminal),
        _ => Ok(false),
    }
}
