//! Whether an ignition of ours can drive the engine of a sheet. Figures need no driver; orders of sparks do.

use super::{Sheet, SheetError};
use crate::quantity::DRIVEN;

/// Refuses an engine whose ignition is not driven from here.
///
/// # Errors
/// The supply, where it is another than the one that the drive circuits are made for; firing intervals that are uneven. A supply that
/// is missing is none of these.
pub fn driven(sheet: &Sheet) -> Result<(), SheetError> {
    let engine = &sheet.engine;
    if let Some(supply) = engine.supply.value()
        && *supply != DRIVEN
    {
        return Err(engine.supply.place().not_driven(
            format!("is {}, and the drive circuits are made for {} alone", supply.in_words(), DRIVEN.in_words()),
            "is not driven",
            "what needs no driver still answers: `survey`, `fit`, `figures`, `check`, `tape`. To drive the engine, convert it to 12 V \
             with the negative pole on earth, and write that",
        ));
    }
    if let Some(intervals) = engine.uneven_intervals() {
        let each: Vec<String> = intervals.iter().map(|interval| crate::words::number::short(*interval, 1)).collect();
        return Err(engine.firing_intervals_crank_degrees.place().not_driven(
            format!("is {} crank degrees, and the ignition times sparks that come evenly", each.join(" and ")),
            "fires unevenly",
            "what needs no driver still answers: `survey`, `fit`, `figures`, `check`, `tape`. Where the intervals are even in truth, \
             leave `firing_intervals` out",
        ));
    }
    Ok(())
}

#[cfg(test)]
mod tests;
