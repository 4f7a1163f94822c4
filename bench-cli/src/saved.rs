//! What a command saved with `--json`, read back. This is the only reader of saved results: whatever shows one, or tells what
//! to do next by one, gets it from here.
//!
//! A result is plain text, and whoever wants to forge one can. What is caught is the slip and the edit that contradicts the
//! rest of the file: verdicts and counts are worked out again from the parts, and a result that says otherwise is refused.

mod contradictions;
pub mod folder;
mod older;
#[cfg(test)]
mod tests;

use crate::files::bounded::{self, LARGEST_RESULT_MB};
use crate::record::{FORMS, Record};
use crate::sheet::Sheet;
use miette::Diagnostic;
use serde_json::Value;
use std::path::Path;

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

/// Contradictions that one message names.
const NAMED: usize = 4;

/// Reads a file.
///
/// # Errors
/// A file that cannot be read, and whatever [`parse`] refuses.
pub fn read(path: &Path) -> Result<Record, RecordError> {
    let file = path.display().to_string();
    let bytes = bounded::read(path, LARGEST_RESULT_MB).map_err(|cause| not_ours(&file, cause.to_string()))?;
    parse(&file, &String::from_utf8_lossy(&bytes))
}

/// Reads the text of a file; `file` is what messages call it.
///
/// # Errors
/// What is no result of bobweight; a version that this one does not read; a result that is not whole; a result that
/// contradicts itself.
pub fn parse(file: &str, text: &str) -> Result<Record, RecordError> {
    let value: Value =
        serde_json::from_str(text).map_err(|error| not_ours(file, format!("this is not JSON: {error}")))?;
    let mark = value["schema"].as_str().unwrap_or_default().to_owned();
    let family = |schema: &str| schema.split('/').next().unwrap_or_default().to_owned();
    let Some(form) = FORMS.iter().find(|form| family(form.schema) == family(&mark)) else {
        return Err(not_ours(file, "this is no result of bobweight".to_owned()));
    };
    let again = format!("make it again: `bobweight {} ... --json {file}`", form.command);
    let refuse = |what: String, help: String| RecordError { file: file.to_owned(), what, help, is_ours: true };
    let record = if mark == form.schema {
        (form.read)(text).map_err(|error| {
            refuse(format!("a result of `{}` that is not whole: {error}", form.command), again.clone())
        })?
    } else if mark == older::BENCH {
        older::bench(value).map_err(|what| refuse(what, again.clone()))?
    } else {
        return Err(refuse(
            format!("it is marked \"{mark}\", and this version of bobweight reads \"{}\"", form.schema),
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

/// How it lies to a sheet, or to no sheet where it cannot be read any more.
pub fn freshness(record: &Record, sheet: Option<&Sheet>) -> Freshness {
    let Some(identity) = record.sheet() else { return Freshness::Fresh };
    match (sheet, &identity.digest) {
        (Some(sheet), Some(digest)) if sheet.has_digest(digest) => Freshness::Fresh,
        (Some(_), Some(_)) => Freshness::Stale,
        _ => Freshness::Unknown,
    }
}

fn not_ours(file: &str, what: String) -> RecordError {
    let commands: Vec<String> = FORMS.iter().map(|form| format!("`{}`", form.command)).collect();
    let help = format!("name a file that `--json FILE` of {} or `read` wrote", commands.join(", "));
    RecordError { file: file.to_owned(), what, help, is_ours: false }
}
