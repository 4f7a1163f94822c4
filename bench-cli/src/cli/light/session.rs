//! The readings of a proof, asked for one by one and kept after every answer.

use super::NotJudged;
use crate::cli::ask::{Answered, ask, in_range};
use crate::cli::exit::Exit;
use crate::cli::failure::{Failure, refuse_broken_limits};
use crate::cli::out_file::write_whole;
use crate::cli::terminal::Terminal;
use crate::curve::check::broken_limits_in_words;
use crate::distributor::readings::{Reading, SpeedWas};
use crate::interrupt::Interrupt;
use crate::proof::light::{self, LightReadings, Next, Proposal, Said, proposals, read, text};
use crate::quantity::units::KPA_PER_INHG;
use crate::quantity::{ANGLE, SPEED, as_depression, bare_or_with_unit, kpa_and_not_inhg, parse, parse_pressure};
use crate::record::light::Kind;
use crate::sheet::{self, Sheet};
use crate::words::number::whole;
use crate::words::yes_or_no::yes_or_no;
use std::path::{Path, PathBuf};

const HELP: &str = "Answer each question with a number; another unit is written behind it. `done`: judge what there is. \
                    `stop`: go on another time.";

/// What a session came to.
pub(super) enum Took {
    /// Enough, or as many as somebody wanted.
    Readings(LightReadings),
    /// The readings forbid more; what was seen and what to do.
    Stopped(LightReadings, String),
    /// To be gone on with another time.
    Later,
}

/// Asks until the proposed readings are taken, somebody has enough, or the readings forbid to go on.
pub(super) fn take(
    sheet: &Sheet,
    path: &Path,
    mut said: Said,
    file: Option<LightReadings>,
    terminal: &mut Terminal,
) -> Result<Took, Failure> {
    let broken = broken_limits_in_words(sheet, &sheet::model(sheet)?);
    refuse_broken_limits(sheet, broken, "no reading is asked for")?;
    let mut taken = file.map(|file| file.readings.readings).unwrap_or_default();
    writeln!(terminal.err)?;
    terminal.say("", &format!("Readings are kept in {} after every answer. {HELP}", path.display()))?;
    if !taken.is_empty() {
        writeln!(terminal.err, "{} readings are there already.", taken.len())?;
        match ask(terminal, CHANGED, yes_or_no)? {
            Answered::Value(true) => {
                let aside = put_aside(path)?;
                terminal.say("", &format!("They are kept in {}; reading anew.", aside.display()))?;
                taken.clear();
            }
            Answered::Value(false) | Answered::Done => {}
            Answered::Ended => return Ok(Took::Later),
        }
    }
    // A whole set that tells too little is read once more.
    let round = if proposals(sheet, &taken)?.is_empty() { taken.len() } else { 0 };
    if round > 0 {
        writeln!(terminal.err, "All that was proposed is read: once more from the start, or `done`.")?;
    }
    terminal.say("", how_to_read(said))?;
    if said.zero_is_true.is_none() {
        match ask(terminal, ZERO, yes_or_no)? {
            Answered::Value(held) => said.zero_is_true = Some(held),
            Answered::Done => {}
            Answered::Ended => return Ok(Took::Later),
        }
    }
    let stopped = loop {
        let (next, left) = match light::next(sheet, &said, &taken, round)? {
            Next::Finished => break None,
            Next::Stop(sentence) => break Some(sentence),
            Next::Again(proposal, why) => {
                writeln!(terminal.err)?;
                terminal.say("", &format!("Go no higher yet. {why}. Once more first."))?;
                (proposal, String::new())
            }
            Next::Read(proposal, left) => {
                writeln!(terminal.err)?;
                (proposal, format!("{left} left. "))
            }
        };
        let speed_was = speed_was(&taken, &next);
        terminal.say("", &format!("{left}{}", in_words(&next, speed_was)))?;
        match reading(&next, speed_was, terminal)? {
            Answered::Value(reading) => taken.push(reading),
            Answered::Done => break None,
            Answered::Ended => return later(terminal),
        }
        write_whole(path, text(&said, &taken).as_bytes())?;
    };
    if Interrupt::of_process().asked() {
        return later(terminal);
    }
    // Read back as any other time: what is judged is what is kept.
    let readings = LightReadings { said, ..read(path)? };
    Ok(match stopped {
        Some(sentence) => Took::Stopped(readings, sentence),
        None => Took::Readings(readings),
    })
}

