//! `bobweight fit`: readings to a curve with its uncertainty.

mod beside;
mod text;

use super::exit::Exit;
use super::failure::Failure;
use super::json_file::{JsonFile, deliver};
use super::terminal::Terminal;
use crate::curve::check::limits_outcome;
use crate::distributor::departure::departure_in_words;
use crate::distributor::fit::{Asked, FitOptions, FitResult, fit, questions, wear};
use crate::distributor::readings;
use crate::distributor::survey::Survey;
use crate::proof::light;
use crate::record::fit::FitRecord;
use crate::sheet::{self, Changed, Choice, SheetError, Specification};
use crate::words::wrap::paragraph;
use clap::{ArgGroup, Args, ValueEnum};
use miette::Diagnostic;
use std::path::{Path, PathBuf};

/// Make a curve of the readings of an old distributor: initial timing, centrifugal and vacuum advance. Each figure stands with
/// the range that holds the true one with a probability of 95 %.
///
/// It also says which parts look worn, which reading is doubtful, and what to read next.
#[derive(Args, Debug)]
#[command(group(ArgGroup::new("a sheet").args(["sheet", "new_sheet"])))]
pub struct FitArguments {
    /// The readings: what `survey` kept, or a CSV file with columns such as `hose`, `speed_was`, `crank_rpm`, `crank_degrees`,
    /// `vacuum_inHg`.
    #[arg(value_name = "READINGS.csv")]
    pub readings: PathBuf,
    /// Write what was found into this sheet, under `[found]`. Without this and without `--new-sheet` nothing is written.
    #[arg(long, value_name = "SHEET.toml")]
    pub sheet: Option<PathBuf>,
    /// Make a new sheet with what was found. It replaces no file. What readings cannot tell waits in it as questions.
    #[arg(long, value_name = "SHEET.toml", conflicts_with = "sheet")]
    pub new_sheet: Option<PathBuf>,
    /// Choose this curve: copy it over the curve that the sheet uses, and say what it replaced.
    #[arg(long, value_enum, value_name = "CURVE", requires = "a sheet")]
    pub choose: Option<ChooseArgument>,
    /// How far your readings usually scatter, as a standard deviation in crank degrees. Otherwise what the readings file says, or
    /// 0.5.
    #[arg(long, value_name = "CRANK DEGREES")]
    pub scatter: Option<f64>,
    /// Where the random draws behind the ranges begin: the same number gives the same figures.
    #[arg(long, value_name = "N", default_value_t = FitOptions::default().seed)]
    pub seed: u64,
    /// Save the result in FILE too, for `report` and for programs; `-` is standard output.
    #[arg(long, value_name = "FILE")]
    pub json: Option<PathBuf>,
}

impl FitArguments {
    /// These readings, into this sheet, as nobody asked for more.
    pub(super) fn into_sheet(readings: PathBuf, sheet: PathBuf) -> Self {
        Self {
            readings,
            sheet: Some(sheet),
            new_sheet: None,
            choose: None,
            scatter: None,
            seed: FitOptions::default().seed,
            json: None,
        }
    }
}

/// Which curve becomes the chosen one.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub enum ChooseArgument {
    /// The curve that the readings gave.
    Found,
    /// The curve of the book, from `[specified]`.
    Specified,
}

/// Runs the command.
///
/// # Errors
/// Readings or a sheet that cannot be used, and results that cannot be written.
pub fn run(arguments: &FitArguments, terminal: &mut Terminal) -> Result<Exit, Failure> {
    let sheets = arguments.sheet.iter().chain(&arguments.new_sheet);
    let inputs: Vec<&Path> = std::iter::once(&arguments.readings).chain(sheets).map(PathBuf::as_path).collect();
    let json = arguments.json.as_deref().map(|path| JsonFile::open(path, &inputs)).transpose()?;
    let target = Target::open(arguments)?;
    let bytes = readings::bytes_of(&arguments.readings)?;
    let name = arguments.readings.display().to_string();
    let readings = readings::parse(&name, &bytes)?;
    let seen = seen(name, &bytes)?;
    let found = fit(&readings, &FitOptions { scatter: arguments.scatter, seed: arguments.seed })?;
    let (specification, asked) = target.says()?;
    let findings = wear(&found, &specification);
    let questions = questions(&readings, &found, &specification, asked);
    let record = FitRecord::new(&readings, &found, &findings, questions, arguments.seed);
    let (with_found, chosen) = target.changed(&record, arguments.choose)?;
    let after = chosen.as_ref().unwrap_or(&with_found);
    target.write(&after.text)?;

    let mut text = text::found_in_words(&readings, &found);
    text.push_str(&text::wear_in_words(&findings, &specification));
    text.push_str(&text::seen_in_words(&seen));
    text.push_str(&text::questions_in_words(&record.questions));
    if let Some(path) = &target.path {
        text.push_str(&text::changes_in_words(path, target.before.is_none(), &with_found, chosen.as_ref()));
        text.push_str(&text::choice_in_words(arguments.choose, &findings));
        text.push_str(&chosen_in_words(path, &after.text, &found, &specification)?);
    } else {
        text.push_str(&text::no_sheet_in_words(&arguments.readings));
    }
    deliver(&record, &text, json, terminal)?;
    Ok(Exit::Pass)
}

