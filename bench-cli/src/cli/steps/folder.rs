//! What of the job lies in a folder.

use crate::curve::check::limits_outcome;
use crate::distributor::readings;
use crate::files::listed::{ending_in, name_of};
use crate::proof::first_start::first_start;
use crate::record::Record;
use crate::record::verdict::Verdict;
use crate::saved::{self, Freshness, RecordError};
use crate::sheet::{self, Settings, Sheet, SheetError};
use std::path::Path;
use std::time::SystemTime;

/// The files of the job.
#[derive(Debug, Default)]
pub(super) struct Found {
    /// Names of readings.
    pub(super) readings: Vec<String>,
    /// Sheets.
    pub(super) sheets: Vec<FoundSheet>,
    /// Results of bench and timing light.
    pub(super) results: Vec<FoundResult>,
    /// Results that cannot be used: name and why.
    pub(super) refused: Vec<(String, String)>,
}

/// A sheet.
#[derive(Debug)]
pub(super) struct FoundSheet {
    pub(super) name: String,
    /// `begin` made it: that goes on with what is missing.
    begun: bool,
    readings: Option<String>,
    /// What it says; nothing where it does not read.
    sheet: Option<Sheet>,
    /// What is wrong with it or missing: line and sentence.
    wrong: Option<(usize, String)>,
    limits_kept: bool,
    /// Nothing is wrong with it, but its engine has an ignition that is not driven from here.
    only_figures: bool,
}

/// A result of bench or timing light.
#[derive(Debug)]
pub(super) struct FoundResult {
    pub(super) name: String,
    proof: Proof,
    verdict: Verdict,
    record: Record,
    saved: SystemTime,
}

/// What a result proves, in the order of the job.
#[derive(Clone, Copy, Debug, Eq, Ord, PartialEq, PartialOrd)]
enum Proof {
    Simulated,
    Box,
    /// With a timing light, on a motor-driven wheel: no engine was there.
    BoxByLight,
    Engine,
}

/// Looks at every file of a folder, by name. What is none of the job's is passed over.
pub(super) fn look(folder: &Path) -> Found {
    let ending = |ending| ending_in(folder, ending).unwrap_or_default();
    let readings = ending("csv").into_iter().filter(|path| readings::read(path).is_ok());
    let sheets = sheet::sheets_in(folder).unwrap_or_default();
    let mut found = Found {
        readings: readings.map(|path| name_of(&path)).collect(),
        sheets: sheets.iter().filter_map(|path| sheet_at(path)).collect(),
        ..Found::default()
    };
    for path in ending("json") {
        match saved::read(&path) {
            Ok(record) => found.results.extend(proof_of(record, &path)),
            Err(RecordError { is_ours: false, .. }) => {}
            Err(RecordError { what, .. }) => found.refused.push((name_of(&path), what)),
        }
    }
    found
}

fn sheet_at(path: &Path) -> Option<FoundSheet> {
    let name = name_of(path);
    let text = sheet::read_text(path).ok()?;
    let read = sheet::parse(&name, &text);
    let readings = read.as_ref().ok().and_then(|sheet: &Sheet| sheet.readings.value().cloned());
    let limits_kept = read.as_ref().is_ok_and(limits_kept);
    let waits_for = |error: &SheetError| {
        let help = miette::Diagnostic::help(error).map(|help| help.to_string()).unwrap_or_default();
        (error.line().unwrap_or(1), format!("`{}`: {help}", error.key().unwrap_or_default()))
    };
    let (sheet, error) = match read {
        Ok(sheet) => {
            let error = whole(&sheet).err();
            (Some(sheet), error)
        }
        Err(error) => (None, Some(error)),
    };
    let only_figures = error.as_ref().is_some_and(SheetError::is_not_driven);
    let wrong = error.as_ref().filter(|_| !only_figures).map(waits_for);
    let begun = sheet::started(&text).is_some() && sheet.is_some();
    Some(FoundSheet { name, begun, readings, sheet, wrong, limits_kept, only_figures })
}

fn limits_kept(sheet: &Sheet) -> bool {
    sheet::model(sheet).is_ok_and(|model| limits_outcome(sheet, &model).kept)
}

/// The settings of a sheet that has every key for figures, bench and first start.
fn whole(sheet: &Sheet) -> Result<Settings, SheetError> {
    // Figures want the curve, whatever drives the engine.
    sheet::model(sheet)?;
    let settings = Settings::from_sheet(sheet)?;
    first_start(sheet)?;
    sheet.ignition.clock_tolerance.get()?;
    sheet.tolerance.bench_crank_degrees.get()?;
    sheet.tolerance.bench_ramp_crank_degrees.get()?;
    Ok(settings)
}