fn later(terminal: &mut Terminal) -> Result<Took, Failure> {
    writeln!(terminal.err, "\nKept; the same command goes on from here.")?;
    Ok(Took::Later)
}

/// Readings of before a change would ask for the same turn a second time.
const CHANGED: &str =
    "Was anything turned, mended or changed in the sheet since they were taken? (yes: they are put aside; no)";

/// What is turned by a mark that is several degrees out is turned wrong.
const ZERO: &str = "Was that 0 held against true top dead centre, by a positive stop? (yes, no)";

/// Gives the readings a name of their own: nothing that was recorded is lost.
fn put_aside(path: &Path) -> Result<PathBuf, Failure> {
    let mut n = 1;
    let mut aside = path.with_extension("1.csv");
    while aside.exists() {
        n += 1;
        aside = path.with_extension(format!("{n}.csv"));
    }
    match std::fs::rename(path, &aside) {
        Ok(()) => Ok(aside),
        Err(cause) => Err(Failure::new(
            Exit::NotWritten,
            NotJudged {
                what: format!("{}: it cannot be put aside as {}: {cause}", path.display(), aside.display()),
                help: "rename it yourself, or name another file with `--readings`",
            },
        )),
    }
}

fn how_to_read(said: Said) -> &'static str {
    match said.kind {
        Kind::Plain => {
            "Read the degrees where the light shows the mark, by a tape or plate whose 0 stands at true top dead centre, found by a \
             positive stop: an old mark can be several crank degrees out."
        }
        Kind::Dial => {
            "Turn the dial until the light shows the mark at 0, and read the dial. The 0 stands at true top dead centre, found by a \
             positive stop: an old mark can be several crank degrees out."
        }
    }
}

fn speed_was(taken: &[Reading], next: &Proposal) -> SpeedWas {
    match taken.last() {
        Some(last) if (last.crank_rpm - next.crank_rpm).abs() < 200.0 => SpeedWas::Steady,
        Some(last) if last.crank_rpm > next.crank_rpm => SpeedWas::Falling,
        _ => SpeedWas::Rising,
    }
}

fn in_words(next: &Proposal, speed_was: SpeedWas) -> String {
    let how = match speed_was {
        SpeedWas::Rising => "come up to",
        SpeedWas::Falling => "come down to",
        SpeedWas::Steady => "let it settle, and hold",
    };
    match next.depression_kpa {
        None => format!("Hose off and stopped up: {how} about {} crank rpm.", whole(next.crank_rpm)),
        Some(kpa) => format!(
            "Hand pump on the sensor's hose, about {kpa:.0} kPa ({:.0} inHg) depression: {how} about {} crank rpm.",
            kpa / KPA_PER_INHG,
            whole(next.crank_rpm)
        ),
    }
}

fn reading(next: &Proposal, speed_was: SpeedWas, terminal: &mut Terminal) -> Result<Answered<Reading>, Failure> {
    /// Goes on with a value, and hands back whatever else was answered.
    macro_rules! value {
        ($answered:expr) => {
            match $answered {
                Answered::Value(value) => value,
                Answered::Done => return Ok(Answered::Done),
                Answered::Ended => return Ok(Answered::Ended),
            }
        };
    }
    let crank_rpm = value!(ask(terminal, "  speed, crank rpm:", |text| {
        in_range(parse(&SPEED, &bare_or_with_unit(text, "crank rpm")), 30.0..=20_000.0, "30 to 20 000 crank rpm")
    })?);
    let depression_kpa = match next.depression_kpa {
        None => None,
        Some(asked) => Some(value!(ask(terminal, "  depression, kPa (or another unit behind the number):", |text| {
            kpa_and_not_inhg(text, asked)?;
            let read = parse_pressure(&as_depression(text, "kPa"));
            let kpa = read.map(|pressure| pressure.depression_kpa(crate::quantity::STANDARD_ATMOSPHERE_KPA));
            in_range(kpa, 0.0..=110.0, "0 to 110 kPa depression")
        })?)),
    };
    let crank_degrees = value!(ask(terminal, "  timing, crank degrees before TDC:", |text| {
        in_range(parse(&ANGLE, &bare_or_with_unit(text, "crank degrees")), -30.0..=90.0, "-30 to 90 crank degrees")
    })?);
    Ok(Answered::Value(Reading { line: 0, hose: next.hose, speed_was, crank_rpm, crank_degrees, depression_kpa }))
}
