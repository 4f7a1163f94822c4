//! What a command saved with `--json`, read back. This is the only reader of saved results: whatever shows one, or tells what
//! to do next by one, gets it from here.
//!
//! A result is plain text, and whoever wants to forge one can. What is caught is the slip and the edit that contradicts the
//! rest of the file: verdicts and counts are worked out again from the parts, and a result that says otherwise is refused.

mod contradictions;
mod older;
#[cfg(test)]
mod tests;

use crate::curve::check::{self, CheckResult};
use crate::curve::figures::{self, FiguresResult};
use crate::distributor::fit::{self, FitRecord};
use crate::files::bounded::{self, LARGEST_RESULT_MB};
use crate::proof::light::{self, LightResult};
use crate::record::bench::{self, BenchResult, SheetIdentity};
use crate::record::ignition::{self, IgnitionResult};
use crate::sheet::Sheet;
use miette::Diagnostic;
use serde::de::DeserializeOwned;
use serde_json::Value;
use std::path::Path;

/// A saved result of any command.
#[derive(Clone, Debug, PartialEq)]
pub enum Record {
    /// Of `bench`.
    Bench(Box<BenchResult>),
    /// Of `light`.
    Light(Box<LightResult>),
    /// Of `fit`.
    Fit(Box<FitRecord>),
    /// Of `figures`.
    Figures(Box<FiguresResult>),
    /// Of `check`.
    Check(Box<CheckResult>),
    /// Of `write` and `read`.
    Ignition(Box<IgnitionResult>),
}

/// A result that cannot be used.
#[derive(Debug, Diagnostic, thiserror::Error)]
#[error("{file}: {what}")]
pub struct RecordError {
    /// The file, as it was named.
    pub file: String,
    /// What is wrong.
    pub what: String,
    /// What to do next.
    #[help]
    pub help: String,
    /// Whether the file is a result of bobweight at all.
    pub is_ours: bool,
}

/// How a result lies to its sheet as the sheet is now.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub enum Freshness {
    /// The sheet says what it said when the result was made, or the result hangs on no sheet.
    Fresh,
    /// The sheet says something else now.
    Stale,
    /// There is no sheet to hold it to.
    Unknown,
}

/// One kind of result.
struct Kind {
    /// What marks it, with its version.
    schema: &'static str,
    /// The command that makes it.
    command: &'static str,
    read: fn(&str) -> serde_json::Result<Record>,
}

const KINDS: [Kind; 6] = [
    Kind { schema: bench::SCHEMA, command: "bench", read: |text| typed(text).map(Record::Bench) },
    Kind { schema: light::SCHEMA, command: "light", read: |text| typed(text).map(Record::Light) },
    Kind { schema: fit::RECORD_SCHEMA, command: "fit", read: |text| typed(text).map(Record::Fit) },
    Kind { schema: figures::SCHEMA, command: "figures", read: |text| typed(text).map(Record::Figures) },
    Kind { schema: check::SCHEMA, command: "check", read: |text| typed(text).map(Record::Check) },
    Kind { schema: ignition::SCHEMA, command: "write", read: |text| typed(text).map(Record::Ignition) },
];

fn typed<T: DeserializeOwned>(text: &str) -> serde_json::Result<Box<T>> {
    serde_json::from_str(text).map(Box::new)
}

/// Contradictions that one message names.
const NAMED: usize = 4;

impl Record {
    /// Reads a file.
    ///
    /// # Errors
    /// A file that cannot be read, and whatever [`Record::parse`] refuses.
    pub fn read(path: &Path) -> Result<Self, RecordError> {
        let file = path.display().to_string();
        let bytes = bounded::read(path, LARGEST_RESULT_MB).map_err(|cause| not_ours(&file, cause.to_string()))?;
        Self::parse(&file, &String::from_utf8_lossy(&bytes))
    }

