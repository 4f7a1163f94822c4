//! Readings to a curve with its uncertainty.
//!
//! Given its knots a piecewise linear curve is linear in its levels, so the whole posterior is had on a grid of knots,
//! exactly and without iteration: normal levels, inverse gamma scatter, one misread at most, one ramp or two. Draws from
//! it give every interval and probability; the curve that is reported is that of least squares.

mod corners;
mod curve;
mod design;
mod draws;
mod error;
mod grid;
mod leak;
mod least_squares;
mod meter;
mod misread;
mod next;
mod node;
mod posterior;
mod prior;
mod questions;
mod ramps;
mod record;
mod result;
mod sentences;
mod shape;
mod specification;
mod summary;
#[cfg(test)]
mod tests;
mod vacuum;
mod wear;

pub use curve::Curve;
pub use error::FitError;
pub use meter::ByMeter;
pub use misread::Misread;
pub use questions::{Asked, questions};

pub(crate) use result::SETTLED_READINGS;
pub use result::{Band, EndOfSurvey, FitResult, Unsettled};
pub use sentences::sentences;
pub use specification::middle;
pub use summary::Estimate;
pub use vacuum::{VacuumFit, VacuumOutcome};
pub use wear::{Finding, wear};

use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;

use crate::distributor::readings::{Hose, Reading, Readings, SpeedWas};
use design::Points;
use draws::Draw;
use least_squares::least_squares;
use misread::Suspect;
use posterior::{Posterior, posterior, prior_of, ramps};
use prior::Prior;
use result::AsDrawn;

/// Independent draws from the posterior.
const DRAWS: usize = 2000;
/// Cells to a knot of the grid that the search for the least squares starts from.
const SEARCH_CELLS: u16 = 40;
/// Fewest hose-off readings for any curve: as many as one ramp has numbers, and one to spare.
pub(crate) const FEWEST_READINGS: usize = 6;
/// Most readings with the hose off, and most with it on.
pub(crate) const MOST_READINGS: usize = 500;
/// The least range of speeds for any curve, crank rpm: two ramps of the narrowest.
pub(crate) const NARROWEST_SURVEY: f64 = 2.0 * grid::NARROWEST;
/// The scatters that a reading may have, crank degrees.
const SCATTERS: std::ops::RangeInclusive<f64> = 0.05..=5.0;
/// What a reading by eye scatters by where nobody says anything, crank degrees.
pub(crate) const SCATTER_BY_EYE: f64 = 0.5;

/// What the user may say beside the readings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FitOptions {
    /// Expected standard deviation of a reading, crank degrees, 0.05 to 5; worth 6 readings, or 2 where the readings scatter otherwise. What the readings state, or 0.5,
    /// where there is none.
    pub scatter: Option<f64>,
    /// Seed of the draws: the same readings, options and seed give the same result.
    pub seed: u64,
}

impl Default for FitOptions {
    fn default() -> Self {
        Self { scatter: None, seed: 1 }
    }
}

/// Fits the readings: initial timing, centrifugal advance by one ramp or two, vacuum advance by one.
///
/// # Errors
/// Too few hose-off readings, or too narrow a range of speeds, for any curve; a scatter out of range.
pub fn fit(readings: &Readings, options: &FitOptions) -> Result<FitResult, FitError> {
    let off = with_hose(readings, Hose::Off);
    let points = points_of(&off);
    let scatter = options.scatter.or(readings.angle_scatter).unwrap_or(SCATTER_BY_EYE);
    refuse(&readings.name, &points, scatter)?;
    for (found, hose) in [(off.len(), "off"), (readings.hose_on().count(), "on")] {
        if found > MOST_READINGS {
            return Err(FitError::TooManyReadings { name: readings.name.clone(), found, hose });
        }
    }
    let mut rng = ChaCha8Rng::seed_from_u64(options.seed);
    let points = if readings.speed_scatter > 0.0 {
        let draws = posterior(&points, prior_of(&points, scatter), &mut rng).draws;
        scattering_with_the_speed(points, &draws, readings.speed_scatter, scatter)
    } else {
        points
    };
    let prior = prior_of(&points, scatter);
    let (points, taken_out, posterior) = without_a_certain_misread(points, prior, &mut rng);
    let Posterior { draws, odds_of_two_ramps, sharp, .. } = posterior;
    let considered: Vec<_> =
        off.iter().enumerate().filter(|&(place, _)| Some(place) != taken_out).map(|(_, &reading)| reading).collect();
    let ramps = ramps(odds_of_two_ramps);
    let suspect = Suspect::most_likely(&draws, considered.len());
    let left_out = suspect.as_ref().and_then(Suspect::left_out);
    let kept = points.without(left_out);
    let found = if ramps == 1 {
        least_squares::<2, 3>(&kept, SEARCH_CELLS)
    } else {
        least_squares::<3, 4>(&kept, SEARCH_CELLS)
    };
    let found = found.ok_or_else(|| narrow(&readings.name, &kept))?;
    let found_as_draw = found.as_draw();
    let hose_off = vacuum::HoseOff {
        draws: &draws,
        found: &found_as_draw,
        unit_holds: readings.unit_holds,
        readings: points.len(),
        speed_scatter: readings.speed_scatter,
        gauge: readings.gauge_accuracy,
    };
    let vacuum = vacuum::fit_vacuum(&with_hose(readings, Hose::On), &hose_off, &mut rng);
    let expected = |reading: &Reading| found_as_draw.at(reading.crank_rpm, direction(reading.speed_was));
    let suspect = suspect.map(|suspect| suspect.against(&considered, expected));
    let certain = taken_out.map(|place| Suspect::certain(place).against(&off, expected));
    let draws = AsDrawn::new(draws, readings.tachometer_accuracy, &mut rng);
    let misreads = if certain.is_some() { [certain, suspect] } else { [suspect, None] };
    Ok(result::assemble(&kept, found, draws, (odds_of_two_ramps, sharp), misreads, vacuum))
}

