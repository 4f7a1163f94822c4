//! The limits of a sheet's chosen curve, proven over every speed and depression, and what else can move a spark.
//!
//! The proof is the core's own, [`bobweight::AdvanceModel::judge`], and while cranking without a second flank the spark that the
//! crank's uneven turning makes of the order; what stands beside it says what no limit binds: the lag that is made up for, a
//! sensor that sticks, a climb.

mod clamp;
mod climb;
mod cranking;
mod lag;
mod limits;
mod signal;
mod slips;
mod stuck_sensor;
#[cfg(test)]
mod tests;
mod words;

pub use cranking::{ByTimingFlank, after_second_flank};
pub use limits::{broken_limits_in_words, limits_outcome, what_if_outcome};

use crate::curve::sparks;
use crate::record::check::{CheckResult, SCHEMA};
use crate::record::sheet::SheetIdentity;
use crate::record::sparks::SparksResult;
use crate::sheet::{self, Settings, Sheet, SheetError};

/// Proves the limits of a sheet.
///
/// The proof needs the curve and its limits. What needs more, such as a pickup that is not chosen yet, is left out and named.
///
/// # Errors
/// Where curve or limits are missing, and where the sheet is wrong: also where its sparks cannot be timed.
pub fn check(sheet: &Sheet) -> Result<CheckResult, SheetError> {
    let model = sheet::model(sheet)?;
    let mut not_told = Vec::new();
    let settings = told("lag and cranking", Settings::from_sheet(sheet), &mut not_told)?;
    let judgements = model.judge();
    let mut warnings = Vec::from_iter(slips::question(&model));
    let limits = limits::limits(sheet, &model);
    let sparks = match &settings {
        Some(settings) => told("every spark", sparks::sparks(sheet, settings), &mut not_told)?,
        None => None,
    };
    let cranking =
        settings.as_ref().and_then(|settings| cranking::sparks(sheet, settings, sparks.as_ref(), &mut warnings));
    told("the pickup's signal while cranking", signal::too_weak(sheet, &mut warnings), &mut not_told)?;
    let lag = settings.as_ref().map(|settings| lag::made_up(settings, sheet));
    let stuck_sensor = stuck_sensor::added(&model);
    let climb = match &model.settings().vacuum {
        Some(_) => told("the climb", climb::added(sheet, &model, &mut warnings), &mut not_told)?.flatten(),
        None => None,
    };
    Ok(CheckResult {
        schema: SCHEMA.to_owned(),
        tool_version: env!("CARGO_PKG_VERSION").to_owned(),
        sheet: SheetIdentity::of(sheet)?,
        kept: limits.iter().all(|limit| limit.kept) && sparks.as_ref().is_none_or(SparksResult::kept),
        clamp: clamp::acts(&model, &judgements, &limits),
        limits,
        lag,
        cranking,
        sparks,
        stuck_sensor,
        climb,
        warnings,
        not_told,
    })
}

/// What was worked out, or nothing where the sheet does not say enough yet, or the engine has an ignition that is not driven.
fn told<T>(what: &str, made: Result<T, SheetError>, not_told: &mut Vec<String>) -> Result<Option<T>, SheetError> {
    match made {
        Ok(made) => Ok(Some(made)),
        Err(error) if error.is_missing_key() || error.is_not_driven() => {
            not_told.push(format!("{what}: {error}"));
            Ok(None)
        }
        Err(error) => Err(error),
    }
}
