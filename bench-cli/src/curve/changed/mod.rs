//! A curve for an engine that is no longer as its book has it: where trials of its timing begin.
//!
//! Nothing here is a final figure. What a change does to the best timing, and to the timing at which the engine begins to pink,
//! is known by its direction; by how much is common practice. So trials begin late: later than the unchanged engine by what every
//! change may ask for together, and never earlier than the unchanged engine, whatever a change may allow.

mod effects;
#[cfg(test)]
mod tests;

pub use effects::effects;

use crate::quantity::of_core::{crank_degrees, depression, speed};
use crate::record::trials::{Begin, Effect, Place, Said};
use crate::sheet::{self, Recorded, Sheet, SheetError};
use bobweight::{AdvanceModel, AdvanceSettings, Limit, Phase, Vacuum};

/// Trials begin later than the unchanged engine by this at the least, crank degrees: the rise to the best timing has to be seen
/// from its late side. Torque falls by about 1 % at 5 crank degrees from the best (from memory of engine textbooks), so less would
/// show nothing.
pub const LATE_SIDE: f64 = 4.0;
/// Beginnings lie on whole steps of this, crank degrees: nobody sets finer.
const STEP: f64 = 0.5;
/// Where so much is asked for together, crank degrees, the engine is another one. Common practice, no source.
pub const ANOTHER_ENGINE: f64 = 10.0;

/// The greatest advance that a sheet allows at a place, crank degrees.
///
/// # Errors
/// Where a limit is missing.
pub fn limit(sheet: &Sheet, place: Place) -> Result<f64, SheetError> {
    let of = |limit: Limit| sheet.limits.of(limit).get().copied();
    let greatest = of(Limit::Greatest)?;
    Ok(match place {
        Place::PartThrottle => greatest,
        Place::Idle | Place::FullThrottle => greatest.min(of(Limit::GreatestWithoutVacuum)?),
    })
}

/// Where trials begin at a place.
///
/// # Errors
/// Where curve or limits of the sheet are missing or wrong.
pub fn begin(sheet: &Sheet, said: &Said) -> Result<Begin, SheetError> {
    let (before, by_book) = before(sheet, said)?;
    let effects: Vec<Effect> = effects(&sheet.changed).into_iter().filter(|one| one.place == said.place).collect();
    let asked: f64 = effects.iter().map(|effect| effect.begin_later_crank_degrees).sum();
    let later = asked.max(LATE_SIDE);
    let limit = limit(sheet, said.place)?;
    let least = *sheet.limits.of(Limit::Least).get()?;
    let at = ((before.min(limit) - later) / STEP).floor() * STEP;
    Ok(Begin {
        before_crank_degrees: before,
        by_book,
        // Where even the least is above what is allowed, what is allowed counts.
        at_crank_degrees: at.max(least).min(limit).min(before),
        later_crank_degrees: later,
        effects,
    })
}

/// What the engine had before it was changed, and whether a book says so.
fn before(sheet: &Sheet, said: &Said) -> Result<(f64, bool), SheetError> {
    let chosen = sheet::model(sheet)?;
    let by_book = match &sheet.specified {
        Some(book) => of_book(book, chosen.settings(), said.place)?,
        None => None,
    };
    let is_by_book = by_book.is_some();
    let settings = by_book.unwrap_or(*chosen.settings());
    // Which limits it breaks is another matter: the sum alone is asked for.
    let total = AdvanceModel::new(settings).ok().and_then(|model| {
        let depression = (said.place == Place::PartThrottle).then(|| depression(said.depression_kpa));
        model.advance(Phase::Running, speed(said.speed_crank_rpm), depression, said.place == Place::Idle)
    });
    Ok((total.map_or(0.0, |total| crank_degrees(total.total)), is_by_book))
}

/// The settings with a book's curves in the place of the chosen ones; none where the book does not say all that the place needs.
fn of_book(book: &Recorded, chosen: &AdvanceSettings, place: Place) -> Result<Option<AdvanceSettings>, SheetError> {
    let Some(initial) = book.initial_crank_degrees.value() else { return Ok(None) };
    if book.centrifugal.value().is_none() {
        return Ok(None);
    }
    let vacuum = match (&chosen.vacuum, book.vacuum.value()) {
        (Some(vacuum), Some(_)) => Some(Vacuum { curve: sheet::vacuum_curve(&book.vacuum)?, ..*vacuum }),
        (Some(_), None) if place == Place::PartThrottle => return Ok(None),
        (vacuum, _) => *vacuum,
    };
    let Ok(initial) = crate::quantity::of_core::advance(*initial) else { return Ok(None) };
    Ok(Some(AdvanceSettings { initial, centrifugal: sheet::centrifugal(&book.centrifugal)?, vacuum, ..*chosen }))
}
