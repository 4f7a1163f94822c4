//! What of the job lies in a folder.

use crate::figures::first_start::first_start;
use crate::readings;
use crate::result::digest;
use crate::sheet::{self, Settings, Sheet, SheetError};
use std::path::Path;

/// The files of the job.
#[derive(Debug, Default)]
pub(super) struct Found {
    /// Names of readings.
    pub(super) readings: Vec<String>,
    /// Sheets.
    pub(super) sheets: Vec<FoundSheet>,
    /// Bench results.
    pub(super) results: Vec<FoundResult>,
}

/// A sheet.
#[derive(Debug)]
pub(super) struct FoundSheet {
    pub(super) name: String,
    readings: Option<String>,
    digest: String,
    /// What is wrong with it or missing: line and sentence.
    wrong: Option<(usize, String)>,
    limits_kept: bool,
}

/// A bench result.
#[derive(Debug)]
pub(super) struct FoundResult {
    pub(super) name: String,
    verdict: String,
    /// The sheet that it was made from.
    digest: String,
}

/// Looks at every file of a folder, by name. What is none of the job's is passed over.
pub(super) fn look(folder: &Path) -> Found {
    let mut found = Found::default();
    let Ok(entries) = std::fs::read_dir(folder) else { return found };
    let mut paths: Vec<_> =
        entries.filter_map(Result::ok).map(|entry| entry.path()).filter(|path| path.is_file()).collect();
    paths.sort();
    for path in paths {
        let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
        match path.extension().and_then(std::ffi::OsStr::to_str) {
            Some("csv") if readings::read(&path).is_ok() => found.readings.push(name),
            Some("toml") => found.sheets.extend(sheet_at(&path, name)),
            Some("json") => found.results.extend(result_at(&path, name)),
            _ => {}
        }
    }
    found
}

fn sheet_at(path: &Path, name: String) -> Option<FoundSheet> {
    let text = sheet::read_text(path).ok()?;
    if !text.contains("bobweight_sheet") {
        return None;
    }
    let read = sheet::parse(&name, &text);
    let readings = read.as_ref().ok().and_then(|sheet: &Sheet| sheet.readings.value().cloned());
    let settings = read.and_then(|sheet| whole(&sheet));
    let wrong = settings.as_ref().err().map(|error: &SheetError| {
        let help = miette::Diagnostic::help(error).map(|help| help.to_string()).unwrap_or_default();
        (error.line().unwrap_or(1), format!("`{}`: {help}", error.key().unwrap_or_default()))
    });
    let limits_kept = settings.as_ref().is_ok_and(|settings| settings.model.judge().hold());
    Some(FoundSheet { name, readings, digest: digest(text.as_bytes()), wrong, limits_kept })
}

/// The settings of a sheet that has every key for figures, bench and first start.
fn whole(sheet: &Sheet) -> Result<Settings, SheetError> {
    let settings = Settings::from_sheet(sheet)?;
    first_start(sheet)?;
    sheet.ignition.clock_tolerance.get()?;
    sheet.tolerance.bench_crank_degrees.get()?;
    sheet.tolerance.bench_ramp_crank_degrees.get()?;
    Ok(settings)
}

fn result_at(path: &Path, name: String) -> Option<FoundResult> {
    let result: serde_json::Value = serde_json::from_str(&std::fs::read_to_string(path).ok()?).ok()?;
    let text = |value: &serde_json::Value| value.as_str().map(str::to_owned);
    result["schema"].as_str().filter(|schema| schema.starts_with("bobweight-result/"))?;
    Some(FoundResult {
        name,
        verdict: text(&result["verdict"])?,
        digest: text(&result["sheet"]["digest"]).unwrap_or_default(),
    })
}

impl FoundSheet {
    pub(super) fn state(&self) -> String {
        match (&self.wrong, self.limits_kept) {
            (Some((line, _)), _) => format!("a sheet that still waits for something in line {line}"),
            (None, false) => "a whole sheet, whose curve breaks its limits".to_owned(),
            (None, true) => "a whole sheet".to_owned(),
        }
    }
}

impl FoundResult {
    pub(super) fn state(&self) -> String {
        format!("a bench result: {}", self.verdict)
    }
}

impl Found {
    pub(super) fn is_empty(&self) -> bool {
        self.readings.is_empty() && self.sheets.is_empty() && self.results.is_empty()
    }

    /// The next command, or what to do before it.
    pub(super) fn next(&self) -> String {
        let Some(sheet) = self.sheets.first() else {
            return match self.readings.first() {
                Some(readings) => format!("bobweight fit {readings}"),
                None => "read the old distributor, and write the readings to a CSV file".to_owned(),
            };
        };
        let name = &sheet.name;
        if let (None, [readings, ..]) = (&sheet.readings, self.readings.as_slice()) {
            return format!(
                "bobweight fit {readings} --sheet {name}, and write `readings = \"{readings}\"` into the sheet"
            );
        }
        if let Some((line, wrong)) = &sheet.wrong {
            return format!("open {name} at line {line}. {wrong}");
        }
        if !sheet.limits_kept {
            return format!("bobweight figures {name}, and change the curve or the limits that it breaks");
        }
        let benched = |result: &&FoundResult| result.digest == sheet.digest;
        match self.results.iter().rfind(benched) {
            None => format!("bobweight figures {name}, and then bobweight bench {name} --json bench.json"),
            Some(result) if result.verdict == "pass" => format!("bobweight figures {name} --first-start"),
            Some(result) => format!("mend what {} names, and bobweight bench {name} --json {0} again", result.name),
        }
    }
}
