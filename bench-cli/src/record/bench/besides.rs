//! What a bench run drives besides the settled test points: cranking, ramps, disturbed pulses.

use crate::record::verdict::Verdict;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// One stretch of cranking.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CrankingResult {
    /// Mean speed.
    pub speed_crank_rpm: f64,
    /// Greatest over least speed within a pulse, 1 for a steady speed.
    pub swing: f64,
    /// How it was judged and what came out, in a sentence.
    pub statement: String,
    /// Most that a spark came early of what is allowed; negative where none did.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub greatest_early_crank_degrees: Option<f64>,
    /// Most that a spark came late of what is allowed; negative where none did.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub greatest_late_crank_degrees: Option<f64>,
    /// Pulses judged.
    pub pulses: usize,
    /// Pulses without a spark.
    pub missing: usize,
    /// Sparks beyond one a pulse.
    pub extra: usize,
    /// The verdict on it.
    pub verdict: Verdict,
}

/// One ramp.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct RampResult {
    /// Speed at its start.
    pub from_crank_rpm: f64,
    /// Speed at its end.
    pub to_crank_rpm: f64,
    /// Size of the acceleration.
    pub acceleration_crank_rpm_per_s: f64,
    /// Mean error of its whole cycles, early positive.
    pub mean_error_crank_degrees_early: f64,
    /// The cycle mean that is furthest off, early positive.
    pub greatest_error_crank_degrees_early: f64,
    /// At which speed that was.
    pub at_crank_rpm: f64,
    /// Standard deviation of the cycle means about their own course.
    pub scatter_crank_degrees: f64,
    /// Whole cycles judged.
    pub cycles: usize,
    /// Pulses without a spark.
    pub missing: usize,
    /// Sparks beyond one a pulse.
    pub extra: usize,
    /// The verdict on it.
    pub verdict: Verdict,
}

/// Every pulse of a trace from idle to the greatest speed, at test points and between them.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct EveryPulseResult {
    /// Pulses judged.
    pub pulses: usize,
    /// Pulses without a spark.
    pub missing: usize,
    /// Sparks beyond one a pulse.
    pub extra: usize,
    /// Sparks that came further from where they were wanted than tolerance, bound and the change of speed allow.
    pub outside: usize,
    /// By how much the furthest of these came early, or late where negative; 0 where none did.
    pub worst_crank_degrees_early: f64,
    /// What share may be outside at most, with 95 % confidence.
    pub greatest_share: f64,
    /// Times at which flanks of the pickup were lost or too many.
    pub upsets: usize,
    /// So many of them the plan makes.
    pub planned_upsets: usize,
    /// The verdict on all of them.
    pub verdict: Verdict,
}

/// What was done to a pulse.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Disturbance {
    /// It was left out.
    LostPulse,
    /// One too many was sent.
    FalsePulse,
}

/// One disturbed pulse.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct DisturbedResult {
    /// What was done.
    pub disturbance: Disturbance,
    /// Steady speed.
    pub speed_crank_rpm: f64,
    /// Earliest spark beside it.
    pub greatest_early_crank_degrees: f64,
    /// Latest spark beside it.
    pub greatest_late_crank_degrees: f64,
    /// Early shift that the ignition states for it.
    pub stated_early_crank_degrees: f64,
    /// Late shift that the ignition states for it.
    pub stated_late_crank_degrees: f64,
    /// Pulses without a spark beside it.
    pub missing: usize,
    /// Sparks beyond one a pulse beside it.
    pub extra: usize,
    /// Whether all was right again after five good edges.
    pub right_again: bool,
    /// Whether the stimulator confirmed the disturbance inside the record; where it did not, nothing was judged.
    #[serde(default = "confirmed")]
    pub confirmed: bool,
    /// The verdict on it.
    pub verdict: Verdict,
}

/// Results of before say nothing: they were judged as they were.
fn confirmed() -> bool {
    true
}
