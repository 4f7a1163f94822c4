//! An engine's folder: its sheet, the readings of its old distributor, and what of the saved results is of their state as it is now.
//!
//! What was made from an older state is kept apart, with the reason: nobody takes it for the present one.

use super::{Freshness, RecordError, freshness, parse};
use crate::curve::check::check;
use crate::curve::figures::coil::Battery;
use crate::curve::figures::what_if::Changes;
use crate::curve::figures::{figures, in_words};
use crate::distributor::fit::{FitOptions, FitResult, fit, wear};
use crate::distributor::readings::{self, Readings};
use crate::distributor::survey::Survey;
use crate::files::bounded::{self, LARGEST_RESULT_MB};
use crate::files::digest::digest;
use crate::files::listed::{ending_in, name_of};
use crate::proof::light;
use crate::record::Record;
use crate::record::check::CheckResult;
use crate::record::figures::FiguresResult;
use crate::record::fit::FitRecord;
use crate::record::ignition::Curve;
use crate::sheet::{self, Settings, Sheet, SheetError};
use bobweight::AdvanceModel;
use miette::Diagnostic;
use std::path::{Path, PathBuf};
use std::time::SystemTime;

/// A folder that no engine's file can be made of.
#[derive(Debug, Diagnostic, thiserror::Error)]
#[error("{what}")]
pub struct FolderError {
    /// What is wrong.
    what: String,
    /// What to do next.
    #[help]
    help: String,
}

/// What of the job lies in a folder.
#[derive(Debug)]
pub struct EngineFolder {
    /// The sheet, where there is one.
    pub sheet: Option<Sheet>,
    /// Its file's name.
    pub sheet_file: String,
    /// Names of the other sheets.
    pub other_sheets: Vec<String>,
    /// The chosen curve in the core's form, or what it waits for; nothing without a sheet.
    pub model: Option<Result<AdvanceModel, String>>,
    /// Limits and every spark of the sheet as it is now, likewise.
    pub check: Option<Result<CheckResult, String>>,
    /// Rotor, coil and timing of the sheet as it is now, likewise.
    pub figures: Option<Result<FiguresResult, String>>,
    /// The readings of the old distributor, or in a sentence why there are none and what gives them.
    pub readings: Result<FoundReadings, String>,
    /// Names of other readings.
    pub other_readings: Vec<String>,
    /// Results, in the order of the job.
    pub results: Vec<KeptResult>,
    /// Results that cannot be used: name and why.
    pub refused: Vec<(String, String)>,
}

/// Readings, and what they give now.
#[derive(Debug)]
pub struct FoundReadings {
    /// The file's name.
    pub name: String,
    /// Its digest.
    pub digest: String,
    /// The readings.
    pub readings: Readings,
    /// The fit of them as it comes out now, or why there is none.
    pub fit: Result<Box<FitResult>, String>,
    /// Whether the sheet's `[found]` is what this fit gives; nothing where the sheet has none, or there is no fit.
    pub is_in_sheet: Option<bool>,
    /// What the wheel read at a positive stop on either side, crank degrees before top dead centre, where a survey asked.
    pub stops: Option<[f64; 2]>,
}

/// A saved result.
#[derive(Debug)]
pub struct KeptResult {
    /// The file's name.
    pub file: String,
    /// The digest of the file.
    pub digest: String,
    /// When it was saved; nothing where the system does not tell.
    pub saved: Option<SystemTime>,
    /// What it says.
    pub record: Record,
    /// In a sentence why it is not of the present state; nothing where it is.
    pub past: Option<String>,
}