    /// Reads the text of a file; `file` is what messages call it.
    ///
    /// # Errors
    /// What is no result of bobweight; a version that this one does not read; a result that is not whole; a result that
    /// contradicts itself.
    pub fn parse(file: &str, text: &str) -> Result<Self, RecordError> {
        let value: Value =
            serde_json::from_str(text).map_err(|error| not_ours(file, format!("this is not JSON: {error}")))?;
        let mark = value["schema"].as_str().unwrap_or_default().to_owned();
        let family = |schema: &str| schema.split('/').next().unwrap_or_default().to_owned();
        let Some(kind) = KINDS.iter().find(|kind| family(kind.schema) == family(&mark)) else {
            return Err(not_ours(file, "this is no result of bobweight".to_owned()));
        };
        let again = format!("make it again: `bobweight {} ... --json {file}`", kind.command);
        let refuse = |what: String, help: String| RecordError { file: file.to_owned(), what, help, is_ours: true };
        let record = if mark == kind.schema {
            (kind.read)(text).map_err(|error| {
                refuse(format!("a result of `{}` that is not whole: {error}", kind.command), again.clone())
            })?
        } else if mark == older::BENCH {
            older::bench(value).map_err(|what| refuse(what, again.clone()))?
        } else {
            return Err(refuse(
                format!("it is marked \"{mark}\", and this version of bobweight reads \"{}\"", kind.schema),
                format!("use the bobweight that wrote it, or a newer one, or {again}"),
            ));
        };
        let found = contradictions::of(&record);
        if found.is_empty() {
            return Ok(record);
        }
        let more = found.len().saturating_sub(NAMED);
        let more = if more > 0 { format!("; and {more} more") } else { String::new() };
        let named: Vec<String> = found.into_iter().take(NAMED).collect();
        Err(refuse(
            format!("it contradicts itself, so nothing of it counts: {}{more}", named.join("; ")),
            format!("it was changed or damaged after it was saved; {again}"),
        ))
    }

    /// The bench result, where it is one.
    pub fn into_bench(self) -> Option<BenchResult> {
        if let Self::Bench(result) = self { Some(*result) } else { None }
    }

    /// The sheet that it was made from; none of a fit, and of an ignition that was read without one.
    pub fn sheet(&self) -> Option<&SheetIdentity> {
        match self {
            Self::Bench(result) => Some(&result.sheet),
            Self::Light(result) => Some(&result.sheet),
            Self::Figures(result) => Some(&result.sheet),
            Self::Check(result) => Some(&result.sheet),
            Self::Ignition(result) => result.sheet.as_ref(),
            Self::Fit(_) => None,
        }
    }

    /// How it lies to a sheet, or to no sheet where it cannot be read any more.
    pub fn freshness(&self, sheet: Option<&Sheet>) -> Freshness {
        let Some(identity) = self.sheet() else { return Freshness::Fresh };
        match (sheet, &identity.digest) {
            (Some(sheet), Some(digest)) if sheet.has_digest(digest) => Freshness::Fresh,
            (Some(_), Some(_)) => Freshness::Stale,
            _ => Freshness::Unknown,
        }
    }

    /// What it is, in words.
    pub fn kind(&self) -> &'static str {
        match self {
            Self::Bench(result) if result.is_simulated() => "a bench run of the simulation",
            Self::Bench(_) => "a bench run of a box",
            Self::Light(result) if result.on_bench => "a proof with a timing light on the bench",
            Self::Light(_) => "a proof with a timing light",
            Self::Fit(_) => "a fit of the old distributor's readings",
            Self::Figures(_) => "operating figures",
            Self::Check(_) => "a check of the limits",
            Self::Ignition(_) => "the curve in an ignition",
        }
    }
}

fn not_ours(file: &str, what: String) -> RecordError {
    let commands: Vec<String> = KINDS.iter().map(|kind| format!("`{}`", kind.command)).collect();
    let help = format!("name a file that `--json FILE` of {} or `read` wrote", commands.join(", "));
    RecordError { file: file.to_owned(), what, help, is_ours: false }
}
