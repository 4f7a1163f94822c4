//! A vacuum unit that does not hold, seen in readings one after another at one depression.
//!
//! It is looked for before the vacuum curve is drawn: while a unit leaks, the gauge tells what was pumped and not what the unit had.

use crate::distributor::readings::Reading;

/// Fewest readings one after another at one depression that can show a leak.
const FEWEST_REPEATS: usize = 4;
/// Readings this near are at one depression and speed, kPa and crank rpm.
const SAME: (f64, f64) = (0.5, 100.0);
/// Leak: the fall over its standard uncertainty.
pub(super) const LEAKS: f64 = 3.0;
/// A smaller fall over the repeats does not matter, crank degrees.
const LEAK_MATTERS: f64 = 1.0;

/// Readings one after another at one depression.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Repeats {
    /// Line of the first.
    pub first_line: usize,
    /// Line of the last.
    pub last_line: usize,
    /// By how much the advance falls from the first to the last, crank degrees.
    pub fall: f64,
    /// That over its standard uncertainty.
    pub ratio: f64,
}

impl Repeats {
    /// Whether the unit does not hold.
    pub fn falls(&self) -> bool {
        self.ratio > LEAKS && self.fall >= LEAK_MATTERS
    }

    /// The one among the readings with the hose on that falls most surely; `scatter` is that of the light, crank degrees.
    pub(super) fn of(on: &[(usize, &Reading)], scatter: f64) -> Option<Self> {
        let kpa = |reading: &Reading| reading.depression_kpa.unwrap_or(0.0);
        let same = |a: &(usize, &Reading), b: &(usize, &Reading)| {
            (kpa(a.1) - kpa(b.1)).abs() <= SAME.0 && (a.1.crank_rpm - b.1.crank_rpm).abs() <= SAME.1
        };
        let runs = on.chunk_by(same).filter(|run| run.len() >= FEWEST_REPEATS);
        runs.map(|run| Self::over(run, scatter)).max_by(|a, b| a.ratio.total_cmp(&b.ratio))
    }

    #[expect(clippy::cast_precision_loss, reason = "a survey has far fewer than 2^52 readings")]
    fn over(run: &[(usize, &Reading)], scatter: f64) -> Self {
        let count = run.len() as f64;
        let middle = (count - 1.0) / 2.0;
        let places = (0..run.len()).map(|place| place as f64 - middle);
        let squares: f64 = places.clone().map(|place| place * place).sum();
        let mean = run.iter().map(|(_, reading)| reading.crank_degrees).sum::<f64>() / count;
        let slope =
            places.clone().zip(run).map(|(place, (_, reading))| place * reading.crank_degrees).sum::<f64>() / squares;
        let left = |(place, (_, reading)): (f64, &(usize, &Reading))| reading.crank_degrees - mean - slope * place;
        let own = (places.zip(run).map(|pair| left(pair).powi(2)).sum::<f64>() / (count - 2.0)).sqrt();
        // With the hose on a reading may scatter more than without, but hardly less.
        let uncertainty = scatter.max(own) / squares.sqrt();
        Self {
            first_line: run[0].1.line,
            last_line: run[run.len() - 1].1.line,
            fall: -slope * (count - 1.0),
            ratio: -slope / uncertainty,
        }
    }

    /// Whether a reading was taken after the first of them, when the depression was no longer what the gauge had shown.
    pub(super) fn is_after_the_first(&self, reading: &Reading) -> bool {
        reading.line > self.first_line && reading.line <= self.last_line
    }
}
