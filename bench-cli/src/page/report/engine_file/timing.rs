//! Timing over speed without vacuum: the readings, the found, the book's and the chosen curve.

use super::curves::{Curves, band_between, between, mark_of, rows_of};
use super::{EngineFile, FoundReadings};
use crate::distributor::fit::{Curve, FitResult};
use crate::page::report::chart::{Axis, Chart, Frame};
use crate::page::report::page::Html;
use crate::quantity::of_core::{crank_degrees, rpm_of};
use crate::sheet::Recorded;
use crate::words::number::{fixed, whole};
use bobweight::{AdvanceModel, Limit, Phase};

/// The section.
pub fn section(html: &mut Html, file: &EngineFile) {
    html.heading(2, "Timing over speed, without vacuum");
    let drawn = Drawn::of(file);
    if drawn.is_empty() {
        html.marked("missing", "There is nothing to draw here yet.");
    } else {
        let caption = format!("{} Crank degrees before top dead centre, hose off.", drawn.in_words());
        html.picture(&drawn.chart(), &caption, |html| {
            html.table(
                "The curves without vacuum",
                &["curve", "crank rpm", "crank degrees BTDC", "range"],
                &drawn.rows(),
            );
        });
    }
    for sentence in &drawn.missing {
        html.marked("missing", sentence);
    }
}

/// What is there to draw.
struct Drawn<'a> {
    chosen: Vec<[f64; 2]>,
    book: Vec<[f64; 2]>,
    /// The book's curve stands on the chosen initial timing: it names none.
    book_on_chosen: bool,
    readings: Option<&'a FoundReadings>,
    recorded: Option<&'a Recorded>,
    limit: Option<f64>,
    farthest: f64,
    missing: Vec<String>,
}

impl<'a> Drawn<'a> {
    fn of(file: &'a EngineFile) -> Self {
        let chosen = file.model.map(chosen).unwrap_or_default();
        let specified = file.sheet.and_then(|sheet| sheet.specified.as_ref());
        let (book, book_on_chosen) = book(specified, file.initial());
        let readings = file.readings.ok();
        let read = readings.into_iter().flat_map(|found| found.readings.hose_off().map(|reading| reading.crank_rpm));
        let greatest = file.sheet.and_then(|sheet| sheet.engine.greatest_speed_crank_rpm.value().copied());
        let bends = chosen.iter().chain(&book).map(|point| point[0]).filter(|_| greatest.is_none());
        let farthest = read.chain(greatest).chain(bends).fold(1000.0, f64::max);
        let limit = file.sheet.and_then(|sheet| sheet.limits.of(Limit::GreatestWithoutVacuum).value().copied());
        let mut missing = file.missing_of_readings();
        missing.extend(file.missing_of_curve());
        if book.is_empty() && file.sheet.is_some() {
            missing.push(
                "The sheet has no `[specified]` curve, so the book's is not drawn: write what the book says there, with the keys of \
                 the chosen tables."
                    .to_owned(),
            );
        }
        Self {
            chosen: within(&chosen, farthest),
            book: within(&book, farthest),
            book_on_chosen,
            readings,
            recorded: file.found_of_sheet_alone(),
            limit,
            farthest,
            missing,
        }
    }

    fn is_empty(&self) -> bool {
        self.chosen.is_empty() && self.book.is_empty() && self.readings.is_none() && self.recorded.is_none()
    }

    /// What the readings give now.
    fn fit(&self) -> Option<&FitResult> {
        self.readings.and_then(|readings| readings.fit.as_deref().ok())
    }

