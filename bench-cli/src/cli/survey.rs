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
use crate::words::number::whole;
use crate::words::wrap::folded;
use clap::Args;
use miette::Diagnostic;
use std::path::{Path, PathBuf};

/// Measure the old distributor, one question at a time. Every answer is kept at once.
///
/// It proposes the reading that would tell most, and says when it has enough. Stop when you like: the same command with the same
/// file goes on from there.
#[derive(Args, Debug)]
pub struct SurveyArguments {
    /// The file to keep the readings in, a CSV file for `fit`; the other answers stand in it as comments.
    #[arg(long, value_name = "READINGS.csv")]
    pub out: PathBuf,
    /// The distributor is out of the engine and spun by a drill or a lathe: speeds and angles are its own.
    #[arg(long)]
    pub off_engine: bool,
    /// Go on without being asked: you have read the cautions.
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
    writeln!(terminal.err)?;
    terminal.say("", HELP)?;
    terminal.say("", &format!("Everything is kept in {} after every answer.", arguments.out.display()))?;
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
            writeln!(terminal.err)?;
            terminal.say("", &question.before)?;
        }
        begun = true;
        write!(terminal.err, "{} ", folded(&format!("  {}", question.question)))?;
        terminal.err.flush()?;
        let Some(answer) = terminal.line()?.filter(|answer| answer.trim() != "stop") else {
            writeln!(terminal.err)?;
            terminal.say("", &format!("Kept in {}; the same command goes on from here.", arguments.out.display()))?;
            return Ok(Exit::Interrupted);
        };
        let before = hose_off(&survey);
        match survey.answer(&step, &answer) {
            Ok(said) => {
                write_whole(&arguments.out, survey.text().as_bytes())?;
                if !said.is_empty() {
                    terminal.say("  ", &said)?;
                }
            }
            Err(wrong) => terminal.say("  ", &wrong)?,
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

/// Whether a survey that was begun is one of a distributor out of its engine.
pub(super) fn is_off_engine(path: &Path, text: &str) -> bool {
    Survey::parse(&path.display().to_string(), text).is_ok_and(|survey| survey.is_some_and(|survey| survey.off_engine))
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
        let too_few = format!("{}: too few readings for a curve; the same command goes on from here", out.display());
        terminal.tell_result("", &too_few)?;
        return Ok(Exit::Fail);
    };
    let (low, high) = (found.lowest.speed, found.highest.speed);
    let (at, half) = found.widest_half_band(low, high);
    let enough = if half <= ENOUGH_CRANK_DEGREES { "That is enough" } else { "More readings would tell more" };
    let shaft = survey.shaft();
    let of = |crank: f64| shaft.of_crank(crank);
    let known = format!(
        "{enough}: the curve without vacuum is known to {:.1} {} either way, from {} to {} {rpm}, least well at {} {rpm}.",
        of(half),
        shaft.degrees(),
        whole(of(low)),
        whole(of(high)),
        whole(of(at)),
        rpm = shaft.rpm()
    );
    terminal.tell_result("", &known)?;
    let knots: Vec<String> = found
        .knots
        .iter()
        .map(|knot| format!("{} within {}", whole(of(knot.value)), whole(of(Estimate::half_width(knot)))))
        .collect();
    let corners =
        format!("Its corners, {}: {}. A corner is never known as well as the curve.", shaft.rpm(), knots.join(", "));
    terminal.tell_result("", &corners)?;
    writeln!(terminal.out)?;
    if survey.off_engine {
        writeln!(terminal.out, "At the crank, at twice the speed and by twice the degrees:")?;
    }
    for sentence in sentences(&found) {
        terminal.tell_result("  ", &sentence)?;
    }
    if survey.off_engine {
        let not_known =
            "Off the engine nothing is known of the initial timing: read it on the engine, or take the book's.";
        terminal.tell_result("  ", not_known)?;
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
