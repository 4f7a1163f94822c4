//! What the vacuum adds: the readings with the hose on, the found, the book's and the chosen curve.

use super::EngineFile;
use super::curves::{Curves, band_between, between, mark_of, rows_of};
use crate::distributor::fit::{Estimate, VacuumFit, VacuumOutcome};
use crate::distributor::readings::Reading;
use crate::page::report::chart::{Axis, Chart, Frame};
use crate::page::report::page::Html;
use crate::quantity::of_core::{crank_degrees, kpa_of};
use crate::quantity::units::KPA_PER_INHG;
use crate::sheet::{Recorded, VacuumSource};
use crate::words::number::fixed;
use bobweight::AdvanceModel;
use std::fmt::Write as _;

/// The section.
pub fn section(html: &mut Html, file: &EngineFile) {
    html.heading(2, "What the vacuum adds");
    let drawn = Drawn::of(file);
    if drawn.is_empty() {
        let none = file.sheet.and_then(|sheet| sheet.vacuum.source.value()) == Some(&VacuumSource::None);
        html.marked(
            "missing",
            if none {
                "The sheet says that the engine has no vacuum advance."
            } else {
                "There is nothing to draw here yet."
            },
        );
    } else {
        html.picture(&drawn.chart(), &drawn.in_words(), |html| {
            html.table(
                "The vacuum curves",
                &["curve", "kPa (inHg) depression", "crank degrees added", "range"],
                &drawn.rows(),
            );
        });
    }
    for sentence in &drawn.missing {
        html.marked("missing", sentence);
    }
}

struct Drawn<'a> {
    chosen: Vec<[f64; 2]>,
    book: Vec<[f64; 2]>,
    /// As the sheet keeps it, where there are no readings to ask.
    recorded: Vec<[f64; 2]>,
    fit: Option<&'a VacuumFit>,
    /// Each reading with the hose on, and what the vacuum gave at it.
    read: Vec<(&'a Reading, f64)>,
    farthest: f64,
    missing: Vec<String>,
}

impl<'a> Drawn<'a> {
    fn of(file: &'a EngineFile) -> Self {
        let chosen = file.model.map(chosen).unwrap_or_default();
        let specified = file.sheet.and_then(|sheet| sheet.specified.as_ref());
        let mut missing = Vec::new();
        let (mut fit, mut read) = (None, Vec::new());
        if let Ok(readings) = &file.readings {
            let on = readings.readings.hose_on().count();
            match readings.fit.as_ref().map(|fit| (fit, &fit.vacuum)) {
                Ok((whole, VacuumOutcome::Fitted(vacuum))) => {
                    let added = |reading: &Reading| {
                        reading.crank_degrees - whole.found.at(reading.crank_rpm) - vacuum.rest.value
                    };
                    read = readings.readings.hose_on().map(|reading| (reading, added(reading))).collect();
                    fit = Some(&**vacuum);
                }
                Ok((_, VacuumOutcome::TooFew { readings: few })) => missing.push(format!(
                    "{few} readings of {} were taken with the hose on, too few for a curve: `bobweight survey --out {}` goes on with \
                     it.",
                    readings.name, readings.name
                )),
                Ok((_, VacuumOutcome::NotRead)) => missing.push(format!(
                    "No reading of {} was taken with the hose on, so what the old vacuum unit gave is not known.",
                    readings.name
                )),
                Err(_) if on > 0 => missing.push(
                    "What the vacuum gave is told once there is a found curve without vacuum to take from each reading.".to_owned(),
                ),
                Err(_) => {}
            }
        }
        let book = recorded_points(specified);
        let recorded = recorded_points(file.found_of_sheet_alone());
        let ends = chosen.iter().chain(&book).chain(&recorded).map(|point| point[0] * 1.15);
        let depths = read.iter().filter_map(|(reading, _)| reading.depression_kpa);
        let farthest = ends.chain(depths).fold(10.0, f64::max);
        let out = |points: Vec<[f64; 2]>| flat_to(points, farthest);
        Self { chosen: out(chosen), book: out(book), recorded: out(recorded), fit, read, farthest, missing }
    }

    fn is_empty(&self) -> bool {
        self.chosen.is_empty() && self.book.is_empty() && self.recorded.is_empty() && self.fit.is_none()
    }