/// Readings of the new ignition, whose curve is known.
#[derive(Debug, Diagnostic, thiserror::Error)]
#[error("{name}, line 1: these are light readings of the new ignition, and nothing of the old distributor")]
#[diagnostic(help("name the readings of the old distributor"))]
struct NotTheOldOne {
    name: String,
}

/// What a survey's answers besides its readings say.
fn seen(name: String, bytes: &[u8]) -> Result<Vec<&'static str>, Failure> {
    let text = String::from_utf8_lossy(bytes);
    if text.starts_with(light::FIRST_LINE) {
        return Err(Failure::new(Exit::WrongInput, NotTheOldOne { name }));
    }
    Ok(Survey::parse(&name, &text)?.map(|survey| survey.seen()).unwrap_or_default())
}

/// The sheet that is written.
struct Target {
    /// None where nobody asked for one: nothing is written then.
    path: Option<PathBuf>,
    /// Its text as it was read; none where it is new.
    before: Option<String>,
    /// The text to write into.
    text: String,
}

impl Target {
    fn open(arguments: &FitArguments) -> Result<Self, SheetError> {
        if let Some(path) = &arguments.sheet {
            let text = sheet::read_text(path)?;
            sheet::parse(&path.display().to_string(), &text)?;
            return Ok(Self { path: Some(path.clone()), before: Some(text.clone()), text });
        }
        let path = arguments.new_sheet.clone();
        if let Some(path) = &path {
            sheet::refuse_existing(path)?;
        }
        let name = path.as_deref().unwrap_or(Path::new("a new sheet")).display().to_string();
        let readings = as_seen_from(path.as_deref(), &arguments.readings);
        Ok(Self { text: sheet::new_sheet(&name, &readings)?, path, before: None })
    }

    /// What the sheet says that readings can be held against.
    fn says(&self) -> Result<(Specification, Asked), SheetError> {
        let sheet = sheet::parse(&self.name(), &self.text)?;
        Ok((sheet.specification(), Asked { idle: sheet.engine.idle_crank_rpm.value().copied() }))
    }

    fn name(&self) -> String {
        self.path.as_deref().unwrap_or(Path::new("a new sheet")).display().to_string()
    }

    fn changed(
        &self,
        found: &FitRecord,
        choose: Option<ChooseArgument>,
    ) -> Result<(Changed, Option<Changed>), SheetError> {
        let with_found = sheet::with_found(&self.name(), &self.text, found)?;
        let choice = choose.map(|choose| match choose {
            ChooseArgument::Found => Choice::Found,
            ChooseArgument::Specified => Choice::Specified,
        });
        let chosen = choice.map(|choice| sheet::choose(&self.name(), &with_found.text, choice)).transpose()?;
        Ok((with_found, chosen))
    }

    fn write(&self, text: &str) -> Result<(), SheetError> {
        match (&self.path, &self.before) {
            (None, _) => Ok(()),
            (Some(path), None) => sheet::write_new(path, text),
            (Some(_), Some(before)) if before == text => Ok(()),
            (Some(path), Some(before)) => sheet::replace(path, before, text),
        }
    }
}

/// The name of the readings in a sheet, which is read from the sheet's own folder: the bare name where both lie together, else
/// the whole path.
pub(super) fn as_seen_from(sheet: Option<&Path>, readings: &Path) -> String {
    let folder = |path: &Path| {
        let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
        folder.canonicalize().ok()
    };
    let together = sheet.is_none_or(|sheet| folder(sheet) == folder(readings));
    match readings.canonicalize() {
        Ok(whole) if !together => whole.display().to_string(),
        _ => readings.file_name().unwrap_or_default().to_string_lossy().into_owned(),
    }
}

/// How the chosen curve lies to the readings and to its limits, or which key is still missing for that.
fn chosen_in_words(
    path: &Path,
    text: &str,
    found: &FitResult,
    specification: &Specification,
) -> Result<String, SheetError> {
    let sheet = sheet::parse(&path.display().to_string(), text)?;
    let beside = beside::side_by_side(found, specification, &sheet);
    match sheet::model(&sheet) {
        Ok(model) => {
            let mut said = departure_in_words(&model, found, specification);
            said.extend(limits_outcome(&sheet, &model).statements);
            let mut text = format!("\n{beside}\nThe chosen curve:\n");
            for sentence in &said {
                paragraph(&mut text, "  ", sentence);
            }
            Ok(text)
        }
        Err(SheetError::Key(missing)) => {
            Ok(format!("\n{beside}\nThe chosen curve and its limits cannot be judged yet:\n  {missing}\n"))
        }
        Err(error) => Err(error),
    }
}

#[cfg(test)]
pub(super) mod tests;
