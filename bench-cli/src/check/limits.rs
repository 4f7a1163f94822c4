//! The four limits of a sheet: the core's proof of the curve, and while cranking the spark that the pickup lets come.

use super::cranking::ByTimingFlank;
use super::result::LimitResult;
use crate::core_quantity::{angle_degrees, crank_degrees, kpa_of, rpm_of};
use crate::result::LimitsOutcome;
use crate::sheet::Sheet;
use bobweight::quantity::CrankAngle;
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
    let by = CrankAngle::saturating_from_bits(margin.bits().abs());
    LimitResult {
        limit: (*limit).into(),
        allowed_crank_degrees: crank_degrees(*allowed),
        sum_crank_degrees: angle_degrees(worst.sum),
        margin_crank_degrees: angle_degrees(*margin),
        kept: judgement.holds(),
        speed_crank_rpm: worst.running.then(|| rpm_of(worst.speed)),
        depression_kpa: worst.depression.map(kpa_of),
        statement: format!("{}: {limit}, by {by}: {judgement}", kept_or_broken(judgement.holds())),
    }
}

fn of_sparks(judgement: &Judgement, sparks: &ByTimingFlank) -> LimitResult {
    let allowed = crank_degrees(judgement.allowed);
    let margin = allowed - sparks.earliest;
    let kept = margin >= 0.0;
    let statement = format!(
        "{}: {}, by {:.1} crank degrees: {}",
        kept_or_broken(kept),
        judgement.limit,
        margin.abs(),
        sparks.in_words(allowed)
    );
    LimitResult {
        sum_crank_degrees: sparks.earliest,
        margin_crank_degrees: margin,
        kept,
        statement,
        ..of_curve(judgement)
    }
}

fn kept_or_broken(kept: bool) -> &'static str {
    if kept { "kept" } else { "BROKEN" }
}

/// Whether a sheet keeps its limits, and how.
pub fn limits_outcome(sheet: &Sheet, model: &AdvanceModel) -> LimitsOutcome {
    let limits = limits(sheet, model);
    LimitsOutcome {
        kept: limits.iter().all(|limit| limit.kept),
        statements: limits.into_iter().map(|limit| limit.statement).collect(),
    }
}

/// A sentence for each limit that a sheet breaks.
pub fn broken_limits_in_words(sheet: &Sheet, model: &AdvanceModel) -> Vec<String> {
    limits(sheet, model).into_iter().filter(|limit| !limit.kept).map(|limit| limit.statement).collect()
}