/// The model takes one reading at most for a misread. Where the readings without one of them, and at most one more left out, are by
/// far likelier than that, it is taken out for good, and the model looks for the second.
fn without_a_certain_misread(points: Points, prior: Prior, rng: &mut ChaCha8Rng) -> (Points, Option<usize>, Posterior) {
    /// Log of the odds at which a reading is taken out: as sure as a misread is that is named.
    const CERTAIN: f64 = 3.0;
    let first = posterior(&points, prior, rng);
    let Some(place) = Suspect::place_left_out_most(&first.draws, points.len()) else { return (points, None, first) };
    let without = points.without(Some(place));
    let second = posterior(&without, prior, rng);
    let log_evidence =
        second.log_evidence - Prior::misread_cost(points.len()) + without.log_weights() - points.log_weights();
    if log_evidence > first.log_evidence + CERTAIN { (without, Some(place), second) } else { (points, None, first) }
}

/// A speed that scatters moves the angle by the curve's slope, so that readings on a ramp scatter more than those on a flat. How
/// much more is told by the draws of a fit that knew nothing of it.
#[expect(clippy::cast_precision_loss, reason = "a few thousand draws")]
fn scattering_with_the_speed(points: Points, draws: &[Draw], speed_scatter: f64, scatter: f64) -> Points {
    let variance = |&crank_rpm: &f64| {
        let squares: f64 = draws.iter().map(|draw| draw.moved_by(crank_rpm, speed_scatter).powi(2)).sum();
        squares / draws.len() as f64 / (scatter * scatter)
    };
    let variances: Vec<f64> = points.x.iter().map(variance).collect();
    points.scattering_besides(variances.into_iter())
}

fn refuse(name: &str, points: &Points, scatter: f64) -> Result<(), FitError> {
    if !SCATTERS.contains(&scatter) {
        return Err(FitError::Scatter(scatter));
    }
    if points.len() < FEWEST_READINGS {
        return Err(FitError::TooFewReadings { name: name.to_owned(), found: points.len() });
    }
    let (low, high) = points.range();
    if high - low < NARROWEST_SURVEY { Err(narrow(name, points)) } else { Ok(()) }
}

fn narrow(name: &str, points: &Points) -> FitError {
    let (low, high) = points.range();
    FitError::NarrowRange { name: name.to_owned(), low, high }
}

/// The readings with the hose so, each with its place in the file.
fn with_hose(readings: &Readings, hose: Hose) -> Vec<(usize, &Reading)> {
    readings.readings.iter().enumerate().filter(|(_, reading)| reading.hose == hose).collect()
}

fn points_of(readings: &[(usize, &Reading)]) -> Points {
    let point = |reading: &Reading| (reading.crank_rpm, direction(reading.speed_was), reading.crank_degrees);
    let points: Vec<_> = readings.iter().map(|(_, reading)| point(reading)).collect();
    Points::about_median(&points)
}

/// +1 rising, -1 falling, 0 steady.
fn direction(speed_was: SpeedWas) -> f64 {
    match speed_was {
        SpeedWas::Rising => 1.0,
        SpeedWas::Falling => -1.0,
        SpeedWas::Steady => 0.0,
    }
}
