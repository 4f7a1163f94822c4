//! Readings of the timing light: a CSV file with the columns of [`crate::distributor::readings`], and lines that say how they were taken:
//!
//! | line | values |
//! | --- | --- |
//! | `# light = dial` | `plain`, `dial` |
//! | `# light_lag = 30 us` | left out where nobody knows it |
//! | `# taken = on the engine` | `on the engine`, `on the bench` |
//! | `# zero = true` | `true`: the 0 that was read by was held against true top dead centre, by a positive stop; `never held` |
//!
//! Each may be left out.

use crate::distributor::readings::{self, Reading, Readings, ReadingsError, WRITTEN_COLUMNS};
use crate::distributor::survey;
use crate::files::digest::digest;
use crate::quantity::{TIME, parse as parse_quantity};
use crate::record::light::Kind;
use crate::words::number::short_ungrouped as short;
use miette::Diagnostic;
use std::fmt::Write;
use std::path::Path;

/// What a file of light readings begins with, where this program wrote it.
pub(crate) const FIRST_LINE: &str = "# timing light, the new ignition";

/// The longest lag that a light is believed to have, us. No source: an xenon lamp answers in a few, slow electronics in some
/// hundred.
const LONGEST_LAG_US: f64 = 500.0;

/// How readings were taken.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Said {
    /// The light.
    pub kind: Kind,
    /// Its own lag, us, 0 to 500; none where nobody knows it.
    pub light_lag_us: Option<f64>,
    /// On a motor-driven wheel beside the stimulator, and not on the engine.
    pub on_bench: bool,
    /// Whether the 0 that was read by was held against true top dead centre; none where nobody said.
    pub zero_is_true: Option<bool>,
}

/// Readings and how they were taken.
#[derive(Clone, Debug, PartialEq)]
pub struct LightReadings {
    /// The readings.
    pub readings: Readings,
    /// How they were taken.
    pub said: Said,
    /// Digest of the file.
    pub digest: String,
}

/// Light readings that cannot be used.
#[derive(Debug, Diagnostic, thiserror::Error)]
#[non_exhaustive]
pub enum LightReadingsError {
    /// The columns and lines of every readings file.
    #[error(transparent)]
    #[diagnostic(transparent)]
    Readings(#[from] ReadingsError),
    /// A line that says how they were taken.
    #[error("{name}, line {line}: {problem}")]
    Said {
        /// The file.
        name: String,
        /// The line, from 1.
        line: usize,
        /// What is wrong.
        problem: String,
        /// What to do next.
        #[help]
        remedy: String,
    },
}

/// Reads a file.
///
/// # Errors
/// What [`parse`] refuses, and a file that cannot be read.
pub fn read(path: &Path) -> Result<LightReadings, LightReadingsError> {
    parse(&path.display().to_string(), &readings::bytes_of(path)?)
}

/// Light readings from the bytes of a file.
///
/// # Errors
/// Every refusal names file, line and remedy.
pub fn parse(name: &str, bytes: &[u8]) -> Result<LightReadings, LightReadingsError> {
    let text = String::from_utf8_lossy(bytes).replace("\r\n", "\n").replace('\r', "\n");
    if text.starts_with(survey::FIRST_LINE) {
        return Err(LightReadingsError::Said {
            name: name.to_owned(),
            line: 1,
            problem: "these are readings of the old distributor, and prove nothing of the new ignition".to_owned(),
            remedy: "name another file: it is made where there is none".to_owned(),
        });
    }
    let readings = readings::parse(name, bytes)?;
    let mut said = Said::default();
    let mut seen = Vec::new();
    for (index, line) in text.lines().enumerate() {
        let Some((key, value)) = line.split_once('#').and_then(|(_, comment)| comment.split_once('=')) else {
            continue;
        };
        let (key, value) = (key.trim(), value.trim());
        let refuse = |problem: String, remedy: String| {
            Err(LightReadingsError::Said { name: name.to_owned(), line: index + 1, problem, remedy })
        };
        if !["light", "light_lag", "taken", "zero"].contains(&key) {
            continue;
        }
        if seen.contains(&key) {
            return refuse(format!("`{key}` is said twice"), "keep the line that is right".to_owned());
        }
        seen.push(key);
        match (key, value) {
            ("light", "plain") => said.kind = Kind::Plain,
            ("light", "dial") => said.kind = Kind::Dial,
            ("taken", "on the engine") => said.on_bench = false,
            ("taken", "on the bench") => said.on_bench = true,
            ("zero", "true") => said.zero_is_true = Some(true),
            ("zero", "never held") => said.zero_is_true = Some(false),
            ("zero", _) => {
                let remedy = "write `true` where it was held against true top dead centre, or `never held`".to_owned();
                return refuse(format!("`{value}` says nothing of the 0"), remedy);
            }
            ("light_lag", _) => match lag_us(value) {
                Ok(lag) => said.light_lag_us = Some(lag),
                Err(remedy) => return refuse(format!("`{value}` is no lag of a light"), remedy),
            },
            ("light", _) => {
                return refuse(format!("`{value}` is no kind of light"), "write `plain` or `dial`".to_owned());
            }
            _ => {
                let remedy = "write `on the engine` or `on the bench`".to_owned();
                return refuse(format!("`{value}` is no place where readings are taken"), remedy);
            }
        }
    }
    Ok(LightReadings { readings, said, digest: digest(bytes) })
}

/// A light's lag as people write it, in us; the other answer is what to do.
pub fn lag_us(text: &str) -> Result<f64, String> {
    let lag_s = parse_quantity(&TIME, text).map_err(|error| format!("{error}: {}", error.help()))?;
    // To the nanosecond, so that what is written is read back the same.
    let lag = (lag_s * 1e9).round() / 1e3;
    if lag <= LONGEST_LAG_US { Ok(lag) } else { Err(format!("write at most {LONGEST_LAG_US} us")) }
}

/// The text of a file that [`parse`] reads back.
pub fn text(said: &Said, readings: &[Reading]) -> String {
    let mut text = format!("{FIRST_LINE}\n");
    let kind = match said.kind {
        Kind::Plain => "plain",
        Kind::Dial => "dial",
    };
    let _ = writeln!(text, "# light = {kind}");
    if let Some(lag) = said.light_lag_us {
        let _ = writeln!(text, "# light_lag = {} us", short(lag, 3));
    }
    let _ = writeln!(text, "# taken = {}", if said.on_bench { "on the bench" } else { "on the engine" });
    if let Some(held) = said.zero_is_true {
        let _ = writeln!(text, "# zero = {}", if held { "true" } else { "never held" });
    }
    let _ = writeln!(text, "{WRITTEN_COLUMNS}");
    for Reading { hose, speed_was, crank_rpm, crank_degrees, depression_kpa, .. } in readings {
        let vacuum = depression_kpa.map_or_else(String::new, |kpa| kpa.to_string());
        let _ = writeln!(text, "{},{},{crank_rpm},{crank_degrees},{vacuum}", hose.word(), speed_was.word());
    }
    text
}
