//! Figures that look as if they stood under another column's name: questions, never verdicts.

use super::specification::middle;
use super::{FitResult, VacuumOutcome};
use crate::distributor::readings::Readings;
use crate::quantity::units::KPA_PER_INHG;
use crate::sheet::Specification;
use crate::words::number::whole;

/// Few engines run slower, crank rpm. Common practice, no source.
const SLOWEST_IDLE: f64 = 400.0;
/// Few engines idle faster, crank rpm. Common practice, no source.
const FASTEST_IDLE: f64 = 1300.0;
/// Centrifugal advance is "from a few degrees up to 42", crank degrees (U.S. Army TM 10-3930-623-12, par. 4-21).
const MOST_CENTRIFUGAL: f64 = 42.0;
/// Half or twice a figure, to within a fifth.
const NEAR_HALF: std::ops::RangeInclusive<f64> = 0.4..=0.6;
/// Few vacuum units are all in below so many kPa. Common practice, no source.
const SOONEST_FULL: f64 = 5.0 * KPA_PER_INHG;

/// What the sheet says that a figure can be held against.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Asked {
    /// The idle, crank rpm.
    pub idle: Option<f64>,
}

/// Each asks whether a column holds what its name says, and says what to do if not.
pub fn questions(readings: &Readings, fit: &FitResult, specification: &Specification, asked: Asked) -> Vec<String> {
    let mut questions = Vec::new();
    questions.extend(speed(readings, fit, asked));
    questions.extend(angle(readings, fit, specification));
    questions.extend(vacuum(readings, fit));
    questions
}

fn speed(readings: &Readings, fit: &FitResult, asked: Asked) -> Option<String> {
    let lowest = fit.lowest.speed;
    let half_of_idle = asked.idle.is_some_and(|idle| NEAR_HALF.contains(&(lowest / idle)));
    let twice_the_idle = asked.idle.is_some_and(|idle| NEAR_HALF.contains(&(idle / lowest)));
    match readings.columns.speed {
        "crank_rpm" if lowest < SLOWEST_IDLE || half_of_idle => Some(format!(
            "The lowest speed is {lowest} crank rpm: is it the distributor's? A distributor turns at half the crank's speed. \
             If the tachometer or test stand showed the distributor, name the column `distributor_rpm` and fit again.",
            lowest = whole(lowest)
        )),
        "distributor_rpm" if lowest > FASTEST_IDLE || twice_the_idle => Some(format!(
            "The lowest speed is {} distributor rpm, that is {lowest} crank rpm: is it the crank's? If the tachometer showed \
             the crank, name the column `crank_rpm` and fit again.",
            whole(lowest / 2.0),
            lowest = whole(lowest)
        )),
        _ => None,
    }
}

fn angle(readings: &Readings, fit: &FitResult, specification: &Specification) -> Option<String> {
    let greatest = fit.centrifugal_at(fit.highest.speed).value;
    let book = middle(&specification.centrifugal).map(|book| book.at(fit.highest.speed));
    let half_of_the_book = book.is_some_and(|book| NEAR_HALF.contains(&(greatest / book)));
    let twice_the_book = book.is_some_and(|book| NEAR_HALF.contains(&(book / greatest)));
    match readings.columns.angle {
        "crank_degrees" if half_of_the_book => Some(format!(
            "The centrifugal advance comes to {greatest:.1} crank degrees, about half of the book's {:.1}: are these distributor \
             degrees? If a test stand showed them, name the column `distributor_degrees` and fit again; and look whether \
             `[specified.centrifugal]` has the unit that the book uses.",
            book.unwrap_or(0.0)
        )),
        "distributor_degrees" if greatest > MOST_CENTRIFUGAL || twice_the_book => Some(format!(
            "The centrifugal advance comes to {greatest:.1} crank degrees, {:.1} of the distributor: are these crank degrees? If \
             they were read at the pulley, name the column `crank_degrees` and fit again.",
            greatest / 2.0
        )),
        _ => None,
    }
}

fn vacuum(readings: &Readings, fit: &FitResult) -> Option<String> {
    let VacuumOutcome::Fitted(unit) = &fit.vacuum else { return None };
    let full = unit.full.value;
    (readings.columns.vacuum == Some("vacuum_kPa") && unit.read_kpa.1 < 8.0 * KPA_PER_INHG && full < SOONEST_FULL).then(|| {
        format!(
            "The vacuum unit is all in at {full:.1} kPa depression, which is {:.1} inHg and very little: did the gauge show inHg? If \
             so, name the column `vacuum_inHg` and fit again.",
            full / KPA_PER_INHG
        )
    })
}
