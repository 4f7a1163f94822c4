//! The vacuum curve: one ramp, from the hose-on readings less the hose-off curve at their speeds, draw by draw.

use rand::RngExt;
use rand_chacha::ChaCha8Rng;

use super::curve::Curve;
use super::design::Points;
use super::draws::{Draw, draw};
use super::grid::{coarse, evaluate, heavy_cells};
use super::leak::Repeats;
use super::least_squares::least_squares;
use super::meter::{ByMeter, on_the_true_scale};
use super::misread::{Misread, Suspect};
use super::node::Marginal;
use super::prior::Prior;
use super::summary::{Estimate, interval, share};
use super::{Band, DRAWS, direction};
use crate::distributor::readings::Reading;
use crate::quantity::Accuracy;

/// 1 kPa of depression counts as so many crank rpm on the grid: the narrowest ramp is 4 kPa, the end cells are 6 kPa.
const RPM_PER_KPA: f64 = 50.0;
/// Fewest readings with the hose on for a curve.
const FEWEST_READINGS: usize = 5;
/// The least range of depressions for a curve, kPa: twice the narrowest ramp.
const NARROWEST_SURVEY_KPA: f64 = 8.0;
/// Cells to a knot. A cell is far below what ten readings tell of a knot, so one pass is enough.
const CELLS: u16 = 40;
/// An end this near to the highest depression read may as well lie beyond it, kPa.
const NEAR_END_KPA: f64 = 2.0;
/// Before a reading is seen, the odds that readings with the hose on have a scatter of their own.
const ODDS_OF_OWN_SCATTER: f64 = 0.25;
/// So many hose-off curves are taken away, and the same number of vacuum curves drawn for each.
const HOSE_OFF_CURVES: usize = 200;

/// What the hose-on readings say.
#[derive(Debug, Clone)]
pub enum VacuumOutcome {
    /// There are none.
    NotRead,
    /// There are too few, or they lie too close together, for a curve.
    TooFew {
        /// How many there are.
        readings: usize,
    },
    /// A curve.
    Fitted(Box<VacuumFit>),
}

/// The vacuum curve with its uncertainty.
#[derive(Debug, Clone)]
pub struct VacuumFit {
    /// Hose-on readings used.
    pub readings: usize,
    /// Depression at which the advance starts, kPa, as the gauge shows it when a reading is taken: the unit's own where it holds; where it
    /// leaks between pumping and reading, that of the best ramp through what it gives on average at what the gauge shows. Where the gauge's accuracy is stated, its interval allows for that as well.
    pub start: Estimate,
    /// Depression at which it is all in, kPa, likewise.
    pub full: Estimate,
    /// What the intervals of `start` and `full` are made of; none where the gauge's accuracy is not stated.
    pub by_gauge: Option<[ByMeter; 2]>,
    /// The whole vacuum advance, crank degrees: the level above `full` less that below `start`.
    pub greatest: Estimate,
    /// The level below `start`, crank degrees above the hose-off curve: about 0 where the readings agree.
    pub rest: Estimate,
    /// Standard deviation of a hose-on reading, crank degrees.
    pub scatter: Estimate,
    /// The reading most likely misread, where its probability is above one half.
    pub misread: Option<Misread>,
    /// Vacuum advance over depression in kPa, from 0 to `greatest`, crank degrees.
    pub found: Curve,
    /// Readings one after another at one depression, where there are enough of them; if they fall, the unit leaks, and only the first
    /// of them is in the curve.
    pub repeats: Option<Repeats>,
    /// Whether the unit held its vacuum at a pump, where somebody looked.
    pub held_at_the_pump: Option<bool>,
    /// The lowest and the highest depression that was read, kPa.
    pub read_kpa: (f64, f64),
    /// Over true depressions, as far as they are known.
    pub(super) draws: Vec<Draw>,
    /// Whether it is probably not all in at the highest depression read.
    ends_beyond: bool,
}

impl VacuumFit {
    /// Whether the unit is known to leak, by a pump or by what was read.
    pub fn leaks(&self) -> bool {
        self.held_at_the_pump == Some(false) || self.repeats.is_some_and(|repeats| repeats.falls())
    }

