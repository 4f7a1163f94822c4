//! Trials asked for one by one, each written into the log before the next is asked for.

use crate::cli::ask::{Answered, ask, in_range};
use crate::cli::exit::Exit;
use crate::cli::failure::Failure;
use crate::cli::out_file::FileNotWritten;
use crate::cli::terminal::Terminal;
use crate::files::appended::append;
use crate::proof::trials::{
    BACK, Ceiling, Log, MEASURED, Next, SPEEDS, ended_in_words, is_loud, judge, next, place_in_words,
};
use crate::quantity::{ANGLE, SPEED, STANDARD_ATMOSPHERE_KPA, as_depression, bare_or_with_unit, parse, parse_pressure};
use crate::record::trials::{Heard, Listening, Measure, Place, Said, Trial};
use crate::sheet::Sheet;
use crate::words::number::fixed;
use crate::words::yes_or_no::yes_or_no;
use std::path::Path;

const HELP: &str = "One question at a time. `done`: judge what there is. `stop`: go on another time.";
/// Who writes while driving looks at no road.
const STANDING: &str = "Do you stand, with the engine off, or does a helper write beside you? (yes)";
/// Further than this above what was proposed a timing is asked about, crank degrees: by eye nobody sets a quarter of one.
const SET_WITHIN: f64 = 0.25;

/// What a session came to.
pub(super) enum Took {
    /// As many trials as are to be judged.
    Enough,
    /// To be gone on with another time.
    Later,
}

/// Goes on with a value, and ends where there is none.
macro_rules! value {
    ($answered:expr) => {
        match $answered? {
            Answered::Value(value) => value,
            Answered::Done => return Ok(Answered::Done),
            Answered::Ended => return Ok(Answered::Ended),
        }
    };
}

/// Asks until the series ends, or somebody has enough.
pub(super) fn take(
    sheet: &Sheet,
    path: &Path,
    log: Option<Log>,
    again: bool,
    terminal: &mut Terminal,
) -> Result<Took, Failure> {
    writeln!(terminal.err)?;
    terminal.say("", &format!("Every trial is added to {} at once. {HELP}", path.display()))?;
    match ask(terminal, STANDING, must_be_yes)? {
        Answered::Value(()) => {}
        Answered::Done | Answered::Ended => return later(terminal),
    }
    let mut log = match log {
        Some(log) => log,
        None => match facts(sheet, terminal)? {
            Answered::Value(said) => {
                let log = Log::new(&path.display().to_string(), said);
                keep(path, &log.head())?;
                log
            }
            Answered::Done | Answered::Ended => return later(terminal),
        },
    };
    writeln!(terminal.err)?;
    for statement in judge(sheet, &log)?.statements {
        terminal.say("- ", &statement)?;
    }
    let series = log.last_series() + u32::from(again && !log.trials.is_empty());
    loop {
        let ceiling = Ceiling::of(sheet, &log)?;
        let proposed = match next(&log, &ceiling, series) {
            Next::Ended(ended) => {
                writeln!(terminal.err)?;
                terminal.say("", &ended_in_words(ended))?;
                return Ok(Took::Enough);
            }
            Next::Try(crank_degrees) => crank_degrees,
        };
        writeln!(terminal.err)?;
        terminal.say("", &in_words(&log, proposed))?;
        let (trial, then) = match trial(&log, &ceiling, series, proposed, terminal)? {
            Answered::Value(taken) => taken,
            Answered::Done => return Ok(Took::Enough),
            Answered::Ended => return later(terminal),
        };
        keep(path, &log.row(&trial))?;
        if trial.heard == Heard::Pinking {
            terminal.say("  ", "Kept. Do not go up again from there.")?;
        }
        log.trials.push(trial);
        match then {
            Answered::Value(()) => {}
            Answered::Done => return Ok(Took::Enough),
            Answered::Ended => return later(terminal),
        }
    }
}

fn keep(path: &Path, lines: &str) -> Result<(), Failure> {
    append(path, lines)
        .map_err(|cause| Failure::new(Exit::NotWritten, FileNotWritten { target: path.display().to_string(), cause }))
}

fn later(terminal: &mut Terminal) -> Result<Took, Failure> {
    writeln!(terminal.err, "\nKept; the same command goes on from here.")?;
    Ok(Took::Later)
}

/// Where, by what and how the trials are made.
fn facts(sheet: &Sheet, terminal: &mut Terminal) -> Result<Answered<Said>, Failure> {
    writeln!(terminal.err)?;
    let place = value!(ask(terminal, "Where on the curve? (idle, part throttle, full throttle)", |text| {
        one_of(&Place::WORDS, text)
    }));
    let speed_crank_rpm = match place {
        Place::Idle => *sheet.engine.idle_crank_rpm.get()?,
        Place::PartThrottle | Place::FullThrottle => {
            value!(ask(terminal, "At which speed does the timing count, in the middle of a pull? crank rpm:", |text| {
                let range = SPEEDS.0..=SPEEDS.1;
                in_range(parse(&SPEED, &bare_or_with_unit(text, "crank rpm")), range, "30 to 20 000 crank rpm")
            }))
        }
    };
    let depression_kpa = match place {
        Place::Idle | Place::FullThrottle => 0.0,
        Place::PartThrottle => {
            value!(ask(terminal, "With how much vacuum, kPa (or another unit behind the number)?", |text| {
                let read = parse_pressure(&as_depression(text, "kPa"));
                let kpa = read.map(|pressure| pressure.depression_kpa(STANDARD_ATMOSPHERE_KPA));
                in_range(kpa, 0.0..=110.0, "0 to 110 kPa depression")
            }))
        }
    };
    let measure = value!(ask(
        terminal,
        "What do you read: time (a pull between two speeds, or a hill), torque, power, delivery (of a pump), or speed (at a throttle that \
         nobody touches)?",
        |text| one_of(&Measure::WORDS, text)
    ));
    let mut said = Said { place, speed_crank_rpm, depression_kpa, measure, listening: Listening::Ear };
    if is_loud(sheet, &said) {
        terminal.say(
            "",
            "Here an engine pinks unheard. Use a dynamometer with knock detection. By ear no trial goes beyond what the engine had \
             before it was changed.",
        )?;
    }
    said.listening = value!(ask(terminal, "How do you listen for pinking? (ear, knock detection)", |text| {
        one_of(&Listening::WORDS, text)
    }));
    Ok(Answered::Value(said))
}

