//! `bobweight begin`: from what somebody has to figures at once, and to a whole sheet one question at a time.

mod question;
mod start;

use self::question::{Asked, Questions};
use super::bench::{self, BenchArguments};
use super::exit::Exit;
use super::failure::{Failure, Told};
use super::sitting::Sitting;
use super::terminal::Terminal;
use crate::cli::ask::{Answered, ask};
use crate::curve::export::Export;
use crate::curve::figures;
use crate::curve::first_look::FirstLook;
use crate::page;
use crate::proof::begin::{Stage, all_presumed, assumed, open, wanted, with_all_missing};
use crate::record::Record;
use crate::saved::{self, Freshness};
use crate::sheet::{self, Sheet, started};
use clap::Args;
use std::path::{Path, PathBuf};

/// Begin: say what you have - three numbers, a book's page, readings, or the old distributor alone - and see what it gives. What is still
/// wanted is asked one question at a time, with how to know it, and only once a step needs it.
///
/// Every answer is written into the sheet at once. Stop when you like: the same command in the same folder goes on from there. What you do not
/// know can be assumed, and is marked so in the sheet; a limit never is.
#[derive(Args, Debug)]
pub struct BeginArguments {
    /// The folder of the engine; it is made where there is none.
    #[arg(value_name = "FOLDER", default_value = ".")]
    pub folder: PathBuf,
    /// Go on without being asked: you have read the cautions.
    #[arg(long)]
    pub acknowledge_cautions: bool,
}

/// The sheet of a folder that has none.
const SHEET: &str = "engine.toml";
/// The readings of a survey that is led from here.
const READINGS: &str = "readings.csv";
/// The result of the simulated bench.
const SIMULATED: &str = "simulated.json";

const HELP: &str = "One question at a time; a number alone has the unit that stands behind the question. `?` tells more, `back` goes one question back, \
                    `don't know` assumes something and marks it, `stop` goes on another time.";

/// Runs the command.
///
/// # Errors
/// A folder with several sheets, a sheet that cannot be used, a file that cannot be written.
pub fn run(arguments: &BeginArguments, terminal: &mut Terminal) -> Result<Exit, Failure> {
    let folder = &arguments.folder;
    std::fs::create_dir_all(folder).map_err(|cause| {
        let text = format!("{}: no such folder can be made: {cause}", folder.display());
        Failure::new(Exit::NotWritten, Told { text, help: Some("name a folder of your own") })
    })?;
    let path = sheet_of(folder)?;
    let _sitting = Sitting::begin(&path)?;
    terminal.say("", HELP)?;
    terminal.say("", &format!("Everything is kept in {} after every answer.", path.display()))?;
    if path.exists() {
        terminal.say("", "What can hurt you at an engine was said when this was begun, and stands in the README.")?;
    }
    if let Some(exit) = led(arguments, &path, terminal)? {
        return Ok(exit);
    }
    writeln!(terminal.err)?;
    terminal.say("", &format!("Kept in {}; the same command goes on from here.", path.display()))?;
    Ok(Exit::Interrupted)
}

/// The one sheet of a folder.
fn sheet_of(folder: &Path) -> Result<PathBuf, Failure> {
    match sheet::sheets_in(folder)?.as_slice() {
        [] => Ok(folder.join(SHEET)),
        [one] => Ok(one.clone()),
        [first, second, ..] => {
            let text = format!(
                "two sheets lie in one folder, {} and {}: this asks for one engine",
                first.display(),
                second.display()
            );
            Err(Failure::new(Exit::WrongInput, Told { text, help: Some("give each engine a folder of its own") }))
        }
    }
}

/// The whole way; nothing where somebody stopped.
fn led(arguments: &BeginArguments, path: &Path, terminal: &mut Terminal) -> Result<Option<Exit>, Failure> {
    let folder = &arguments.folder;
    let mut questions = Questions::of(path);
    if !start::started(arguments, path, terminal)? {
        return Ok(None);
    }
    let mut looked = false;
    loop {
        // Whoever goes back may come to any earlier question; the stage that is open comes next.
        let sheet = sheet::read(path)?;
        if wanted(&sheet, Stage::Curve).is_some() {
            looked = false;
            if questions.stage(Stage::Curve, terminal)? == Asked::Stopped {
                return Ok(None);
            }
            continue;
        }
        if !looked {
            look(&sheet, terminal)?;
            looked = true;
        }
        if wanted(&sheet, Stage::Limits).is_some() {
            announce(&sheet, Stage::Limits, "whether your engine's limits keep this curve", terminal)?;
            match questions.stage(Stage::Limits, terminal)? {
                Asked::Stopped => return Ok(None),
                Asked::WentBack => looked = false,
                Asked::Done => {}
            }
            continue;
        }
        // What no ignition from here drives gets its figures, and no bench.
        if let Err(error) = sheet::driven(&sheet) {
            writeln!(terminal.out)?;
            terminal.tell_result("", &figures::in_words(&error))?;
            terminal.out.flush()?;
            return Ok(Some(Exit::Pass));
        }
        if wanted(&sheet, Stage::Bench).is_some() {
            match rest(&sheet, path, &mut questions, terminal)? {
                Asked::Stopped => return Ok(None),
                Asked::WentBack => looked = false,
                Asked::Done => {}
            }
            continue;
        }
        break;
    }
    let sheet = sheet::read(path)?;
    if !assumed(&sheet).is_empty() && questions.are_assumptions_due() {
        writeln!(terminal.err)?;
        terminal.say(
            "",
            "What is only assumed so far, one after the other. `don't know`, or an empty line, leaves it as it is.",
        )?;
        if questions.assumptions(terminal)? == Asked::Stopped {
            return Ok(None);
        }
    }
    let sheet = sheet::read(path)?;
    if assumed(&sheet).is_empty() && wanted(&sheet, Stage::Ignition).is_some() {
        announce(&sheet, Stage::Ignition, "what the ignition is given, and to light it on the engine", terminal)?;
        if questions.stage(Stage::Ignition, terminal)? == Asked::Stopped {
            return Ok(None);
        }
    }
    let exit = benched(folder, path, terminal)?;
    last_words(path, terminal)?;
    Ok(Some(exit))
}