    /// Whether the unit is probably not all in at the highest depression read.
    pub fn ends_beyond(&self) -> bool {
        self.ends_beyond
    }

    /// What a draw gains from the lowest to the highest depression read, crank degrees.
    pub(super) fn gained(&self, draw: &Draw) -> f64 {
        let (low, high) = self.read_kpa;
        draw.curve.at(high * RPM_PER_KPA) - draw.curve.at(low * RPM_PER_KPA)
    }

    /// What the found curve gains likewise.
    pub(super) fn found_gain(&self) -> f64 {
        self.found.at(self.read_kpa.1) - self.found.at(self.read_kpa.0)
    }

    /// The depression at which a draw starts, kPa.
    pub(super) fn start_of(draw: &Draw) -> f64 {
        depression_of(draw, 0)
    }

    /// The 95 % band of the vacuum advance at a depression in kPa, crank degrees, above the level below `start`.
    pub fn band_at(&self, depression_kpa: f64) -> Band {
        let x = depression_kpa * RPM_PER_KPA;
        let advance = |draw: &Draw| draw.curve.at(x) - draw.ramps.breakpoints()[0][1];
        let mut values: Vec<f64> = self.draws.iter().map(advance).collect();
        let (low, high) = interval(&mut values);
        Band { low, mid: self.found.at(depression_kpa), high }
    }
}

/// What is known of the curve without vacuum.
pub(super) struct HoseOff<'a> {
    pub(super) draws: &'a [Draw],
    pub(super) found: &'a Draw,
    /// Whether the unit held at a pump, where somebody looked.
    pub(super) unit_holds: Option<bool>,
    /// How many readings it rests on.
    pub(super) readings: usize,
    /// The part of itself by which a speed scatters.
    pub(super) speed_scatter: f64,
    /// By how much the gauge may be out, kPa, where that is stated.
    pub(super) gauge: Option<Accuracy>,
}

/// Fits `on`, the hose-on readings with their indices, given the curve without vacuum.
pub(super) fn fit_vacuum(on: &[(usize, &Reading)], hose_off: &HoseOff, rng: &mut ChaCha8Rng) -> VacuumOutcome {
    if on.is_empty() {
        return VacuumOutcome::NotRead;
    }
    // One figure for all draws, so that they differ by their curves alone.
    let scatter = Estimate::median(hose_off.draws.iter().map(|draw| draw.scatter)).value;
    let repeats = Repeats::of(on, scatter);
    let leaks = repeats.filter(Repeats::falls);
    let held = |reading: &Reading| leaks.is_none_or(|leak| !leak.is_after_the_first(reading));
    let on: Vec<_> = on.iter().copied().filter(|(_, reading)| held(reading)).collect();
    let on = on.as_slice();
    let above = |curve: &Draw| above(on, curve, hose_off.speed_scatter, scatter);
    let (low, high) = above(hose_off.found).range();
    if on.len() < FEWEST_READINGS || high - low < NARROWEST_SURVEY_KPA * RPM_PER_KPA {
        return VacuumOutcome::TooFew { readings: on.len() };
    }
    let draws = draw_by_draw(above, hose_off, scatter, rng);
    let suspect = Suspect::most_likely(&draws, on.len());
    let left_out = suspect.as_ref().and_then(Suspect::left_out);
    let points = above(hose_off.found).without(left_out);
    let Some(found) = least_squares::<2, 2>(&points, CELLS) else {
        return VacuumOutcome::TooFew { readings: on.len() };
    };
    let expected = |reading: &Reading| {
        hose_off.found.at(reading.crank_rpm, direction(reading.speed_was)) + found.curve.at(scaled_depression(reading))
    };
    let misread = suspect.map(|suspect| suspect.against(on, expected));
    let [start, full] = [0, 1].map(|knot| found.curve.breakpoints()[knot]);
    let place = |found: [f64; 2], index: usize, draws: &[Draw]| {
        Estimate::about(found[0] / RPM_PER_KPA, draws.iter().map(|draw| depression_of(draw, index)))
    };
    let both = |draws: &[Draw]| [place(start, 0, draws), place(full, 1, draws)];
    let as_shown = both(&draws);
    let beyond = |draw: &Draw| depression_of(draw, 1) > high / RPM_PER_KPA - NEAR_END_KPA;
    let ends_beyond = share(&draws, beyond) > 0.5;
    let draws = match hose_off.gauge {
        Some(gauge) => on_the_true_scale(&draws, Accuracy { besides: gauge.besides * RPM_PER_KPA, ..gauge }, rng),
        None => draws,
    };
    let [at_start, at_full] = both(&draws);
    let level = |index: usize| draws.iter().map(move |draw| draw.ramps.breakpoints()[index][1]);
    VacuumOutcome::Fitted(Box::new(VacuumFit {
        readings: on.len(),
        start: at_start,
        full: at_full,
        by_gauge: hose_off.gauge.map(|gauge| as_shown.map(|shown| ByMeter::new(shown, gauge))),
        greatest: Estimate::about(full[1] - start[1], level(1).zip(level(0)).map(|(full, rest)| full - rest)),
        rest: Estimate::about(start[1], level(0)),
        scatter: Estimate::median(draws.iter().map(|draw| draw.scatter)),
        misread,
        repeats,
        held_at_the_pump: hose_off.unit_holds,
        read_kpa: (low / RPM_PER_KPA, high / RPM_PER_KPA),
        found: Curve::new(&[start[0] / RPM_PER_KPA, full[0] / RPM_PER_KPA], &[0.0, full[1] - start[1]]),
        draws,
        ends_beyond,
    }))
}

