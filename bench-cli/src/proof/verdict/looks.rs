//! How often a test point is looked at, and how surely a run may fail: figures that all judging shares.

/// Sparks that a test point has in all at each look, before rounding up to whole cycles; more where the plan has few points.
pub const LOOK_SPARKS: [usize; 3] = [50, 200, 800];

/// Chance that a run at its tolerance fails, over all looks and points.
pub(super) const FAIL_RISK: f64 = 0.01;
