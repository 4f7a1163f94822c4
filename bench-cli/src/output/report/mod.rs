//! One page of one result or more: self-contained, for paper and for a phone, readable without colour.

mod bench;
mod chart;
mod engine;
mod light;
mod others;
mod page;

use crate::figures::first_start::FirstStart;
use crate::light::LightResult;
use crate::result::BenchResult;
use crate::sheet::Sheet;
use crate::verdict::Verdict;
use bobweight::AdvanceModel;
use page::Html;
use serde_json::Value;

/// A result of any command, read back.
#[derive(Clone, Debug)]
pub enum AnyResult {
    /// Of `bench`.
    Bench(Box<BenchResult>),
    /// Of `light`.
    Light(Box<LightResult>),
    /// Of `fit`.
    Fit(Value),
    /// Of `figures`.
    Figures(Value),
    /// Of `check`.
    Check(Value),
}

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
    pub result: AnyResult,
}

/// What is known of the engine itself.
#[derive(Debug)]
pub struct EngineFacts<'a> {
    /// The sheet that the results were made from.
    pub sheet: &'a Sheet,
    /// For the card, where one is wanted.
    pub card: Option<(&'a AdvanceModel, FirstStart)>,
}

/// The page. The last of two results of one kind is the one that counts; the one before is laid under it.
pub fn render(sources: &[Source], engine: Option<&EngineFacts>, cautions: &[&str]) -> String {
    let mut html = Html::default();
    let name =
        sources.iter().find_map(|source| name_of(&source.result)).unwrap_or_else(|| "An old distributor".to_owned());
    html.heading(1, &name);
    html.paragraph(&format!("Report by bobweight {}.", env!("CARGO_PKG_VERSION")));
    let bench = newest(sources, |result| if let AnyResult::Bench(result) = result { Some(&**result) } else { None });
    let light = newest(sources, |result| if let AnyResult::Light(result) = result { Some(&**result) } else { None });
    if let Some((result, _)) = &bench {
        html.marked("verdict", &bench::verdict(result));
    }
    if let Some((result, _)) = &light {
        html.marked("verdict", &light::verdict(result));
    }
    html.heading(2, "What this page is made of");
    html.list(
        sources.iter().map(|source| format!("{}: {}, saved {}", source.file, kind_of(&source.result), source.saved)),
    );
    if let Some((result, before)) = bench {
        html.heading(2, "The bench");
        if let Some(before) = before {
            html.paragraph(&format!("Before: {} After: {}", bench::verdict(before), bench::verdict(result)));
        }
        bench::section(&mut html, result, before);
    }
    if let Some((result, before)) = light {
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
    if let Some((result, _)) = bench {
        html.list(&result.curve_source.statements);
        html.list(&result.limits.statements);
    }
    for source in sources {
        let (heading, section): (_, fn(&mut Html, &Value)) = match &source.result {
            AnyResult::Fit(_) => ("What the readings of the old distributor say", others::fit),
            AnyResult::Figures(_) => ("The figures", others::figures),
            AnyResult::Check(_) => ("The limits", others::check),
            _ => continue,
        };
        if let AnyResult::Fit(value) | AnyResult::Figures(value) | AnyResult::Check(value) = &source.result {
            html.heading(2, heading);
            section(&mut html, value);
        }
    }
    not_proven(&mut html, bench.map(|(result, _)| result), light.map(|(result, _)| result));
    html.heading(2, "What to do next");
    html.list(next_steps(bench.map(|(result, _)| result), light.map(|(result, _)| result)));
    html.heading(2, "Cautions");
    html.list(cautions);
    if let Some((engine, (model, start))) = engine.and_then(|engine| Some((engine, engine.card.as_ref()?))) {
        let saved = sources.last().map_or("", |source| source.saved.as_str());
        let proven = light.is_some_and(|(result, _)| result.verdict == Verdict::Pass && !result.on_bench);
        engine::card(&mut html, engine.sheet, model, start, saved, proven);
    }
    if let Some((result, _)) = bench.filter(|(result, _)| !result.test_points.is_empty()) {
        html.heading(2, "The bench in figures");
        bench::test_points(&mut html, result);
    }
    digests(&mut html, sources);
    Html::whole(&format!("{name}: report"), &html)
}

type Newest<'a, T> = Option<(&'a T, Option<&'a T>)>;

/// The last result of a kind, and the one before it.
fn newest<'a, T>(sources: &'a [Source], of: impl Fn(&'a AnyResult) -> Option<&'a T>) -> Newest<'a, T> {
    let mut all = sources.iter().rev().filter_map(|source| of(&source.result));
    Some((all.next()?, all.next()))
}

fn name_of(result: &AnyResult) -> Option<String> {
    match result {
        AnyResult::Bench(result) => Some(result.sheet.name.clone()),
        AnyResult::Light(result) => Some(result.sheet.name.clone()),
        AnyResult::Figures(value) | AnyResult::Check(value) => value["sheet"]["name"].as_str().map(str::to_owned),
        AnyResult::Fit(_) => None,
    }
}

fn kind_of(result: &AnyResult) -> &'static str {
    match result {
        AnyResult::Bench(_) => "a bench run",
        AnyResult::Light(_) => "a proof with a timing light",
        AnyResult::Fit(_) => "a fit of the old distributor's readings",
        AnyResult::Figures(_) => "operating figures",
        AnyResult::Check(_) => "a check of the limits",
    }
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

fn next_steps(bench: Option<&BenchResult>, light: Option<&LightResult>) -> Vec<String> {
    if let Some(light) = light {
        return light.next_steps.clone();
    }
    let none = || "`bobweight bench` the ignition before it goes near the engine".to_owned();
    vec![bench.map_or_else(none, BenchResult::next_step)]
}

fn digests(html: &mut Html, sources: &[Source]) {
    html.heading(2, "Digests");
    let mut lines = Vec::new();
    for source in sources {
        lines.push(format!("{}: {}", source.file, source.digest));
        let made_from = match &source.result {
            AnyResult::Bench(result) => vec![
                (Some(result.sheet.file.clone()), result.sheet.digest.clone()),
                (result.curve_source.readings_file.clone(), result.curve_source.readings_digest.clone()),
            ],
            AnyResult::Light(result) => vec![
                (Some(result.sheet.file.clone()), result.sheet.digest.clone()),
                (Some(result.readings_file.clone()), result.readings_digest.clone()),
            ],
            _ => Vec::new(),
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
