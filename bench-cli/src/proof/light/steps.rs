//! What comes after the light: hot restart and first drive. Common practice, no source.

use super::sentences::turned;
use crate::record::verdict::Verdict;
use crate::sheet::{Sheet, SheetError};
use bobweight::Limit;

/// The first drive begins with so many crank degrees less than chosen.
const LESS_AT_FIRST: f64 = 4.0;

/// The next steps.
pub(super) fn next_steps(sheet: &Sheet, on_bench: bool, verdict: Verdict) -> Result<Vec<String>, SheetError> {
    Ok(match (verdict, on_bench) {
        (Verdict::Fail, _) => vec!["mend what is named above, and read it again with the light; do not drive".to_owned()],
        (Verdict::Undecided, _) => vec![
            "take more readings at the speeds that are undecided, or give the light's own lag with `--light-lag`; do not drive"
                .to_owned(),
        ],
        (Verdict::Pass, true) => vec!["set it on the engine by `bobweight figures --first-start`, and prove it there with the light".to_owned()],
        (Verdict::Pass, false) => on_the_road(sheet)?,
    })
}

pub(crate) fn on_the_road(sheet: &Sheet) -> Result<Vec<String>, SheetError> {
    let initial = *sheet.advance.initial_crank_degrees.get()?;
    let least = *sheet.limits.of(Limit::Least).get()?;
    let first = (initial - LESS_AT_FIRST).max(least);
    let crossing = sheet.pickup.moving_flank_crank_degrees.value().and(sheet.pickup.angle_crank_degrees.value());
    // A reluctor's spark never comes after its crossing, so the pickup goes later as a whole.
    let set = match crossing {
        Some(&crossing) if first < crossing => {
            format!("Turn the pickup {} beyond its mark, and with it every spark", turned(sheet, LESS_AT_FIRST)?)
        }
        _ => format!("Set `initial` from {initial:.1} to {first:.1} crank degrees, write it"),
    };
    Ok(vec![
        "hot restart: bring the engine to its full heat, switch off, wait ten minutes, and start it. If the starter is thrown \
         back or labours, stop: the cranking advance is too great"
            .to_owned(),
        format!(
            "first drive: from 4 crank degrees less than chosen. {set}, \
             and let the engine pull, gently first, in a high gear and uphill, listening for pinking"
        ),
        format!(
            "where it never pinks, give back 1 crank degree at a time up to {initial:.1} and listen again; where it pinks, ease \
             off at once, take 2 crank degrees out and stay there"
        ),
        "look at the plugs and at the temperature after the first half hour, and read initial timing once more when everything \
         is warm"
            .to_owned(),
    ])
}
