//! One page of one result or more: self-contained, for paper and for a phone, readable without colour.

mod bench;
mod chart;
mod engine;
mod engine_file;
mod light;
mod others;
mod page;

pub use engine_file::render as render_folder;
pub use page::is_a_page;

use crate::proof::first_start::FirstStart;
use crate::record::Record;
use crate::record::bench::BenchResult;
use crate::record::light::LightResult;
use crate::record::verdict::Verdict;
use crate::saved::Freshness;
use crate::sheet::Sheet;
use bobweight::AdvanceModel;
use page::Html;
use std::time::SystemTime;

/// A result and its file.
#[derive(Clone, Debug)]
pub struct Source {
    /// The file, as it was typed.
    pub file: String,
    /// When it was saved, by the file.
    pub saved: String,
    /// Digest of the file.
    pub digest: String,
    /// What it holds.
    pub record: Record,
    /// How it lies to its sheet as the sheet is now.
    pub freshness: Freshness,
}

impl Source {
    /// Why it proves nothing of the sheet as it is now, in a sentence.
    pub fn stale_because(&self) -> String {
        let sheet = self.record.sheet().map_or("", |sheet| &sheet.file);
        format!("the settings of {sheet} have changed since it was made, so it proves nothing of them as they are now")
    }

    /// A verdict with what is to be known before it is believed.
    fn headline(&self, verdict: &str) -> String {
        match self.freshness {
            Freshness::Fresh => verdict.to_owned(),
            Freshness::Stale => format!("STALE: {}. It said: {verdict}", self.stale_because()),
            Freshness::Unknown => format!(
                "{verdict} Whether the settings of {} have changed since cannot be told: it is not where this result says.",
                self.record.sheet().map_or("the sheet", |sheet| &sheet.file)
            ),
        }
    }
}

/// What is known of the engine itself.
#[derive(Debug)]
pub struct EngineFacts<'a> {
    /// The sheet that the results were made from.
    pub sheet: &'a Sheet,
    /// For the card, where one is wanted.
    pub card: Option<(&'a AdvanceModel, FirstStart)>,
}

/// When a file was saved.
pub fn saved_at(time: Option<SystemTime>) -> String {
    time.map_or_else(
        || "at an unknown time".to_owned(),
        |time| humantime::format_rfc3339_seconds(time).to_string().replace('T', " ").replace('Z', " UTC"),
    )
}

/// The page. The last of two results of one kind is the one that counts; the one before is laid under it.
pub fn render(sources: &[Source], engine: Option<&EngineFacts>, cautions: &[&str]) -> String {
    let mut html = Html::default();
    let name = sources
        .iter()
        .find_map(|source| source.record.sheet())
        .map_or_else(|| "An old distributor".to_owned(), |sheet| sheet.name.clone());
    html.heading(1, &name);
    html.paragraph(&format!("Report by bobweight {}.", env!("CARGO_PKG_VERSION")));
    let bench = newest(sources, |record| if let Record::Bench(result) = record { Some(&**result) } else { None });
    let light = newest(sources, |record| if let Record::Light(result) = record { Some(&**result) } else { None });
    if let Some(newest) = &bench {
        html.marked("verdict", &newest.source.headline(&bench::verdict(newest.result)));
    }
    if let Some(newest) = &light {
        html.marked("verdict", &newest.source.headline(&light::verdict(newest.result)));
    }
    html.heading(2, "What this page is made of");
    html.list(sources.iter().map(|source| {
        let stale = if source.freshness == Freshness::Stale { "; STALE" } else { "" };
        format!("{}: {}, saved {}{stale}", source.file, source.record.kind(), source.saved)
    }));
    if let Some(Newest { result, before, .. }) = bench {
        html.heading(2, "The bench");
        if let Some(before) = before {
            html.paragraph(&format!("Before: {} After: {}", bench::verdict(before), bench::verdict(result)));
        }
        bench::section(&mut html, result, before, false);
    }
    if let Some(Newest { result, before, .. }) = light {
        html.heading(2, "The timing light");
        if let Some(before) = before {
            html.paragraph(&format!("Before: {} After: {}", light::verdict(before), light::verdict(result)));
        }
        light::section(&mut html, "light", result, before);
    }
    html.heading(2, "The curve");
    if let Some(engine) = engine {
        engine::three_curves(&mut html, engine.sheet);
    } else {
        html.paragraph(
            "The sheet is not beside the results, or has changed since: found, specified and chosen cannot be shown.",
        );
    }
    if let Some(Newest { result, .. }) = bench {
        let source = &result.curve_source;
        let remarks = source.remarks.iter().filter(|remark| !source.statements.contains(remark));
        html.list(source.statements.iter().chain(remarks));
        html.list(&result.limits.statements);
    }
    ending(&mut html, sources, (bench, light), engine, cautions);
    digests(&mut html, sources);
    Html::whole(&format!("{name}: report"), &html)
}

