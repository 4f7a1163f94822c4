//! How the chosen curve lies to the readings: wear must not be copied unseen, nor a curve departed from unsaid.
//!
//! The band of a fit holds with 95 % at one place; a true curve leaves it somewhere, by a little, in far more surveys than
//! five in a hundred. So a departure is said only where it passes the band by more than one reading scatters.

use crate::distributor::fit::{Band, FitResult, VacuumOutcome, middle};
use crate::quantity::of_core::{crank_degrees, depression, speed};
use crate::sheet::Specification;
use crate::words::number::{fixed, whole};
use bobweight::{AdvanceModel, Phase};

/// Speeds and depressions at which the curves are compared.
const STEPS: u32 = 200;
/// Where the chosen curve lies furthest outside the 95 % band of the readings.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Departure {
    /// Crank rpm, or kPa depression.
    pub at: f64,
    /// The chosen advance there, crank degrees.
    pub chosen_crank_degrees: f64,
    /// What the readings leave open there.
    pub band: Band,
}

impl Departure {
    /// Crank degrees beyond the band; positive where the chosen curve is early.
    pub fn beyond_crank_degrees(&self) -> f64 {
        if self.chosen_crank_degrees > self.band.high {
            self.chosen_crank_degrees - self.band.high
        } else {
            (self.chosen_crank_degrees - self.band.low).min(0.0)
        }
    }
}

/// One sentence for the curve without vacuum, and one for the vacuum curve where both engine and readings have one. A curve that is
/// the book's was chosen so, and where the readings differ it is said to be so as it was chosen.
pub fn departure_in_words(model: &AdvanceModel, fit: &FitResult, book: &Specification) -> Vec<String> {
    let (low, high) = (fit.lowest.speed, fit.highest.speed);
    let mut sentences = vec![sentence(
        "the chosen curve without vacuum",
        &format!("from {low} to {high} crank rpm", low = whole(low), high = whole(high)),
        "crank rpm",
        0,
        is_the_book_s(model, book),
        hose_off(model, fit),
    )];
    if let Some(departure) = vacuum(model, fit) {
        sentences.push(sentence(
            "the chosen vacuum curve",
            "wherever it changes",
            "kPa depression",
            1,
            is_the_book_s_vacuum(model, book),
            departure,
        ));
    }
    sentences
}

/// Whether the chosen curve departs from the readings anywhere.
pub fn departs(model: &AdvanceModel, fit: &FitResult) -> bool {
    hose_off(model, fit).or(vacuum(model, fit).flatten()).is_some()
}

/// The furthest departure of initial + centrifugal advance over the speeds of the survey; none where it keeps to the band.
pub fn hose_off(model: &AdvanceModel, fit: &FitResult) -> Option<Departure> {
    furthest(fit.lowest.speed, fit.highest.speed, fit.scatter.value, |crank_rpm| {
        let breakdown = model.advance(Phase::Running, speed(crank_rpm), None, false)?;
        Some((crank_degrees(breakdown.initial) + crank_degrees(breakdown.centrifugal), fit.band_at(crank_rpm)))
    })
}

/// Likewise of the vacuum advance, between the ends of what the readings leave open; nothing where one has no such curve.
#[expect(clippy::option_option, reason = "nothing to compare is not the same as no departure")]
pub fn vacuum(model: &AdvanceModel, fit: &FitResult) -> Option<Option<Departure>> {
    let VacuumOutcome::Fitted(found) = &fit.vacuum else { return None };
    model.settings().vacuum.as_ref()?;
    Some(furthest(found.start.low, found.full.high, found.scatter.value, |kpa| {
        let advance = model.vacuum_advance(Some(depression(kpa)), false);
        Some((crank_degrees(advance), found.band_at(kpa)))
    }))
}

fn furthest(from: f64, to: f64, least: f64, at: impl Fn(f64) -> Option<(f64, Band)>) -> Option<Departure> {
    (0..=STEPS)
        .map(|step| from + (to - from) * f64::from(step) / f64::from(STEPS))
        .filter_map(|x| at(x).map(|(chosen_crank_degrees, band)| Departure { at: x, chosen_crank_degrees, band }))
        .filter(|departure| departure.beyond_crank_degrees().abs() > least)
        .max_by(|a, b| a.beyond_crank_degrees().abs().total_cmp(&b.beyond_crank_degrees().abs()))
}

/// A chosen curve is the book's where it lies nowhere further from its figures, crank degrees. What the core rounds is far less.
const AS_IN_THE_BOOK: f64 = 0.1;

/// Whether initial and centrifugal advance are chosen as the book has them; a book that gives no initial timing leaves it free.
fn is_the_book_s(model: &AdvanceModel, book: &Specification) -> bool {
    let Some(centrifugal) = middle(&book.centrifugal) else { return false };
    let near = |crank_rpm: f64| {
        let breakdown = model.advance(Phase::Running, speed(crank_rpm), None, false)?;
        let initial =
            book.initial.is_none_or(|initial| (crank_degrees(breakdown.initial) - initial).abs() < AS_IN_THE_BOOK);
        let rise = crank_degrees(breakdown.centrifugal) - centrifugal.at(crank_rpm);
        Some(initial && rise.abs() < AS_IN_THE_BOOK)
    };
    // A speed without a spark tells nothing.
    centrifugal.breakpoints().iter().filter_map(|breakpoint| near(breakpoint[0])).all(|near| near)
}

fn is_the_book_s_vacuum(model: &AdvanceModel, book: &Specification) -> bool {
    let Some(vacuum) = middle(&book.vacuum) else { return false };
    vacuum.breakpoints().iter().all(|&[kpa, advance]| {
        let chosen = crank_degrees(model.vacuum_advance(Some(depression(kpa)), false));
        (chosen - advance).abs() < AS_IN_THE_BOOK
    })
}

fn sentence(
    curve: &str,
    range: &str,
    unit: &str,
    places: usize,
    from_the_book: bool,
    departure: Option<Departure>,
) -> String {
    let Some(departure) = departure else {
        return format!("{curve} agrees with the readings within their uncertainty, {range}");
    };
    let beyond = departure.beyond_crank_degrees();
    let departs = if from_the_book {
        "is the book's, as you chose, and not what was read"
    } else {
        "departs from the readings beyond their uncertainty"
    };
    format!(
        "{curve} {departs}: at {} {unit} it is {:.1} crank degrees, {:.1} \
         {} than the readings' {:.1} to {:.1}",
        fixed(departure.at, places),
        departure.chosen_crank_degrees,
        beyond.abs(),
        if beyond > 0.0 { "earlier" } else { "later" },
        departure.band.low,
        departure.band.high,
    )
}

mod source;
#[cfg(test)]
mod tests;

pub use source::{NoSource, curve_source};
