//! The engine's file: one page of all that a folder holds, in pictures first.

mod cap;
mod coil;
mod curves;
mod errors;
mod hoses;
mod pickup;
mod picture;
mod pulley;
mod timing;
mod vacuum;

use super::page::Html;
use super::{EngineFacts, Newest, Source, bench, digests, ending, light, newest};
use crate::record::Record;
use crate::record::bench::BenchResult;
use crate::record::check::CheckResult;
use crate::record::figures::FiguresResult;
use crate::record::light::LightResult;
use crate::record::sparks::SparksResult;
use crate::saved::Freshness;
use crate::saved::folder::{EngineFolder, FoundReadings, KeptResult};
use crate::sheet::{Recorded, Sheet};
use bobweight::AdvanceModel;

/// What the pictures are drawn from.
struct EngineFile<'a> {
    folder: &'a EngineFolder,
    sheet: Option<&'a Sheet>,
    model: Option<&'a AdvanceModel>,
    check: Option<Result<&'a CheckResult, &'a str>>,
    figures: Option<Result<&'a FiguresResult, &'a str>>,
    readings: Result<&'a FoundReadings, &'a str>,
    /// The results that are of the present state.
    now: Vec<Source>,
}

/// The page.
pub fn render(folder: &EngineFolder, engine: Option<&EngineFacts>, cautions: &[&str]) -> String {
    let file = EngineFile::of(folder);
    let mut html = Html::default();
    let name = file.name();
    html.heading(1, &name);
    if let Some(sheet) = file.sheet {
        html.paragraph(&sheet.engine.in_words());
    }
    html.paragraph(&format!("The engine's file, by bobweight {}.", env!("CARGO_PKG_VERSION")));
    headlines(&mut html, &file);
    timing::section(&mut html, &file);
    vacuum::section(&mut html, &file);
    errors::section(&mut html, &file);
    cap::section(&mut html, &file);
    pulley::section(&mut html, &file);
    pickup::section(&mut html, &file);
    hoses::section(&mut html, &file);
    coil::section(&mut html, &file);
    made_of(&mut html, folder);
    let (bench, light) = (file.bench(), file.light());
    if let Some(Newest { result, before, .. }) = bench {
        html.heading(2, "The bench");
        bench::section(&mut html, result, before, true);
    }
    if let Some(Newest { result, before, .. }) = light {
        html.heading(2, "The timing light");
        light::section(&mut html, "light", result, before);
    }
    ending(&mut html, &file.now, (bench, light), engine, cautions);
    readings_in_figures(&mut html, &file);
    digests(&mut html, &file.now);
    if let Some(sheet) = file.sheet {
        html.marked("digest", &format!("{}: {}", folder.sheet_file, sheet.digest()));
    }
    if let Ok(readings) = file.readings {
        html.marked("digest", &format!("{}: {}", readings.name, readings.digest));
    }
    Html::whole(&format!("{name}: the engine's file"), &html)
}

impl<'a> EngineFile<'a> {
    fn of(folder: &'a EngineFolder) -> Self {
        let now = folder.results.iter().filter(|result| result.past.is_none()).map(source).collect();
        let told = |why: &'a String| why.as_str();
        Self {
            folder,
            sheet: folder.sheet.as_ref(),
            model: folder.model.as_ref().and_then(|model| model.as_ref().ok()),
            check: folder.check.as_ref().map(|check| check.as_ref().map_err(told)),
            figures: folder.figures.as_ref().map(|figures| figures.as_ref().map_err(told)),
            readings: folder.readings.as_ref().map_err(told),
            now,
        }
    }

    fn name(&self) -> String {
        let name = self.sheet.and_then(|sheet| sheet.name.value().cloned());
        name.unwrap_or_else(|| if self.sheet.is_some() { "An engine" } else { "An old distributor" }.to_owned())
    }

    /// The bench run that proves most: of a box over the simulation, and of two of a kind the later.
    fn bench(&self) -> Option<Newest<'_, BenchResult>> {
        let found =
            newest(&self.now, |record| if let Record::Bench(result) = record { Some(&**result) } else { None })?;
        let alike = |before: &&BenchResult| before.is_simulated() == found.result.is_simulated();
        Some(Newest { before: found.before.filter(alike), ..found })
    }

    fn light(&self) -> Option<Newest<'_, LightResult>> {
        let found =
            newest(&self.now, |record| if let Record::Light(result) = record { Some(&**result) } else { None })?;
        let alike = |before: &&LightResult| before.on_bench == found.result.on_bench;
        Some(Newest { before: found.before.filter(alike), ..found })
    }

    /// Every spark of the sheet as it is now.
    fn sparks(&self) -> Option<&'a SparksResult> {
        self.check?.ok()?.sparks.as_ref()
    }

    /// The chosen initial timing, crank degrees.
    fn initial(&self) -> Option<f64> {
        self.sheet?.advance.initial_crank_degrees.value().copied()
    }

    /// The found curve of the sheet, where there are no readings to ask.
    fn found_of_sheet_alone(&self) -> Option<&'a Recorded> {
        self.readings.is_err().then_some(self.sheet?.found.as_ref()?)
    }

    fn no_sheet(&self) -> String {
        let readings = self.readings.map_or("READINGS.csv", |readings| readings.name.as_str());
        format!("There is no sheet here: `bobweight fit {readings} --new-sheet engine.toml` makes one of readings.")
    }

    /// What is missing of readings and found curve, in sentences.
    fn missing_of_readings(&self) -> Vec<String> {
        let sheet = &self.folder.sheet_file;
        match self.readings {
            Err(why) => vec![why.to_owned()],
            Ok(readings) => match (&readings.fit, readings.is_in_sheet) {
                (Err(why), _) => vec![format!("There is no found curve: {why}.")],
                (Ok(_), Some(false)) => vec![format!(
                    "Drawn as found is what {name} gives now. The `[found]` of {sheet} says something else: `bobweight fit {name} --sheet \
                     {sheet}` writes it anew.",
                    name = readings.name
                )],
                _ => Vec::new(),
            },
        }
    }

    /// What the chosen curve waits for.
    fn missing_of_curve(&self) -> Vec<String> {
        match &self.folder.model {
            None => vec![self.no_sheet()],
            Some(Err(why)) => vec![format!("The chosen curve cannot be drawn yet: {why}.")],
            Some(Ok(_)) => Vec::new(),
        }
    }

    /// That no result of a command is of the present state, and which command makes one.
    fn no_record_of(&self, command: &str, what: &str) -> String {
        if self.sheet.is_none() {
            return self.no_sheet();
        }
        let sheet = &self.folder.sheet_file;
        let old: Vec<&str> = self
            .folder
            .results
            .iter()
            .filter(|result| result.past.is_some() && matches!((&result.record, command), (Record::Bench(_), "bench")))
            .map(|result| result.file.as_str())
            .collect();
        match old.as_slice() {
            [] => {
                format!("No such result lies here: `bobweight {command} {sheet} --json {command}.json` makes {what}.")
            }
            old => format!(
                "Not drawn: {} is of an older state. `bobweight {command} {sheet} --json {command}.json` makes {what} of the present one.",
                old.join(", ")
            ),
        }
    }
}

