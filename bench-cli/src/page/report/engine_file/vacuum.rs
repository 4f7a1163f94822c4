//! What the vacuum adds: the readings with the hose on, the found, the book's and the chosen curve.

use super::EngineFile;
use super::timing::mark_of;
use crate::distributor::fit::{Estimate, VacuumFit, VacuumOutcome};
use crate::distributor::readings::Reading;
use crate::page::report::chart::{Axis, Chart, Frame, Mark};
use crate::page::report::page::Html;
use crate::quantity::of_core::{crank_degrees, kpa_of};
use crate::quantity::units::KPA_PER_INHG;
use crate::sheet::{Recorded, VacuumSource};
use crate::words::number::fixed;
use bobweight::AdvanceModel;
use std::fmt::Write as _;

/// Places at which the band of a found curve is worked out.
const STEPS: u32 = 100;

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

    fn found(&self) -> Vec<[f64; 2]> {
        let Some(fit) = self.fit else { return self.recorded.clone() };
        let (low, high) = fit.read_kpa;
        let bends = fit.found.breakpoints().iter().map(|point| point[0]).filter(|x| (low..=high).contains(x));
        std::iter::once(low).chain(bends).chain([high]).map(|x| [x, fit.found.at(x)]).collect()
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

    fn description(&self) -> String {
        let said = |name: &str, points: &[[f64; 2]]| {
            let each: Vec<String> = points
                .iter()
                .map(|[kpa, at]| format!("{} at {} kPa depression", fixed(*at, 1), fixed(*kpa, 1)))
                .collect();
            (!each.is_empty()).then(|| format!("{name}: {}.", each.join(", ")))
        };
        [said("Chosen", &self.chosen), said("Found", &self.found()), said("The book", &self.book)]
            .into_iter()
            .flatten()
            .collect::<Vec<_>>()
            .join(" ")
    }

    fn chart(&self) -> String {
        let found = self.found();
        let heights = self.chosen.iter().chain(&self.book).chain(&found).map(|point| point[1]);
        let heights = heights.chain(self.read.iter().map(|(_, added)| *added)).chain([0.0]);
        let rows = [
            !self.chosen.is_empty(),
            !found.is_empty(),
            self.fit.is_some(),
            !self.book.is_empty(),
            !self.read.is_empty(),
        ];
        let rows: u8 = rows.into_iter().map(u8::from).sum();
        let mut chart = Chart::new(
            Frame::narrow(rows).with_axis_above(),
            "vacuum-curves",
            "What the vacuum adds",
            &self.description(),
            Axis::over("kPa depression", [0.0, self.farthest]),
            Axis::over("crank degrees added", heights),
        );
        chart.axis_above("inHg depression", KPA_PER_INHG);
        if let Some(fit) = self.fit {
            let (low, high) = fit.read_kpa;
            let at = |step: u32| low + (high - low) * f64::from(step) / f64::from(STEPS);
            let bands: Vec<_> = (0..=STEPS).map(|step| (at(step), fit.band_at(at(step)))).collect();
            let below: Vec<_> = bands.iter().map(|(x, band)| [*x, band.low]).collect();
            let above: Vec<_> = bands.iter().map(|(x, band)| [*x, band.high]).collect();
            chart.band(&below, &above, "band found");
        }
        for (points, class) in [(&self.book, "line book"), (&found, "line found"), (&self.chosen, "line chosen")] {
            if !points.is_empty() {
                chart.line_of(points, class);
            }
        }
        for (reading, added) in &self.read {
            chart.mark([reading.depression_kpa.unwrap_or(0.0), *added], 0.0, mark_of(reading), true);
        }
        if !self.chosen.is_empty() {
            chart.key_of_line("line chosen", "chosen: what the ignition adds");
        }
        if !found.is_empty() {
            chart.key_of_line("line found", "found in the old vacuum unit");
        }
        if self.fit.is_some() {
            chart.key_of_band("band found", "where it lies, with 95 % probability");
        }
        if !self.book.is_empty() {
            chart.key_of_line("line book", "the book's");
        }
        if !self.read.is_empty() {
            let marks = [(Mark::Rising, true), (Mark::Falling, true), (Mark::Square, true)];
            chart.key_of_marks(&marks, "read: speed rising, falling, held");
        }
        chart.into_text()
    }

    fn rows(&self) -> Vec<Vec<String>> {
        let depth = |kpa: f64| format!("{} ({})", fixed(kpa, 1), fixed(kpa / KPA_PER_INHG, 1));
        let plain = |curve: &str, points: &[[f64; 2]]| {
            points
                .iter()
                .map(|[x, y]| [curve.to_owned(), depth(*x), fixed(*y, 1), "-".to_owned()].to_vec())
                .collect::<Vec<_>>()
        };
        let mut rows = plain("chosen", &self.chosen);
        match self.fit {
            Some(fit) => {
                let range = |of: &Estimate| format!("{} to {}", fixed(of.low, 1), fixed(of.high, 1));
                let kpa = |of: &Estimate| format!("{} kPa", range(of));
                let [begins, all_in, whole] = ["found, begins", "found, all in", "found, in all"].map(str::to_owned);
                rows.push(vec![begins, depth(fit.start.value), fixed(0.0, 1), kpa(&fit.start)]);
                rows.push(vec![all_in, depth(fit.full.value), fixed(fit.greatest.value, 1), kpa(&fit.full)]);
                rows.push(vec![whole, "-".to_owned(), fixed(fit.greatest.value, 1), range(&fit.greatest)]);
            }
            None => rows.extend(plain("found", &self.recorded)),
        }
        rows.extend(plain("book", &self.book));
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
