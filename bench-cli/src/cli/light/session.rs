//! The readings of a proof, asked for one by one and kept after every answer.

use crate::cli::ask::{Answered, ask};
use crate::cli::failure::Failure;
use crate::cli::out_file::write_whole;
use crate::cli::terminal::Terminal;
use crate::light::{Kind, LightReadings, Proposal, Said, proposals, read, text};
use crate::quantity_text::{ANGLE, SPEED, bare_or_with_unit, parse, parse_pressure};
use crate::readings::{Reading, SpeedWas};
use crate::sheet::Sheet;
use crate::units::KPA_PER_INHG;
use std::path::Path;

const HELP: &str = "Answer each question with a number; another unit is written behind it. `done`: judge what there is. \
                    `stop`: go on another time.";

/// Asks until the proposed readings are taken or somebody has enough. None: to be gone on with another time.
pub(super) fn take(
    sheet: &Sheet,
    path: &Path,
    said: Said,
    file: Option<LightReadings>,
    terminal: &mut Terminal,
) -> Result<Option<LightReadings>, Failure> {
    let mut taken = file.map(|file| file.readings.readings).unwrap_or_default();
    writeln!(terminal.err, "\nReadings are kept in {} after every answer. {HELP}", path.display())?;
    if !taken.is_empty() {
        writeln!(terminal.err, "{} readings are there already; going on from them.", taken.len())?;
    }
    writeln!(terminal.err, "{}", how_to_read(said))?;
    loop {
        let left = proposals(sheet, &taken)?;
        let Some(next) = left.first() else { break };
        let speed_was = speed_was(&taken, next);
        writeln!(terminal.err, "\n{} left. {}", left.len(), in_words(next, speed_was))?;
        match reading(next, speed_was, terminal)? {
            Answered::Value(reading) => taken.push(reading),
            Answered::Done => break,
            Answered::Ended => {
                writeln!(terminal.err, "\nKept; the same command goes on from here.")?;
                return Ok(None);
            }
        }
        write_whole(path, text(&said, &taken).as_bytes())?;
    }
    // Read back as any other time: what is judged is what is kept.
    Ok(Some(LightReadings { said, ..read(path)? }))
}

fn how_to_read(said: Said) -> &'static str {
    match said.kind {
        Kind::Plain => "Read the degrees where the light shows the mark, by the tape or the plate.",
        Kind::Dial => "Turn the dial until the light shows the mark at 0, and read the dial.",
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
        None => format!("Hose off and stopped up: {how} about {:.0} crank rpm.", next.crank_rpm),
        Some(kpa) => format!(
            "Hand pump on the sensor's hose, about {kpa:.0} kPa ({:.0} inHg) depression: {how} about {:.0} crank rpm.",
            kpa / KPA_PER_INHG,
            next.crank_rpm
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
        in_range(parse(&SPEED, &bare_or_with_unit(text, "crank rpm")), 30.0..=20_000.0, "30 to 20000 crank rpm")
    })?);
    let depression_kpa = match next.depression_kpa {
        None => None,
        Some(_) => Some(value!(ask(terminal, "  depression, kPa:", |text| {
            let read = parse_pressure(&bare_or_with_unit(text, "kPa depression"));
            let kpa = read.map(|pressure| pressure.depression_kpa(crate::quantity_text::STANDARD_ATMOSPHERE_KPA));
            in_range(kpa, 0.0..=110.0, "0 to 110 kPa depression")
        })?)),
    };
    let crank_degrees = value!(ask(terminal, "  timing, crank degrees before TDC:", |text| {
        in_range(parse(&ANGLE, &bare_or_with_unit(text, "crank degrees")), -30.0..=90.0, "-30 to 90 crank degrees")
    })?);
    Ok(Answered::Value(Reading { line: 0, hose: next.hose, speed_was, crank_rpm, crank_degrees, depression_kpa }))
}

fn in_range(
    read: Result<f64, crate::quantity_text::QuantityError>,
    range: std::ops::RangeInclusive<f64>,
    in_words: &str,
) -> Result<f64, String> {
    match read {
        Ok(value) if range.contains(&value) => Ok(value),
        Ok(_) => Err(format!("that is outside {in_words}: read it again")),
        Err(error) => Err(format!("{error}: {}", error.help())),
    }
}