/// What lies in a folder; `chosen` is the sheet that the user named.
///
/// # Errors
/// A folder that cannot be read or holds nothing of the job, several sheets of which none was named, a named sheet that is not there, a sheet
/// that is wrong.
pub fn read_folder(folder: &Path, chosen: Option<&Path>) -> Result<EngineFolder, FolderOrSheet> {
    let unread = |cause| FolderError {
        what: format!("{}: the folder cannot be read: {cause}", folder.display()),
        help: "name a folder that you may read".to_owned(),
    };
    let sheets = sheet::sheets_in(folder).map_err(unread)?;
    let sheet_path = the_sheet(folder, &sheets, chosen)?;
    let sheet = sheet_path.map(|path| sheet::read(path)).transpose()?;
    let sheet_file = sheet_path.map_or_else(String::new, |path| name_of(path));
    let other_sheets: Vec<&PathBuf> = sheets.iter().filter(|path| Some(*path) != sheet_path).collect();
    let mut tables = ending_in(folder, "csv").map_err(unread)?;
    tables.retain(|path| readings::read(path).is_ok());
    let readings = readings_of(sheet.as_ref(), &sheet_file, &tables).map_err(|why| without_folder(folder, &why));
    let mut other_readings: Vec<String> = tables.iter().map(|path| name_of(path)).collect();
    if let Ok(found) = &readings {
        other_readings.retain(|name| *name != found.name);
    }
    let (mut results, mut refused) = (Vec::new(), Vec::new());
    for path in ending_in(folder, "json").map_err(unread)? {
        let file = name_of(&path);
        match result_at(&path, &file) {
            Ok(result) => results.push(result),
            Err(RecordError { is_ours: false, .. }) => {}
            Err(RecordError { what, .. }) => refused.push((file, what)),
        }
    }
    let state = State {
        folder,
        sheet: sheet.as_ref(),
        sheet_file: &sheet_file,
        others: other_sheets.iter().filter_map(|path| Some((name_of(path), sheet::read(path).ok()?))).collect(),
        readings: readings.as_ref().ok(),
    };
    for result in &mut results {
        result.past = state.past(&result.record);
    }
    results.sort_by_key(|result| (place_in_job(&result.record), result.saved, result.file.clone()));
    if sheet.is_none() && results.is_empty() && refused.is_empty() && other_readings.is_empty() && readings.is_err() {
        return Err(FolderError {
            what: format!("{}: no sheet, no readings and no result lie here", folder.display()),
            help: "name the folder that holds them; `bobweight survey --out readings.csv` begins".to_owned(),
        }
        .into());
    }
    let said = |error: SheetError| without_folder(folder, &in_words(&error));
    Ok(EngineFolder {
        model: sheet.as_ref().map(|sheet| sheet::model(sheet).map_err(said)),
        check: sheet.as_ref().map(|sheet| check(sheet).map_err(said)),
        figures: sheet.as_ref().map(|sheet| figures(sheet, &Changes::default(), Battery::of(sheet)).map_err(said)),
        other_sheets: other_sheets.into_iter().map(|path| name_of(path)).collect(),
        sheet,
        sheet_file,
        readings,
        other_readings,
        results,
        refused,
    })
}

/// A sentence whose files are named as they are called in the folder: the page is the same wherever the folder lies.
fn without_folder(folder: &Path, sentence: &str) -> String {
    sentence.replace(&format!("{}/", folder.display().to_string().trim_end_matches('/')), "")
}

/// What stands in the way: the folder, or its sheet.
#[derive(Debug, thiserror::Error)]
pub enum FolderOrSheet {
    /// The folder.
    #[error(transparent)]
    Folder(#[from] FolderError),
    /// The sheet.
    #[error(transparent)]
    Sheet(#[from] SheetError),
}

/// The one sheet, or the one that was named.
fn the_sheet<'a>(
    folder: &Path,
    sheets: &'a [PathBuf],
    chosen: Option<&Path>,
) -> Result<Option<&'a PathBuf>, FolderError> {
    let names: Vec<String> = sheets.iter().map(|path| name_of(path)).collect();
    if let Some(chosen) = chosen {
        let named = |path: &&PathBuf| path.as_path() == chosen || path.file_name() == Some(chosen.as_os_str());
        return sheets.iter().find(named).map(Some).ok_or_else(|| FolderError {
            what: format!("{}: no such sheet lies in {}", chosen.display(), folder.display()),
            help: match names.as_slice() {
                [] => "there is none; leave the option out".to_owned(),
                names => format!("there are {}", names.join(", ")),
            },
        });
    }
    match sheets {
        [] => Ok(None),
        [one] => Ok(Some(one)),
        _ => Err(FolderError {
            what: format!("{}: it holds {} sheets, {}", folder.display(), sheets.len(), names.join(", ")),
            help: format!("say of which, such as `--sheet {}`", names[0]),
        }),
    }
}

