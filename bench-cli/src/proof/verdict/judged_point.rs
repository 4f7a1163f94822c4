//! A test point with the last decision about it.

use super::judge::Decision;
use super::regression::MeasuredPoint;
use super::single::SingleSparks;

/// A settled test point with the last decision about it.
#[derive(Debug, Clone, PartialEq)]
pub struct JudgedPoint {
    /// What was measured.
    pub measured: MeasuredPoint,
    /// What the [`super::PointJudge`] said last.
    pub decision: Decision,
    /// Its sparks one by one.
    pub single: SingleSparks,
}
