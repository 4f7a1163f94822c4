//! How far a timing may be tried at all.

use super::log::Log;
use crate::curve::changed::{LATE_SIDE, begin, limit};
use crate::record::trials::{Begin, Heard, Listening, Place, Said};
use crate::sheet::{Sheet, SheetError};
use bobweight::Limit;

/// Nothing is tried again nearer than this to a timing that pinked, crank degrees.
pub const BACK: f64 = 2.0;
/// From this part of the greatest speed on an engine at full throttle is too loud to be heard pinking. Common practice, no source.
const LOUD_PART: f64 = 0.5;
/// From this speed on any is, crank rpm. Common practice, no source.
const LOUD_CRANK_RPM: f64 = 3_000.0;

/// How far a timing may be tried, and why no further.
#[derive(Clone, Debug, PartialEq)]
pub struct Ceiling {
    /// Crank degrees.
    pub crank_degrees: f64,
    /// The sheet's own limit at this place.
    pub limit: f64,
    /// In a few words.
    pub because: String,
    /// Where a first series begins, and why there.
    pub begin: Begin,
    /// Where a series begins now: after pinking it begins later than the ceiling by as much as it takes to see a rise.
    pub first: f64,
    /// Whether silence proves nothing here.
    pub loud: bool,
    /// The latest timing that pinked.
    pub pinking: Option<f64>,
}

/// Whether an engine is too loud here for an ear to hear it pink.
pub fn is_loud(sheet: &Sheet, said: &Said) -> bool {
    let greatest = sheet.engine.greatest_speed_crank_rpm.value().copied();
    let from = greatest.map_or(LOUD_CRANK_RPM, |greatest| LOUD_CRANK_RPM.min(greatest * LOUD_PART));
    said.place == Place::FullThrottle && said.speed_crank_rpm >= from
}

impl Ceiling {
    /// Of a log, by its sheet.
    ///
    /// # Errors
    /// Where curve or limits of the sheet are missing or wrong.
    pub fn of(sheet: &Sheet, log: &Log) -> Result<Self, SheetError> {
        let (limit, begin) = (limit(sheet, log.said.place)?, begin(sheet, &log.said)?);
        let loud = is_loud(sheet, &log.said);
        let pinked = log.trials.iter().filter(|trial| trial.heard == Heard::Pinking);
        let pinking = pinked.map(|trial| trial.crank_degrees).reduce(f64::min);
        let mut ceiling = (limit, "the sheet's limit");
        let mut lower = |to: f64, because| {
            if to < ceiling.0 {
                ceiling = (to, because);
            }
        };
        if loud && log.said.listening == Listening::Ear {
            lower(
                begin.before_crank_degrees,
                "what the engine had before it was changed, for an ear hears no pinking here",
            );
        }
        if let Some(pinking) = pinking {
            lower(pinking - BACK, "2 crank degrees later than where it pinked");
        }
        let (crank_degrees, because) = (ceiling.0, ceiling.1.to_owned());
        let least = *sheet.limits.of(Limit::Least).get()?;
        let first = begin.at_crank_degrees.min((crank_degrees - LATE_SIDE).max(least)).min(crank_degrees);
        Ok(Self { crank_degrees, limit, because, begin, first, loud, pinking })
    }
}