/// The readings that the sheet names; without a sheet the only ones of the folder that are of an old distributor, of the `tables` that are readings.
fn readings_of(sheet: Option<&Sheet>, sheet_file: &str, tables: &[PathBuf]) -> Result<FoundReadings, String> {
    let of_the_old_one = |path: &&PathBuf| {
        let old = |bytes: &[u8]| !String::from_utf8_lossy(bytes).starts_with(light::FIRST_LINE);
        readings::bytes_of(path).is_ok_and(|bytes| old(&bytes))
    };
    let old: Vec<&PathBuf> = tables.iter().filter(of_the_old_one).collect();
    let names: Vec<String> = old.iter().map(|path| name_of(path)).collect();
    let survey = "No readings of an old distributor lie here: `bobweight survey --out readings.csv` takes them";
    let path = match sheet {
        Some(sheet) if sheet.readings.value().is_some() => sheet.readings_path().map_err(|error| in_words(&error))?,
        Some(_) => {
            return Err(match names.as_slice() {
                [] => format!("{survey}."),
                names => format!(
                    "{sheet_file} names no readings, so {} is not taken for its own: write `readings = \"{}\"` into it.",
                    names.join(", "),
                    names[0]
                ),
            });
        }
        None => match old.as_slice() {
            [] => return Err(format!("{survey}.")),
            [one] => (*one).clone(),
            _ => {
                return Err(format!(
                    "Several readings lie here ({}), and no sheet says which counts: `bobweight fit {} --new-sheet engine.toml` makes a \
                     sheet of one.",
                    names.join(", "),
                    names[0]
                ));
            }
        },
    };
    let name = name_of(&path);
    let read = || {
        let bytes = readings::bytes_of(&path)?;
        let readings = readings::parse(&name, &bytes)?;
        Ok((bytes, readings))
    };
    let (bytes, readings) = read().map_err(|error: readings::ReadingsError| {
        format!(
            "The readings cannot be used: {error}. Put them right, or take new ones: `bobweight survey --out {name}`."
        )
    })?;
    let fitted = fit(&readings, &FitOptions::default()).map(Box::new).map_err(|error| error.to_string());
    let is_in_sheet = sheet.filter(|sheet| sheet.found.is_some()).and_then(|sheet| {
        let record = record_of(&readings, fitted.as_ref().ok()?, FitOptions::default().seed);
        let changed = sheet::with_found(sheet.file(), sheet.text(), &record).ok()?.changes;
        // The ends of an interval move in their last digits from one version of the fit to the next.
        Some(changed.iter().all(|change| change.key.ends_with("_interval")))
    });
    let survey = Survey::parse(&name, &String::from_utf8_lossy(&bytes)).ok().flatten();
    Ok(FoundReadings {
        digest: digest(&bytes),
        stops: survey.and_then(|survey| survey.stops()),
        name,
        readings,
        fit: fitted,
        is_in_sheet,
    })
}

fn record_of(readings: &Readings, fit: &FitResult, seed: u64) -> FitRecord {
    FitRecord::new(readings, fit, &wear(fit, &sheet::Specification::default()), Vec::new(), seed)
}

fn result_at(path: &Path, file: &str) -> Result<KeptResult, RecordError> {
    let bytes = bounded::read(path, LARGEST_RESULT_MB).map_err(|cause| RecordError {
        file: file.to_owned(),
        what: cause.to_string(),
        help: String::new(),
        is_ours: false,
    })?;
    let record = parse(file, &String::from_utf8_lossy(&bytes))?;
    let saved = path.metadata().and_then(|found| found.modified()).ok();
    Ok(KeptResult { file: file.to_owned(), digest: digest(&bytes), saved, record, past: None })
}

/// The state that results are held to.
struct State<'a> {
    folder: &'a Path,
    sheet: Option<&'a Sheet>,
    sheet_file: &'a str,
    others: Vec<(String, Sheet)>,
    readings: Option<&'a FoundReadings>,
}