    fn curves(&self) -> Curves<'_> {
        let read = self.readings.into_iter().flat_map(|found| found.readings.hose_off());
        // As the readings give it now, or as the sheet keeps it where there are none to ask.
        let (found, band) = match self.fit() {
            Some(fit) => {
                let range = (fit.lowest.speed, fit.highest.speed);
                (between(&fit.found, range), band_between(range, |speed| fit.band_at(speed)))
            }
            None => (recorded_points(self.recorded), Vec::new()),
        };
        let read = read.map(|reading| ([reading.crank_rpm, reading.crank_degrees], mark_of(reading))).collect();
        Curves { chosen: &self.chosen, found, band, book: &self.book, read }
    }

    fn in_words(&self) -> String {
        let mut said = Vec::new();
        if let Some(readings) = self.readings {
            said.push(format!("Marks: the readings of {}, line by line.", readings.name));
        }
        if self.recorded.is_some() {
            said.push("The found curve is the one that the sheet keeps; its readings are not here.".to_owned());
        }
        if self.book_on_chosen {
            said.push("The book names no initial timing: its curve is drawn on the chosen one's.".to_owned());
        }
        said.join(" ")
    }

    fn chart(&self) -> String {
        let curves = self.curves();
        let mut chart = Chart::new(
            Frame::narrow(curves.lines_of_key() + u8::from(self.limit.is_some())),
            "timing",
            "Timing over speed, without vacuum",
            &curves.description(|rpm| format!("{} crank rpm", whole(rpm))),
            Axis::over("crank rpm", [0.0, self.farthest]),
            Axis::over("crank degrees BTDC", curves.heights().chain(self.limit).chain([0.0])),
        );
        curves.draw_band(&mut chart);
        if let Some(limit) = self.limit {
            chart.line_of(&[[0.0, limit], [self.farthest, limit]], "line limit");
        }
        curves.draw(&mut chart);
        curves.key(&mut chart, "chosen: what the ignition gives", "found in the old distributor");
        if self.limit.is_some() {
            chart.key_of_line("line limit", "your limit without vacuum");
        }
        chart.into_text()
    }

    fn rows(&self) -> Vec<Vec<String>> {
        let mut rows = rows_of("chosen", &self.chosen, whole);
        match self.fit() {
            Some(fit) => rows.extend(fit.knots.iter().zip(&fit.levels).map(|(knot, level)| {
                let range = format!("{} to {}", fixed(level.low, 1), fixed(level.high, 1));
                ["found".to_owned(), whole(knot.value), fixed(level.value, 1), range].to_vec()
            })),
            None => rows.extend(rows_of("found", &recorded_points(self.recorded), whole)),
        }
        rows.extend(rows_of("book", &self.book, whole));
        if let Some(limit) = self.limit {
            rows.push(["limit".to_owned(), "all".to_owned(), fixed(limit, 1), "-".to_owned()].to_vec());
        }
        rows
    }
}

/// The chosen curve as the core gives it: at its bends and at the ends of its running speeds.
fn chosen(model: &AdvanceModel) -> Vec<[f64; 2]> {
    let settings = model.settings();
    let bends = (0..settings.centrifugal.count()).map(|i| settings.centrifugal.breakpoint(i).0);
    let ends = [settings.speeds.running_from, settings.speeds.no_spark_above];
    let mut speeds: Vec<_> = bends.filter(|speed| (ends[0]..=ends[1]).contains(speed)).chain(ends).collect();
    speeds.sort_unstable();
    speeds.dedup();
    let at = |at| {
        let given = model.advance(Phase::Running, at, None, false)?;
        Some([rpm_of(at), crank_degrees(given.total)])
    };
    speeds.into_iter().filter_map(at).collect()
}

/// The part of a curve up to a speed.
fn within(points: &[[f64; 2]], farthest: f64) -> Vec<[f64; 2]> {
    let mut kept: Vec<_> = points.iter().copied().filter(|point| point[0] <= farthest).collect();
    if let (Some(last), Some(_)) = (kept.last().copied(), points.get(kept.len()))
        && last[0] < farthest
    {
        kept.push([farthest, Curve::through(points).at(farthest)]);
    }
    kept
}

/// The book's curve, and whether it stands on the chosen initial timing.
fn book(specified: Option<&Recorded>, chosen_initial: Option<f64>) -> (Vec<[f64; 2]>, bool) {
    let Some(specified) = specified else { return (Vec::new(), false) };
    let own = specified.initial_crank_degrees.value().copied();
    let Some(initial) = own.or(chosen_initial) else { return (Vec::new(), false) };
    let points = specified.centrifugal.value().into_iter().flatten();
    (points.map(|point| [point.crank_rpm, initial + point.crank_degrees]).collect(), own.is_none())
}

fn recorded_points(recorded: Option<&Recorded>) -> Vec<[f64; 2]> {
    let Some(recorded) = recorded else { return Vec::new() };
    let Some(initial) = recorded.initial_crank_degrees.value() else { return Vec::new() };
    let points = recorded.centrifugal.value().into_iter().flatten();
    points.map(|point| [point.crank_rpm, initial + point.crank_degrees]).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_curve_ends_where_the_picture_ends() {
        let points = [[0.0, 0.0], [1000.0, 10.0], [3000.0, 20.0]];
        assert_eq!(within(&points, 2000.0), [[0.0, 0.0], [1000.0, 10.0], [2000.0, 15.0]]);
        assert_eq!(within(&points, 4000.0), points);
    }
}