fn in_words(log: &Log, proposed: f64) -> String {
    let how = match log.trials.last() {
        Some(last) if last.crank_degrees > proposed + SET_WITHIN => "Back to",
        Some(last) if last.crank_degrees + SET_WITHIN < proposed => "Up to",
        Some(_) => "Once more at",
        None => "Begin with",
    };
    format!(
        "{how} {} crank degrees at {}. Engine off, set it, tighten it, prove it with the timing light; make the trial as the others; \
         stop, engine off, and write.",
        fixed(proposed, 1),
        place_in_words(&log.said)
    )
}

/// One trial, and whether to go on after it. From its measure on nothing of it is lost: where nobody says any more whether it pinked,
/// nobody could tell.
fn trial(
    log: &Log,
    ceiling: &Ceiling,
    series: u32,
    proposed: f64,
    terminal: &mut Terminal,
) -> Result<Answered<(Trial, Answered<()>)>, Failure> {
    let crank_degrees = loop {
        let set = value!(ask(terminal, "  timing by the light, crank degrees (Enter: as proposed):", |text| {
            if text.is_empty() {
                return Ok(proposed);
            }
            in_range(parse(&ANGLE, &bare_or_with_unit(text, "crank degrees")), -30.0..=90.0, "-30 to 90 crank degrees")
        }));
        if set <= proposed + SET_WITHIN {
            break set;
        }
        terminal.say("  ", &too_early(set, proposed, ceiling))?;
        // What was tried is kept, wise or not.
        if value!(ask(terminal, "  Was the trial made there already? (yes: it is kept; no)", yes_or_no)) {
            break set;
        }
    };
    let unit = log.said.measure.unit();
    let measured = value!(ask(terminal, &format!("  measured, {unit}:"), |text| {
        let bare = text.strip_suffix(unit).unwrap_or(text).trim();
        match bare.parse::<f64>() {
            Ok(number) if (MEASURED.0..=MEASURED.1).contains(&number) => Ok(number),
            Ok(_) => Err("that is outside 0.001 to 1 000 000: read it again".to_owned()),
            Err(_) => Err(format!("write a number of {unit}, such as 14.3")),
        }
    }));
    let before = log.trials.last().map_or("", |trial| trial.conditions.as_str());
    let mut trial =
        Trial { line: 0, series, crank_degrees, measured, heard: Heard::CouldNotTell, conditions: before.to_owned() };
    match ask(terminal, "  pinking? (no, yes, could not tell)", |text| one_of(&Heard::WORDS, text))? {
        Answered::Value(heard) => trial.heard = heard,
        Answered::Done => return Ok(Answered::Value((trial, Answered::Done))),
        Answered::Ended => return Ok(Answered::Value((trial, Answered::Ended))),
    }
    let question = if before.is_empty() {
        "  conditions, such as weather, fuel, gear (Enter: none):"
    } else {
        "  conditions (Enter: as before):"
    };
    let then = match ask(terminal, question, |text| Ok::<_, String>(text.to_owned()))? {
        Answered::Value(conditions) => {
            if !conditions.is_empty() {
                trial.conditions = conditions;
            }
            Answered::Value(())
        }
        Answered::Done => Answered::Done,
        Answered::Ended => Answered::Ended,
    };
    Ok(Answered::Value((trial, then)))
}

fn too_early(set: f64, proposed: f64, ceiling: &Ceiling) -> String {
    let [set_shown, proposed, limit] = [set, proposed, ceiling.limit].map(|degrees| fixed(degrees, 1));
    if set > ceiling.limit {
        return format!(
            "{set_shown} is beyond the sheet's limit of {limit}: never set that. Set it back to {proposed}."
        );
    }
    if let Some(pinking) = ceiling.pinking.filter(|pinking| set > pinking - BACK) {
        return format!(
            "It pinked at {}: {set_shown} is too near to that. Set it back to {proposed}.",
            fixed(pinking, 1)
        );
    }
    format!("{set_shown} is further than a step of 1 crank degree, or than it may go: set it back to {proposed}.")
}

fn must_be_yes(answer: &str) -> Result<(), String> {
    match yes_or_no(answer) {
        Ok(true) => Ok(()),
        _ => Err("stop first, engine off, or let a helper do it".to_owned()),
    }
}

fn one_of<T: Copy>(words: &[(&'static str, T)], text: &str) -> Result<T, String> {
    let found = words.iter().find(|(word, _)| *word == text).map(|(_, value)| *value);
    found.ok_or_else(|| {
        let known: Vec<&str> = words.iter().map(|(word, _)| *word).collect();
        format!("write one of: {}", known.join(", "))
    })
}