impl State<'_> {
    /// Why a result is not of this state; nothing where it is.
    fn past(&self, record: &Record) -> Option<String> {
        match record {
            Record::Fit(fit) => self.past_fit(fit),
            Record::Ignition(result) if result.sheet.is_none() => self.past_ignition(result.now.as_ref()),
            Record::Light(result) => self.past_of_sheet(record).or_else(|| {
                let told = result.readings_digest.as_deref()?;
                let path = self.folder.join(Path::new(&result.readings_file).file_name()?);
                let now = digest(&readings::bytes_of(&path).ok()?);
                (now != told).then(|| {
                    format!(
                        "{} was changed since, so it is not the proof of what stands there now",
                        result.readings_file
                    )
                })
            }),
            _ => self.past_of_sheet(record),
        }
    }

    fn past_of_sheet(&self, record: &Record) -> Option<String> {
        let told = record.sheet()?;
        match (self.sheet, freshness(record, self.sheet)) {
            (Some(_), Freshness::Fresh) => None,
            (_, Freshness::Unknown) if self.sheet.is_some() => {
                Some("it does not say of which state of its sheet it is".to_owned())
            }
            (None, _) => Some(format!("its sheet, {}, is not here", told.file)),
            _ => {
                let is_of = |(_, sheet): &&(String, Sheet)| freshness(record, Some(sheet)) == Freshness::Fresh;
                if let Some((other, _)) = self.others.iter().find(is_of) {
                    return Some(format!("it is of another sheet, {other}"));
                }
                let own = Path::new(&told.file).file_name() == Path::new(self.sheet_file).file_name();
                Some(if own {
                    format!("{} has changed since it was made", self.sheet_file)
                } else {
                    format!("it is of another sheet, {}, as no sheet here is", told.file)
                })
            }
        }
    }

    /// A fit names no digest: it is of the readings as they are where it comes out of them again.
    fn past_fit(&self, kept: &FitRecord) -> Option<String> {
        let Some(readings) = self.readings else {
            return Some("the readings that it was made from are not here".to_owned());
        };
        let Ok(again) = fit(&readings.readings, &FitOptions { scatter: None, seed: kept.seed }) else {
            return Some(format!("no curve fits {} as it is now", readings.name));
        };
        let again = record_of(&readings.readings, &again, kept.seed);
        let same = again.hose_off_readings == kept.hose_off_readings
            && again.hose_on_readings == kept.hose_on_readings
            && again.initial_crank_degrees == kept.initial_crank_degrees
            && again.centrifugal == kept.centrifugal
            && again.vacuum == kept.vacuum
            && again.residual_sum_crank_degrees_squared.to_bits() == kept.residual_sum_crank_degrees_squared.to_bits();
        (!same).then(|| {
            format!("it is not what `bobweight fit {}` gives now: the readings have changed, or its `--scatter` was another", readings.name)
        })
    }

    /// A curve that was read out of an ignition without a sheet is of this sheet where their checksums agree.
    fn past_ignition(&self, now: Option<&Curve>) -> Option<String> {
        let Some(sheet) = self.sheet else { return Some("no sheet is here to hold it to".to_owned()) };
        let own = Settings::from_sheet(sheet)
            .and_then(|settings| sheet::engine_settings(sheet, &settings))
            .map(|settings| Curve::of(&settings).checksum);
        match (own, now) {
            (Ok(own), Some(now)) if own == now.checksum => None,
            _ => Some(format!("the curve in it is not known to be that of {}", self.sheet_file)),
        }
    }
}

/// Where a result belongs in the order of the job; of two of one kind the later proves more.
fn place_in_job(record: &Record) -> u8 {
    match record {
        Record::Fit(_) => 0,
        Record::Coil(_) => 1,
        Record::Figures(_) => 2,
        Record::Check(_) => 3,
        Record::Ignition(_) => 4,
        Record::Bench(result) if result.is_simulated() => 5,
        Record::Bench(_) => 6,
        Record::Light(result) if result.on_bench => 7,
        Record::Light(_) => 8,
        Record::Trials(_) => 9,
    }
}