fn source(result: &KeptResult) -> Source {
    Source {
        file: result.file.clone(),
        saved: saved(result),
        digest: result.digest.clone(),
        record: result.record.clone(),
        freshness: Freshness::Fresh,
    }
}

fn saved(result: &KeptResult) -> String {
    super::saved_at(result.saved)
}

/// The limits first: a curve that breaks them is not to be shown to anybody without a word.
fn headlines(html: &mut Html, file: &EngineFile) {
    match file.check {
        Some(Ok(check)) if !check.kept => {
            let demands = check.sparks.iter().flat_map(|sparks| sparks.demands.iter().filter(|demand| !demand.kept));
            let broken = check.limits.iter().filter(|limit| !limit.kept).map(|limit| limit.statement.as_str());
            let all: Vec<&str> = broken.chain(demands.map(|demand| demand.statement.as_str())).collect();
            html.marked("verdict", &format!("The chosen curve BREAKS what is asked of it: {}.", all.join("; ")));
        }
        Some(Ok(check)) => {
            let sparks = if check.sparks.is_some() { "" } else { " Every spark cannot be listed yet." };
            html.paragraph(&format!("The chosen curve keeps the limits of its sheet everywhere.{sparks}"));
        }
        Some(Err(why)) => html.marked("verdict", &format!("The limits are not proven: {why}.")),
        None => {}
    }
    if let Some(newest) = file.bench() {
        html.marked("verdict", &bench::verdict(newest.result));
    }
    if let Some(newest) = file.light() {
        html.marked("verdict", &light::verdict(newest.result));
    }
}

/// Every file of the folder, and of which state it is.
fn made_of(html: &mut Html, folder: &EngineFolder) {
    html.heading(2, "What this file is made of");
    let mut lines = Vec::new();
    if folder.sheet.is_some() {
        lines.push(format!("{}: the sheet. Every figure of a chosen curve is of it, as it is now.", folder.sheet_file));
    }
    lines.extend(folder.other_sheets.iter().map(|name| format!("{name}: another sheet; nothing of it is shown.")));
    if let Ok(readings) = &folder.readings {
        lines.push(format!(
            "{}: readings of the old distributor, {} with the hose off and {} with it on.",
            readings.name,
            readings.readings.hose_off().count(),
            readings.readings.hose_on().count()
        ));
    }
    lines.extend(folder.other_readings.iter().map(|name| format!("{name}: other readings, which are not drawn.")));
    for result in &folder.results {
        let (kind, saved) = (result.record.kind(), saved(result));
        lines.push(match &result.past {
            None => format!("{}: {kind}, saved {saved}; of the state as it is now.", result.file),
            Some(why) => format!("{}: {kind}, saved {saved}; OF ANOTHER STATE, and not shown: {why}.", result.file),
        });
    }
    lines.extend(folder.refused.iter().map(|(name, why)| format!("{name}: a result that counts for nothing: {why}.")));
    html.list(lines);
}

/// The readings one by one: long, and so among the last of the page.
fn readings_in_figures(html: &mut Html, file: &EngineFile) {
    let Ok(readings) = file.readings else { return };
    html.heading(2, "The readings in figures");
    let rows: Vec<Vec<String>> = readings
        .readings
        .readings
        .iter()
        .map(|reading| {
            vec![
                reading.line.to_string(),
                reading.hose.word().to_owned(),
                reading.speed_was.word().to_owned(),
                crate::words::number::whole(reading.crank_rpm),
                crate::words::position::position(reading.crank_degrees),
                reading.depression_kpa.map_or_else(
                    || "-".to_owned(),
                    |kpa| format!("{:.1} ({:.1})", kpa, kpa / crate::quantity::units::KPA_PER_INHG),
                ),
            ]
        })
        .collect();
    html.table(
        "Readings of the old distributor",
        &["line", "hose", "speed was", "crank rpm", "crank degrees", "kPa (inHg) depression"],
        &rows,
    );
}
