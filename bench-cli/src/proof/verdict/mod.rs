//! From the test points of a run to offset, lag, names for what is wrong, and a verdict.

mod causes;
mod cranking;
mod disturbed;
mod finding;
mod judge;
mod judged_point;
mod least_squares;
mod looks;
mod names;
mod pulses;
mod ramp;
mod regression;
mod run;
mod selection;
mod setting;
mod single;
mod words;

pub use cranking::{
    CrankingRecord, CrankingVerdict, early_by_swing, judge_cranking, judge_cranking_without_second_flank,
};
pub use disturbed::{DisturbedVerdict, GOOD_EDGES, Stated, judge_disturbed};
pub use finding::Finding;
pub use judge::{Conformity, Decision, Factors, Judge, PointJudge};
pub use judged_point::JudgedPoint;
pub use least_squares::LeastSquares;
pub use names::{Diagnosis, diagnose};
pub use ramp::{RampVerdict, judge_ramp};
pub use regression::{COVERAGE_FACTOR, Estimate, MeasuredPoint, Regression};
pub use run::{RunVerdict, judge_run};
pub use setting::{Conditions, Setting};
pub use single::SingleSparks;
pub use words::{early_or_late, error_in_words, with_side};

/// What no bench run proves, however it ends.
pub const NOT_PROVEN: &str = "a bench run proves the box and its program; it does not prove pickup, rotor, coil, leads or \
                              interference: prove the curve on the engine with a timing light";
/// What a run on the built-in simulation does not prove besides.
pub const NOT_PROVEN_SIMULATED: &str =
    "the built-in simulation proves the curve and the program's arithmetic, not a box";
/// What it does not where an input trims the advance: the stimulator moves none.
pub const NOT_PROVEN_TRIM: &str = "the curve was judged untrimmed: that the ignition's own input trims it no further than the sheet says was not driven";

#[cfg(test)]
mod tests;