/// Figures and picture of the curve as it is.
fn look(sheet: &Sheet, terminal: &mut Terminal) -> Result<(), Failure> {
    let look = FirstLook::of(sheet)?;
    write!(terminal.out, "\n{}", page::first_look::render(&look, wanted(sheet, Stage::Limits).is_none()))?;
    terminal.out.flush()?;
    Ok(())
}

fn announce(sheet: &Sheet, stage: Stage, what: &str, terminal: &mut Terminal) -> Result<(), Failure> {
    writeln!(terminal.err)?;
    let count = open(sheet, stage);
    terminal.say("", &format!("{} more tell {what}.", questions_in_words(count)))?;
    Ok(())
}

fn questions_in_words(count: usize) -> String {
    if count == 1 { "1 question".to_owned() } else { format!("{count} questions") }
}

/// What a bench asks for besides: assumed at once, or asked one after the other.
fn rest(sheet: &Sheet, path: &Path, questions: &mut Questions, terminal: &mut Terminal) -> Result<Asked, Failure> {
    if questions.one_by_one {
        return questions.stage(Stage::Bench, terminal);
    }
    let count = open(sheet, Stage::Bench);
    writeln!(terminal.err)?;
    terminal.say(
        "",
        &format!(
            "{} more - pickup, coil, box and a few choices - are wanted to bench this curve in simulation. All can be assumed for now; each is marked in \
             the sheet, and no ignition is given what is assumed of pickup, coil or sensor.",
            questions_in_words(count)
        ),
    )?;
    let read = |typed: &str| match typed.to_lowercase().as_str() {
        "assume" => Ok(Some(true)),
        "ask" => Ok(Some(false)),
        "back" => Ok(None),
        _ => Err("type `assume`, `ask` for one question at a time, or `back`".to_owned()),
    };
    match ask(terminal, "  assume them and bench it, or ask one by one? (assume, ask):", read)? {
        Answered::Value(Some(true)) => {
            let text = all_presumed(sheet.file(), sheet.text());
            match text {
                Ok(text) => {
                    sheet::replace(path, sheet.text(), &text)?;
                    questions.assumes();
                }
                Err(why) => {
                    terminal.say("  ", &format!("That cannot be: {why}"))?;
                    questions.one_by_one = true;
                }
            }
            Ok(Asked::Done)
        }
        Answered::Value(Some(false)) => {
            questions.one_by_one = true;
            Ok(Asked::Done)
        }
        Answered::Value(None) => questions.back(None, terminal),
        Answered::Done | Answered::Ended => Ok(Asked::Stopped),
    }
}

/// Benches the curve in simulation, unless the sheet as it is was benched so already.
fn benched(folder: &Path, path: &Path, terminal: &mut Terminal) -> Result<Exit, Failure> {
    let result = folder.join(SIMULATED);
    let sheet = sheet::read(path)?;
    if let Ok(Record::Bench(found)) = saved::read(&result)
        && saved::freshness(&Record::Bench(found.clone()), Some(&sheet)) == Freshness::Fresh
    {
        writeln!(terminal.out)?;
        terminal
            .tell_result("", &format!("{} is of this sheet as it is: {}.", result.display(), found.verdict.word()))?;
        return Ok(Exit::Pass);
    }
    writeln!(terminal.out)?;
    bench::run(&BenchArguments::simulated(path, &result), terminal)
}

/// What is still assumed, and the next command.
fn last_words(path: &Path, terminal: &mut Terminal) -> Result<(), Failure> {
    let sheet = sheet::read(path)?;
    let guides = assumed(&sheet);
    writeln!(terminal.out)?;
    if guides.is_empty() {
        // What no question here asks for, such as a sensor's calibration, is named with its line.
        match with_all_missing(&sheet, |sheet| Export::new(sheet.clone())) {
            Ok(_) => terminal.tell_result(
                "",
                "Nothing is assumed any more, and no question is open. `bobweight` alone names the next step.",
            )?,
            Err(error) => {
                let why = figures::in_words(&error);
                terminal.tell_result(
                    "",
                    &format!("Nothing is assumed any more. No ignition can be given it so far: {why}"),
                )?;
            }
        }
    } else {
        let stands = if guides.len() == 1 { "assumption stands" } else { "assumptions stand" };
        terminal.tell_result(
            "",
            &format!(
                "{} {stands}, and as many questions are open; `assumed` in the sheet names them. The same command asks for one after the other.",
                guides.len()
            ),
        )?;
    }
    if started(sheet.text()).is_some() {
        terminal.tell_result(
            "",
            &format!("All of it: `bobweight figures {file}`, `bobweight check {file}`.", file = sheet.file()),
        )?;
    }
    terminal.out.flush()?;
    Ok(())
}

#[cfg(test)]
mod tests;