/// What every page ends with: other results, what nobody has proven, what to do, what can hurt, the card, and the bench in figures.
fn ending(
    html: &mut Html,
    sources: &[Source],
    (bench, light): (Option<Newest<BenchResult>>, Option<Newest<LightResult>>),
    engine: Option<&EngineFacts>,
    cautions: &[&str],
) {
    for source in sources {
        others::section(html, &source.record);
    }
    not_proven(html, bench.map(|newest| newest.result), light.map(|newest| newest.result));
    html.heading(2, "What to do next");
    html.list(next_steps(bench, light));
    html.heading(2, "Cautions");
    html.list(cautions);
    if let Some((engine, (model, start))) = engine.and_then(|engine| Some((engine, engine.card.as_ref()?))) {
        let saved = sources.last().map_or("", |source| source.saved.as_str());
        let proven = light.is_some_and(|newest| {
            newest.source.freshness == Freshness::Fresh
                && newest.result.verdict == Verdict::Pass
                && !newest.result.on_bench
        });
        engine::card(html, engine.sheet, model, start, saved, proven);
    }
    if let Some(Newest { result, .. }) = bench.filter(|newest| !newest.result.test_points.is_empty()) {
        html.heading(2, "The bench in figures");
        bench::test_points(html, result);
    }
}

/// The last result of a kind, its file, and the one before it.
struct Newest<'a, T> {
    result: &'a T,
    source: &'a Source,
    before: Option<&'a T>,
}

impl<T> Clone for Newest<'_, T> {
    fn clone(&self) -> Self {
        *self
    }
}

impl<T> Copy for Newest<'_, T> {}

fn newest<'a, T>(sources: &'a [Source], of: impl Fn(&'a Record) -> Option<&'a T>) -> Option<Newest<'a, T>> {
    let mut all = sources.iter().rev().filter_map(|source| Some((of(&source.record)?, source)));
    let (result, source) = all.next()?;
    Some(Newest { result, source, before: all.next().map(|(before, _)| before) })
}

fn not_proven(html: &mut Html, bench: Option<&BenchResult>, light: Option<&LightResult>) {
    html.heading(2, "What was not proven");
    let from_bench = bench.into_iter().flat_map(|result| &result.not_proven);
    let from_light = light.into_iter().flat_map(|result| &result.not_proven);
    let mut open: Vec<String> = from_bench.chain(from_light).cloned().collect();
    if bench.is_none() {
        open.push("no bench run is on this page: nothing of it proves the box".to_owned());
    }
    if light.is_none() {
        open.push("no timing light is on this page: nothing of it proves the engine".to_owned());
    }
    open.push("nothing here calls a curve safe: it says which limits it keeps, and those are yours to set".to_owned());
    html.list(open);
}

/// What comes next; a stale proof leads nowhere but to its own repetition.
fn next_steps(bench: Option<Newest<BenchResult>>, light: Option<Newest<LightResult>>) -> Vec<String> {
    let again = |source: &Source, command: &str| {
        let (file, sheet) = (&source.file, source.record.sheet().map_or("", |sheet| &sheet.file));
        vec![format!("{}: `bobweight {command} {sheet} --json {file}` again", source.stale_because())]
    };
    match (bench, light) {
        (_, Some(light)) if light.source.freshness == Freshness::Stale => again(light.source, "light"),
        (_, Some(light)) => light.result.next_steps.clone(),
        (Some(bench), None) if bench.source.freshness == Freshness::Stale => again(bench.source, "bench"),
        (Some(bench), None) => vec![bench.result.next_step()],
        (None, None) => vec!["`bobweight bench` the ignition before it goes near the engine".to_owned()],
    }
}

fn digests(html: &mut Html, sources: &[Source]) {
    html.heading(2, "Digests");
    let mut lines = Vec::new();
    for source in sources {
        lines.push(format!("{}: {}", source.file, source.digest));
        let made_from = match &source.record {
            Record::Bench(result) => vec![
                (Some(result.sheet.file.clone()), result.sheet.digest.clone()),
                (result.curve_source.readings_file.clone(), result.curve_source.readings_digest.clone()),
            ],
            Record::Light(result) => vec![
                (Some(result.sheet.file.clone()), result.sheet.digest.clone()),
                (Some(result.readings_file.clone()), result.readings_digest.clone()),
            ],
            record => {
                record.sheet().map(|sheet| (Some(sheet.file.clone()), sheet.digest.clone())).into_iter().collect()
            }
        };
        for (file, digest) in made_from {
            if let (Some(file), Some(digest)) = (file, digest) {
                let line = format!("{file}, of which it was made: {digest}");
                if !lines.contains(&line) {
                    lines.push(line);
                }
            }
        }
    }
    for line in lines {
        html.marked("digest", &line);
    }
}