/// For each hose-off curve its vacuum curves, some of a scatter as with the hose off and some of one of its own, as either explains
/// the readings.
fn draw_by_draw(above: impl Fn(&Draw) -> Points, hose_off: &HoseOff, scatter: f64, rng: &mut ChaCha8Rng) -> Vec<Draw> {
    let points = above(hose_off.found);
    let range = points.range();
    let priors = [Prior::of_vacuum(scatter, hose_off.readings), Prior::of_vacuum_otherwise(scatter)];
    let looked = priors.map(|prior| {
        let grid = evaluate(&Marginal::<2, 2>::new(&points, prior), coarse(range, CELLS), range);
        (prior, heavy_cells(&grid, grid.heaviest()), grid.log_evidence)
    });
    let own = (1.0 + (looked[0].2 - looked[1].2).exp() / ODDS_OF_OWN_SCATTER).recip();
    let mut draws = Vec::with_capacity(DRAWS);
    for curve in hose_off.draws.iter().step_by((hose_off.draws.len() / HOSE_OFF_CURVES).max(1)) {
        let points = above(curve);
        let count = DRAWS / HOSE_OFF_CURVES;
        let of_its_own = (0..count).filter(|_| rng.random::<f64>() < own).count();
        for ((prior, cells, _), count) in looked.iter().zip([count - of_its_own, of_its_own]).filter(|part| part.1 > 0)
        {
            let marginal = Marginal::<2, 2>::new(&points, *prior);
            let grid = evaluate(&marginal, cells.clone(), range);
            draws.extend(draw(&marginal, &grid, count, rng));
        }
    }
    draws
}

/// The readings less a hose-off curve, which a speed that scatters moves besides.
fn above(on: &[(usize, &Reading)], hose_off: &Draw, speed_scatter: f64, scatter: f64) -> Points {
    let points = Points::about(
        0.0,
        on.iter().map(|(_, reading)| {
            let without_vacuum = hose_off.at(reading.crank_rpm, direction(reading.speed_was));
            (scaled_depression(reading), 0.0, reading.crank_degrees - without_vacuum)
        }),
    );
    let moved = |reading: &Reading| (hose_off.moved_by(reading.crank_rpm, speed_scatter) / scatter).powi(2);
    points.scattering_besides(on.iter().map(|(_, reading)| moved(reading)))
}

/// The depression at a breakpoint, kPa.
fn depression_of(draw: &Draw, breakpoint: usize) -> f64 {
    draw.ramps.breakpoints()[breakpoint][0] / RPM_PER_KPA
}

fn scaled_depression(reading: &Reading) -> f64 {
    reading.depression_kpa.unwrap_or(0.0) * RPM_PER_KPA
}
