//! What trials come to, as it is saved.

use super::ceiling::Ceiling;
use super::estimate::{Estimate, estimate};
use super::log::Log;
use super::plan::next;
use super::sentences;
use crate::record::sheet::SheetIdentity;
use crate::record::trials::{Heard, SCHEMA, TrialsResult};
use crate::sheet::{Sheet, SheetError};

/// Judges the trials of a log.
///
/// # Errors
/// Where curve or limits of the sheet are missing or wrong.
pub fn judge(sheet: &Sheet, log: &Log) -> Result<TrialsResult, SheetError> {
    let ceiling = Ceiling::of(sheet, log)?;
    let last_quiet = last_quiet(log, &ceiling);
    let up_to = last_quiet.unwrap_or(ceiling.limit);
    let Estimate { top, best, scatter_percent, more_trials } = estimate(log, up_to);
    // What lies within 2 crank degrees of pinking may be the best, and is yet not to be set.
    let set_to = best.map(|best| best.low.min(ceiling.crank_degrees));
    let mut result = TrialsResult {
        schema: SCHEMA.to_owned(),
        tool_version: env!("CARGO_PKG_VERSION").to_owned(),
        sheet: SheetIdentity::of(sheet)?,
        trials_file: log.name.clone(),
        trials_digest: log.digest.clone(),
        said: log.said,
        begin: ceiling.begin.clone(),
        limit_crank_degrees: ceiling.limit,
        ceiling_crank_degrees: ceiling.crank_degrees,
        ceiling_because: ceiling.because.clone(),
        trials: log.trials.clone(),
        last_quiet_crank_degrees: last_quiet,
        pinking_crank_degrees: ceiling.pinking,
        top,
        best_crank_degrees: best,
        set_to_crank_degrees: set_to,
        scatter_percent,
        more_trials,
        statements: Vec::new(),
        next_steps: Vec::new(),
        not_proven: sentences::not_proven(&ceiling, log),
    };
    result.statements = sentences::statements(&result, ceiling.loud);
    result.next_steps = sentences::next_steps(&result, next(log, &ceiling, log.last_series()));
    Ok(result)
}

/// The earliest timing that was quiet, within the limit and later than any that pinked.
fn last_quiet(log: &Log, ceiling: &Ceiling) -> Option<f64> {
    let below = |crank_degrees: f64| {
        crank_degrees <= ceiling.limit + 1e-9 && ceiling.pinking.is_none_or(|pinking| crank_degrees < pinking)
    };
    let quiet = log.trials.iter().filter(|trial| trial.heard == Heard::Quiet);
    quiet.map(|trial| trial.crank_degrees).filter(|degrees| below(*degrees)).reduce(f64::max)
}
