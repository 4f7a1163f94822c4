//! The chosen, the found and the book's curve beside the readings, whatever they hang on: how they are drawn, keyed and told.

use crate::distributor::fit::{Band, Curve};
use crate::distributor::readings::{Reading, SpeedWas};
use crate::page::report::chart::{Chart, Mark};
use crate::words::number::fixed;

/// Places at which the band of a found curve is worked out.
const STEPS: u32 = 100;

/// What is drawn over one axis; what there is none of is empty.
pub struct Curves<'a> {
    pub chosen: &'a [[f64; 2]],
    pub found: Vec<[f64; 2]>,
    /// Where the found curve lies with 95 % probability.
    pub band: Vec<(f64, Band)>,
    pub book: &'a [[f64; 2]],
    pub read: Vec<([f64; 2], Mark)>,
}

impl Curves<'_> {
    /// Every height that is drawn.
    pub fn heights(&self) -> impl Iterator<Item = f64> + '_ {
        let curves = self.chosen.iter().chain(self.book).chain(&self.found).map(|point| point[1]);
        curves.chain(self.read.iter().map(|([_, y], _)| *y))
    }

    /// How many lines the key has.
    pub fn lines_of_key(&self) -> u8 {
        let there = [
            !self.chosen.is_empty(),
            !self.found.is_empty(),
            !self.band.is_empty(),
            !self.book.is_empty(),
            !self.read.is_empty(),
        ];
        there.into_iter().map(u8::from).sum()
    }

    /// What is read out in place of the picture; `place` says where on the axis, with its unit.
    pub fn description(&self, place: impl Fn(f64) -> String) -> String {
        let said = |name: &str, points: &[[f64; 2]]| {
            let each: Vec<String> = points.iter().map(|[x, y]| format!("{} at {}", fixed(*y, 1), place(*x))).collect();
            (!each.is_empty()).then(|| format!("{name}: {}.", each.join(", ")))
        };
        [said("Chosen", self.chosen), said("Found", &self.found), said("The book", self.book)]
            .into_iter()
            .flatten()
            .collect::<Vec<_>>()
            .join(" ")
    }

    /// The band, which lies below all else.
    pub fn draw_band(&self, chart: &mut Chart) {
        if self.band.is_empty() {
            return;
        }
        let side = |end: fn(&Band) -> f64| self.band.iter().map(|(x, band)| [*x, end(band)]).collect::<Vec<[f64; 2]>>();
        chart.band(&side(|band| band.low), &side(|band| band.high), "band found");
    }

    /// The curves, and the readings on them.
    pub fn draw(&self, chart: &mut Chart) {
        let found = self.found.as_slice();
        for (points, class) in [(self.book, "line book"), (found, "line found"), (self.chosen, "line chosen")] {
            if !points.is_empty() {
                chart.line_of(points, class);
            }
        }
        for (at, mark) in &self.read {
            chart.mark(*at, 0.0, *mark, true);
        }
    }

    /// Their key: what the chosen curve is, and where the found one was.
    pub fn key(&self, chart: &mut Chart, chosen: &str, found: &str) {
        if !self.chosen.is_empty() {
            chart.key_of_line("line chosen", chosen);
        }
        if !self.found.is_empty() {
            chart.key_of_line("line found", found);
        }
        if !self.band.is_empty() {
            chart.key_of_band("band found", "where it lies, with 95 % probability");
        }
        if !self.book.is_empty() {
            chart.key_of_line("line book", "the book's");
        }
        if !self.read.is_empty() {
            let marks = [(Mark::Rising, true), (Mark::Falling, true), (Mark::Square, true)];
            chart.key_of_marks(&marks, "read: speed rising, falling, held");
        }
    }
}

/// A found curve between the ends of what was read, with its bends.
pub fn between(found: &Curve, (low, high): (f64, f64)) -> Vec<[f64; 2]> {
    let bends = found.breakpoints().iter().map(|point| point[0]).filter(|x| (low..=high).contains(x));
    std::iter::once(low).chain(bends).chain([high]).map(|x| [x, found.at(x)]).collect()
}

/// Its band there.
pub fn band_between((low, high): (f64, f64), band_at: impl Fn(f64) -> Band) -> Vec<(f64, Band)> {
    let at = |step: u32| low + (high - low) * f64::from(step) / f64::from(STEPS);
    (0..=STEPS).map(|step| (at(step), band_at(at(step)))).collect()
}

/// A curve without ranges as rows of a table; `place` says where on the axis.
pub fn rows_of(curve: &str, points: &[[f64; 2]], place: impl Fn(f64) -> String) -> Vec<Vec<String>> {
    points.iter().map(|[x, y]| vec![curve.to_owned(), place(*x), fixed(*y, 1), "-".to_owned()]).collect()
}

/// How a reading is marked.
pub fn mark_of(reading: &Reading) -> Mark {
    match reading.speed_was {
        SpeedWas::Rising => Mark::Rising,
        SpeedWas::Falling => Mark::Falling,
        SpeedWas::Steady => Mark::Square,
    }
}
