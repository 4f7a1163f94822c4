//! `bobweight survey`: led through measuring the old distributor.

use super::cautions::{Work, acknowledge};
use super::exit::Exit;
use super::failure::Failure;
use super::out_file::{Holds, refuse_loss, write_whole};
use super::sitting::Sitting;
use super::terminal::Terminal;
use crate::distributor::fit::{Estimate, sentences};
use crate::distributor::readings::Hose;
use crate::distributor::survey::{ENOUGH_CRANK_DEGREES, Step, Survey, plot};
use crate::files::bounded::{self, LARGEST_TEXT_MB};
use clap::Args;
use miette::Diagnostic;
use std::path::{Path, PathBuf};

/// Measure the old distributor, one question at a time; readings are kept after every answer.
///
/// Started again with the same file it goes on where it stopped. It proposes the reading that tells most, and says when it has
/// enough.
#[derive(Args, Debug)]
pub struct SurveyArguments {
    /// The readings to write, a CSV file for `fit`; the answers stand in it as comments.
    #[arg(long, value_name = "READINGS.csv")]
    pub out: PathBuf,
    /// The distributor is spun by a drill or a lathe and read in distributor degrees.
    #[arg(long)]
    pub off_engine: bool,
    /// You have read the cautions, and go on without being asked.
    #[arg(long)]
    pub acknowledge_cautions: bool,
}

/// Why there is no survey.
#[derive(Debug, Diagnostic, thiserror::Error)]
#[error("{what}")]
struct NoSurvey {
    what: String,
    #[help]
    help: &'static str,
}

const HELP: &str = "One question at a time. Another unit is written behind the number. `back` takes the last answer back, `done` \
                    ends the readings of a kind, `stop` goes on another time.";

/// Runs the command.
///
/// # Errors
/// A file that is something else, cautions that nobody acknowledged, a file that cannot be written.
pub fn run(arguments: &SurveyArguments, terminal: &mut Terminal) -> Result<Exit, Failure> {
    refuse_loss(&arguments.out, &[], Holds::Readings)?;
    let _sitting = Sitting::begin(&arguments.out)?;
    let mut survey = open(&arguments.out, arguments.off_engine)?;
    let work = if survey.off_engine { Work::Chuck } else { Work::Engine };
    acknowledge(work, arguments.acknowledge_cautions, terminal)?;
    writeln!(terminal.err, "\n{HELP}\nEverything is kept in {} after every answer.", arguments.out.display())?;
    if !survey.readings().is_empty() {
        writeln!(terminal.err, "Going on from {} readings.", survey.readings().len())?;
    }
    let mut fitted = survey.fitted();
    let mut begun = false;
    loop {
        let step = survey.next(fitted.as_ref());
        if step == Step::Finished {
            break;
        }
        let question = survey.question(&step);
        // Whoever comes back in the middle of a reading has to be told which.
        if !question.before.is_empty() && (!question.goes_on || !begun) {
            writeln!(terminal.err, "\n{}", question.before)?;
        }
        begun = true;
        write!(terminal.err, "  {} ", question.question)?;
        terminal.err.flush()?;
        let Some(answer) = terminal.line()?.filter(|answer| answer.trim() != "stop") else {
            writeln!(terminal.err, "\nKept in {}; the same command goes on from here.", arguments.out.display())?;
            return Ok(Exit::Interrupted);
        };
        let before = hose_off(&survey);
        match survey.answer(&step, &answer) {
            Ok(said) => {
                write_whole(&arguments.out, survey.text().as_bytes())?;
                if !said.is_empty() {
                    writeln!(terminal.err, "  {said}")?;
                }
            }
            Err(wrong) => writeln!(terminal.err, "  {wrong}")?,
        }
        // The plot and what is proposed are of the curve without vacuum alone.
        if hose_off(&survey) != before {
            fitted = survey.fitted();
            write!(terminal.err, "\n{}", plot(&survey.readings(), fitted.as_ref(), survey.shaft()))?;
        }
    }
    finished(&survey, &arguments.out, terminal)
}

fn hose_off(survey: &Survey) -> usize {
    survey.readings().iter().filter(|reading| reading.hose == Hose::Off).count()
}

fn open(path: &Path, off_engine: bool) -> Result<Survey, Failure> {
    if !path.exists() {
        return Ok(Survey::new(off_engine));
    }
    let name = path.display().to_string();
    let refuse = |what: String, help| Failure::new(Exit::WrongInput, NoSurvey { what, help });
    let unreadable = |cause: &dyn std::fmt::Display| refuse(format!("{name}: {cause}"), "name another file");
    let bytes = bounded::read(path, LARGEST_TEXT_MB).map_err(|cause| unreadable(&cause))?;
    let text = String::from_utf8(bytes).map_err(|cause| unreadable(&cause))?;
    match Survey::parse(&name, &text)? {
        Some(survey) if survey.off_engine == off_engine => Ok(survey),
        Some(_) => Err(refuse(
            format!("{name}: this survey was begun the other way, on or off the engine"),
            "go on as it was begun, or name another file",
        )),
        None => Err(refuse(
            format!("{name}: this file is no survey, and it is not written over"),
            "name a file that does not exist, or one that `survey` wrote",
        )),
    }
}

fn finished(survey: &Survey, out: &Path, terminal: &mut Terminal) -> Result<Exit, Failure> {
    let Some(found) = survey.fitted() else {
        writeln!(terminal.out, "{}: too few readings for a curve; the same command goes on from here", out.display())?;
        return Ok(Exit::Fail);
    };
    let (low, high) = (found.lowest.speed, found.highest.speed);
    let (at, half) = found.widest_half_band(low, high);
    let enough = if half <= ENOUGH_CRANK_DEGREES { "That is enough" } else { "More readings would tell more" };
    let shaft = survey.shaft();
    let of = |crank: f64| shaft.of_crank(crank);
    writeln!(
        terminal.out,
        "{enough}: the curve without vacuum is known to {:.1} {} either way, from {:.0} to {:.0} {rpm}, least at {:.0} {rpm}.",
        of(half),
        shaft.degrees(),
        of(low),
        of(high),
        of(at),
        rpm = shaft.rpm()
    )?;
    let knots: Vec<String> = found
        .knots
        .iter()
        .map(|knot| format!("{:.0} within {:.0}", of(knot.value), of(Estimate::half_width(knot))))
        .collect();
    writeln!(
        terminal.out,
        "Its corners, {}: {}. A corner is never known as well as the curve.\n",
        shaft.rpm(),
        knots.join(", ")
    )?;
    if survey.off_engine {
        writeln!(terminal.out, "At the crank, at twice the speed and by twice the degrees:")?;
    }
    for sentence in sentences(&found) {
        writeln!(terminal.out, "  {sentence}")?;
    }
    if survey.off_engine {
        writeln!(
            terminal.out,
            "  Off the engine nothing is known of the initial timing: read it on the engine, or take the book's."
        )?;
    }
    writeln!(
        terminal.out,
        "\nNext: bobweight fit {} --new-sheet {}",
        out.display(),
        out.with_extension("toml").display()
    )?;
    terminal.out.flush()?;
    Ok(Exit::Pass)
}

#[cfg(test)]
mod tests;