    fn curves(&self) -> Curves<'_> {
        let (found, band) = match self.fit {
            Some(fit) => (between(&fit.found, fit.read_kpa), band_between(fit.read_kpa, |kpa| fit.band_at(kpa))),
            None => (self.recorded.clone(), Vec::new()),
        };
        let at =
            |(reading, added): &(&Reading, f64)| ([reading.depression_kpa.unwrap_or(0.0), *added], mark_of(reading));
        Curves { chosen: &self.chosen, found, band, book: &self.book, read: self.read.iter().map(at).collect() }
    }

    fn in_words(&self) -> String {
        let mut said = "Crank degrees that are added.".to_owned();
        if let Some(fit) = self.fit {
            said += " Marks: each reading with the hose on, less the found curve without vacuum at its speed";
            if fit.rest.value.abs() >= 0.05 {
                let _ = write!(
                    said,
                    " and less the {} crank degrees by which they {} it before the unit moves",
                    fixed(fit.rest.value.abs(), 1),
                    if fit.rest.value > 0.0 { "lie above" } else { "fall short of" }
                );
            }
            said += ".";
        }
        said
    }

    fn chart(&self) -> String {
        let curves = self.curves();
        let mut chart = Chart::new(
            Frame::narrow(curves.lines_of_key()).with_axis_above(),
            "vacuum-curves",
            "What the vacuum adds",
            &curves.description(|kpa| format!("{} kPa depression", fixed(kpa, 1))),
            Axis::over("kPa depression", [0.0, self.farthest]),
            Axis::over("crank degrees added", curves.heights().chain([0.0])),
        );
        chart.axis_above("inHg depression", KPA_PER_INHG);
        curves.draw_band(&mut chart);
        curves.draw(&mut chart);
        curves.key(&mut chart, "chosen: what the ignition adds", "found in the old vacuum unit");
        chart.into_text()
    }

    fn rows(&self) -> Vec<Vec<String>> {
        let depth = |kpa: f64| format!("{} ({})", fixed(kpa, 1), fixed(kpa / KPA_PER_INHG, 1));
        let mut rows = rows_of("chosen", &self.chosen, depth);
        match self.fit {
            Some(fit) => {
                let range = |of: &Estimate| format!("{} to {}", fixed(of.low, 1), fixed(of.high, 1));
                let kpa = |of: &Estimate| format!("{} kPa", range(of));
                let [begins, all_in, whole] = ["found, begins", "found, all in", "found, in all"].map(str::to_owned);
                rows.push(vec![begins, depth(fit.start.value), fixed(0.0, 1), kpa(&fit.start)]);
                rows.push(vec![all_in, depth(fit.full.value), fixed(fit.greatest.value, 1), kpa(&fit.full)]);
                rows.push(vec![whole, "-".to_owned(), fixed(fit.greatest.value, 1), range(&fit.greatest)]);
            }
            None => rows.extend(rows_of("found", &self.recorded, depth)),
        }
        rows.extend(rows_of("book", &self.book, depth));
        rows
    }
}

/// The chosen curve as the core gives it, the throttle open.
fn chosen(model: &AdvanceModel) -> Vec<[f64; 2]> {
    let Some(vacuum) = &model.settings().vacuum else { return Vec::new() };
    let bends = (0..vacuum.curve.count()).map(|i| vacuum.curve.breakpoint(i).0);
    bends.map(|at| [kpa_of(at), crank_degrees(model.vacuum_advance(Some(at), false))]).collect()
}

/// A curve with its flat ends, from nothing to the end of the picture.
fn flat_to(points: Vec<[f64; 2]>, farthest: f64) -> Vec<[f64; 2]> {
    let (Some(first), Some(last)) = (points.first().copied(), points.last().copied()) else { return points };
    let before = (first[0] > 0.0).then_some([0.0, first[1]]);
    let after = (last[0] < farthest).then_some([farthest, last[1]]);
    before.into_iter().chain(points).chain(after).collect()
}

fn recorded_points(recorded: Option<&Recorded>) -> Vec<[f64; 2]> {
    let points = recorded.into_iter().flat_map(|recorded| recorded.vacuum.value().into_iter().flatten());
    points.map(|point| [point.depression_kpa, point.crank_degrees]).collect()
}
