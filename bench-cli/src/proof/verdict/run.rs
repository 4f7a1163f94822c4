//! The verdict of a whole run.

use super::finding::Finding;
use super::judge::Decision;
use super::judged_point::JudgedPoint;
use super::names::{Diagnosis, diagnose};
use super::pulses::beyond_tolerance;
use super::regression::MeasuredPoint;
use super::setting::Setting;
use super::single::SingleSparks;
use super::words;
use crate::record::verdict::Verdict;

impl From<Decision> for Verdict {
    /// A point that was to be looked at again, and was not, is undecided.
    fn from(decision: Decision) -> Self {
        match decision {
            Decision::Pass => Self::Pass,
            Decision::Fail => Self::Fail,
            Decision::LookAgain { .. } | Decision::Undecided => Self::Undecided,
        }
    }
}

/// The verdict on the settled test points of a run, and why.
#[derive(Debug, Clone, PartialEq)]
pub struct RunVerdict {
    /// Of the settled test points; ramps, cranking and disturbed pulses are joined to it by [`Verdict::of_all`].
    pub verdict: Verdict,
    /// The same without the share of single sparks outside, which of a trace is told by more than its test points.
    pub of_points: Verdict,
    /// Each point's own verdict, in the order given: its angle, its count of sparks, its pulses.
    pub points: Vec<Verdict>,
    /// Regression, pulses and findings.
    pub diagnosis: Diagnosis,
    /// The sparks of all points one by one.
    pub single: SingleSparks,
}

impl RunVerdict {
    /// What is wrong, in words.
    pub fn findings(&self) -> &[Finding] {
        &self.diagnosis.findings
    }

    /// What is wrong with single sparks, in words; nothing where few enough stray, and where a cause above moves them all.
    pub fn of_single_sparks(&self, points: &[JudgedPoint], setting: &Setting) -> Option<Finding> {
        (self.single.verdict() != Verdict::Pass && self.diagnosis.findings.is_empty())
            .then(|| words::single_sparks(&self.single, points, setting))?
    }
}

/// Judges the settled test points of a run. A missing or extra spark fails, and so does a pulse whose mean departs from
/// the others' by more than the tolerance, whatever the angles; and so do too many single sparks outside it.
pub fn judge_run(points: &[JudgedPoint], setting: &Setting) -> RunVerdict {
    let verdicts: Vec<Verdict> = points.iter().map(|point| judge_point(point, points.len(), setting)).collect();
    let measured: Vec<MeasuredPoint> = points.iter().map(|point| point.measured.clone()).collect();
    let diagnosis = diagnose(&measured, setting);
    let pulses = diagnosis.pulses.iter().map(|pulse| {
        let (departure, u) = (pulse.departure.abs(), pulse.expanded_uncertainty);
        match () {
            () if departure - u > setting.tolerance => Verdict::Fail,
            () if departure + u > setting.tolerance => Verdict::Undecided,
            () => Verdict::Pass,
        }
    });
    let single = points.iter().fold(SingleSparks::default(), |all, point| all.and(point.single));
    let of_points = Verdict::of_all(verdicts.iter().copied().chain(pulses));
    let verdict = Verdict::of_all([of_points, single.verdict()]);
    RunVerdict { verdict, of_points, points: verdicts, diagnosis, single }
}

fn judge_point(point: &JudgedPoint, test_points: usize, setting: &Setting) -> Verdict {
    let statistics = &point.measured.statistics;
    let bound = setting.bound(&point.measured.conditions).total();
    let uneven = beyond_tolerance(statistics, test_points, bound, setting.tolerance);
    let strays = point.single.fails_alone(test_points);
    if statistics.missing + statistics.extra > 0 || uneven || strays { Verdict::Fail } else { point.decision.into() }
}