/// What a result proves; nothing where it proves nothing.
fn proof_of(record: Record, path: &Path) -> Option<FoundResult> {
    let (proof, verdict) = match &record {
        Record::Bench(result) if result.is_simulated() => (Proof::Simulated, result.verdict),
        Record::Bench(result) => (Proof::Box, result.verdict),
        Record::Light(result) if result.on_bench => (Proof::BoxByLight, result.verdict),
        Record::Light(result) => (Proof::Engine, result.verdict),
        Record::Fit(_)
        | Record::Coil(_)
        | Record::Figures(_)
        | Record::Check(_)
        | Record::Ignition(_)
        | Record::Trials(_) => return None,
    };
    let saved = path.metadata().and_then(|found| found.modified()).unwrap_or(SystemTime::UNIX_EPOCH);
    Some(FoundResult { name: name_of(path), proof, verdict, record, saved })
}

impl FoundSheet {
    /// Whether a result was made from what this sheet says now.
    fn is_of(&self, result: &FoundResult) -> bool {
        self.sheet.is_some() && saved::freshness(&result.record, self.sheet.as_ref()) == Freshness::Fresh
    }

    pub(super) fn state(&self) -> String {
        match (&self.wrong, self.limits_kept) {
            (Some((line, _)), _) => format!("a sheet that still waits for something in line {line}"),
            (None, false) => "a whole sheet, whose curve breaks its limits".to_owned(),
            (None, true) if self.only_figures => {
                "a sheet for figures: the ignition of such an engine is not driven from here".to_owned()
            }
            (None, true) => "a whole sheet".to_owned(),
        }
    }
}

impl FoundResult {
    /// What it is and how it came out; what no sheet of the folder is as it was then proves nothing any more.
    pub(super) fn state(&self, sheets: &[FoundSheet]) -> String {
        let stale = if sheets.iter().any(|sheet| sheet.is_of(self)) {
            ""
        } else {
            "STALE, of settings that no sheet here has any more; it was "
        };
        format!("{}: {stale}{}", self.record.kind(), self.verdict.word())
    }
}

impl Found {
    pub(super) fn is_empty(&self) -> bool {
        self.readings.is_empty() && self.sheets.is_empty() && self.results.is_empty() && self.refused.is_empty()
    }

    /// The next command, or what to do before it.
    pub(super) fn next(&self) -> String {
        let Some(sheet) = self.sheets.first() else {
            return match self.readings.first() {
                Some(readings) => {
                    let sheet = Path::new(readings).with_extension("toml");
                    format!("bobweight fit {readings} --new-sheet {}", sheet.display())
                }
                None => "bobweight begin".to_owned(),
            };
        };
        let name = &sheet.name;
        if let (None, [readings, ..]) = (&sheet.readings, self.readings.as_slice()) {
            return format!(
                "bobweight fit {readings} --sheet {name}, and write `readings = \"{readings}\"` into the sheet"
            );
        }
        if let Some((line, wrong)) = &sheet.wrong {
            if sheet.begun {
                return "bobweight begin".to_owned();
            }
            return format!("open {name} at line {line}. {wrong}");
        }
        if !sheet.limits_kept {
            return format!("bobweight figures {name}, and change the curve or the limits that it breaks");
        }
        if sheet.only_figures {
            return format!("bobweight figures {name}, and then bobweight check {name}");
        }
        // The proof that lies furthest in the job counts, of the sheet as it is now; of two the one that was saved last.
        let of_this_sheet = self.results.iter().filter(|result| sheet.is_of(result));
        let Some(result) = of_this_sheet.max_by_key(|result| (result.proof, result.saved)) else {
            return format!("bobweight figures {name}, and then bobweight bench {name} --json simulated.json");
        };
        let file = &result.name;
        match (result.proof, result.verdict == Verdict::Pass) {
            (Proof::Simulated, true) if sheet.sheet.as_ref().is_some_and(|sheet| !sheet.assumptions().is_empty()) => {
                "bobweight begin".to_owned()
            }
            (Proof::Simulated, true) => {
                format!(
                    "bobweight write {name} --serial PATH, and then bobweight bench {name} --serial PATH --json box.json"
                )
            }
            (Proof::Box | Proof::BoxByLight, true) => {
                format!("bobweight figures {name} --first-start, and then bobweight light {name} --json light.json")
            }
            (Proof::Engine, true) => format!("bobweight report {} --out report.html --card", self.results_of(sheet)),
            (Proof::Engine | Proof::BoxByLight, false) => {
                format!("do what {file} says, and bobweight light {name} --json {file} again")
            }
            (_, false) => format!("mend what {file} names, and bobweight bench {name} --json {file} again"),
        }
    }

    /// The names of a sheet's results, in the order of the job.
    fn results_of(&self, sheet: &FoundSheet) -> String {
        let mut results: Vec<_> = self.results.iter().filter(|result| sheet.is_of(result)).collect();
        results.sort_by_key(|result| (result.proof, result.saved));
        results.iter().map(|result| result.name.as_str()).collect::<Vec<_>>().join(" ")
    }
}
