//! The four limits of a sheet: the core's proof of the curve, and while cranking the spark that the pickup lets come.

use super::cranking::ByTimingFlank;
use super::words;
use crate::curve::sparks::sparks;
use crate::quantity::of_core::{angle_degrees, crank_degrees, kpa_of, rpm_of};
use crate::record::check::{LimitResult, LimitsOutcome};
use crate::record::sparks::DemandName;
use crate::sheet::{Settings, Sheet};
use bobweight::{AdvanceModel, Judgement, Limit};

/// Each limit with its worst place. `model` is the sheet's own, or that of a what-if on the same engine.
pub(super) fn limits(sheet: &Sheet, model: &AdvanceModel) -> Vec<LimitResult> {
    let by_timing_flank = ByTimingFlank::of(sheet, model);
    let limit = |judgement: &Judgement| match &by_timing_flank {
        Some(sparks) if judgement.limit == Limit::GreatestCranking => of_sparks(judgement, sparks),
        _ => of_curve(judgement),
    };
    model.judge().0.iter().map(limit).collect()
}

fn of_curve(judgement: &Judgement) -> LimitResult {
    let Judgement { limit, allowed, worst, margin } = judgement;
    let allowed = crank_degrees(*allowed);
    let (sum, margin, kept) = (angle_degrees(worst.sum), angle_degrees(*margin), judgement.holds());
    LimitResult {
        limit: (*limit).into(),
        allowed_crank_degrees: allowed,
        sum_crank_degrees: sum,
        margin_crank_degrees: margin,
        kept,
        speed_crank_rpm: worst.running.then(|| rpm_of(worst.speed)),
        depression_kpa: worst.depression.map(kpa_of),
        statement: words::of_limit(*limit, allowed, sum, margin, kept, &words::place(*limit, worst)),
    }
}

fn of_sparks(judgement: &Judgement, sparks: &ByTimingFlank) -> LimitResult {
    let allowed = crank_degrees(judgement.allowed);
    let margin = allowed - sparks.earliest;
    let kept = margin >= 0.0;
    LimitResult {
        sum_crank_degrees: sparks.earliest,
        margin_crank_degrees: margin,
        kept,
        statement: words::of_limit(judgement.limit, allowed, sparks.earliest, margin, kept, &sparks.in_words()),
        ..of_curve(judgement)
    }
}

/// Whether a sheet keeps its limits, and what is asked of its sparks, and how.
pub fn limits_outcome(sheet: &Sheet, model: &AdvanceModel) -> LimitsOutcome {
    let mut outcome = what_if_outcome(sheet, model);
    let broken = broken_demands(sheet);
    outcome.kept &= broken.is_empty();
    outcome.statements.extend(broken);
    outcome
}

/// The limits alone, for another curve than the sheet's own.
pub fn what_if_outcome(sheet: &Sheet, model: &AdvanceModel) -> LimitsOutcome {
    let limits = limits(sheet, model);
    LimitsOutcome {
        kept: limits.iter().all(|limit| limit.kept),
        statements: limits.into_iter().map(|limit| limit.statement).collect(),
    }
}

/// A sentence for each limit that a sheet breaks, and for whatever else is asked of its sparks and broken.
pub fn broken_limits_in_words(sheet: &Sheet, model: &AdvanceModel) -> Vec<String> {
    let broken = limits(sheet, model).into_iter().filter(|limit| !limit.kept).map(|limit| limit.statement);
    broken.chain(broken_demands(sheet)).collect()
}

/// What is asked of a sheet's sparks and broken, where the sheet says enough to tell. A cranking spark that is too early is a broken limit already.
fn broken_demands(sheet: &Sheet) -> Vec<String> {
    let Ok(list) = Settings::from_sheet(sheet).and_then(|settings| sparks(sheet, &settings)) else { return Vec::new() };
    let broken = list.demands.into_iter().filter(|demand| !demand.kept && demand.demand != DemandName::KickBack);
    broken.map(|demand| demand.statement).collect()
}
