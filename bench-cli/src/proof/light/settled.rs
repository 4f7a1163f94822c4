//! Whether the readings tell well enough what to turn, and how many more would.
//!
//! Settled is an offset whose 95 % interval reaches no further than a crank degree either way. One of twenty such intervals misses, so
//! something is turned only where the interval that holds 999 of 1 000 reaches no further either, and has one side.

use super::estimate::{COVERAGE, COVERAGE_OF_TURNING, Fitted, degrees_of_lag, mean};
use super::scatter::student;
use super::{Compared, Proposal};
use crate::distributor::readings::Hose;
use crate::record::interval::Interval;
use nalgebra::{Matrix2, Vector2};

/// How well an offset is known before it is turned by, crank degrees. Common practice: nobody turns by less; no source.
const WITHIN: f64 = 1.0;
/// So many readings together are worth asking for; whoever scatters more sees to the light and the mark first.
pub(super) const MOST_READINGS: usize = 20;
/// How many more are counted at most.
const MOST_MORE: usize = 99;

/// How well an offset is to be known, by the sheet's tolerance of the light.
fn within(tolerance: f64) -> f64 {
    tolerance.min(WITHIN)
}

/// Whether an interval is narrow enough to be settled.
pub(super) fn settled(error: &Interval, tolerance: f64) -> bool {
    reach(error, error.value) <= within(tolerance)
}

/// Whether something is turned by the value of an error, of which so much is sure: too little or too much is then turned by no more than
/// a settled error allows.
pub(super) fn turned_by(error: &Interval, surely: &Interval, tolerance: f64) -> bool {
    settled(error, tolerance) && surely.excludes_zero() && reach(surely, error.value) <= within(tolerance)
}

/// How far an interval reaches from a value, to the farther side.
fn reach(interval: &Interval, value: f64) -> f64 {
    (interval.high - value).max(value - interval.low)
}

/// What to read more of: at idle, and at the top.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct More {
    pub(super) low: Proposal,
    pub(super) at_low: usize,
    pub(super) high: Proposal,
    pub(super) at_high: usize,
}

impl More {
    pub(super) fn count(&self) -> usize {
        self.at_low + self.at_high
    }
}

/// How many more readings with the hose off settle the offset, by the scatter of those that there are; nothing where it is settled.
pub(super) fn more(fitted: &Fitted, groups: &[Vec<&Compared>], tolerance: f64) -> Option<More> {
    if settled(&fitted.offset, tolerance) {
        return None;
    }
    until(fitted, groups, COVERAGE, within(tolerance))
}

/// How many more tell what to turn, where the offset is not nought; nothing where they need not.
pub(super) fn more_to_turn(fitted: &Fitted, groups: &[Vec<&Compared>], tolerance: f64) -> Option<More> {
    if !fitted.offset.excludes_zero() || turned_by(&fitted.offset, &fitted.surely, tolerance) {
        return None;
    }
    until(fitted, groups, COVERAGE_OF_TURNING, within(tolerance))
}

/// So many more that the interval with such a coverage reaches no further, put where each tells most.
fn until(fitted: &Fitted, groups: &[Vec<&Compared>], coverage: f64, within: f64) -> Option<More> {
    let off: Vec<&Vec<&Compared>> = groups.iter().filter(|group| group[0].hose == Hose::Off).collect();
    let ([first, ..], [.., last]) = (off.as_slice(), off.as_slice()) else { return None };
    let at = |group: &[&Compared]| Proposal {
        hose: Hose::Off,
        crank_rpm: (mean(group, |one| one.crank_rpm) / 50.0).round() * 50.0,
        depression_kpa: None,
    };
    let mut more = More { low: at(first), at_low: 0, high: at(last), at_high: 0 };
    let row = |crank_rpm: f64| Vector2::new(1.0, -degrees_of_lag(crank_rpm, 1.0));
    let mut known = Matrix2::zeros();
    let mut readings = 0_u32;
    for one in off.iter().flat_map(|group| group.iter()) {
        let row = row(one.crank_rpm) / one.standard_uncertainty(fitted.scatter);
        known += row * row.transpose();
        readings += 1;
    }
    let variance = |known: &Matrix2<f64>| known.try_inverse().map_or(f64::INFINITY, |covariance| covariance[(0, 0)]);
    while more.count() < MOST_MORE {
        let with = |proposal: &Proposal| {
            let row = row(proposal.crank_rpm) / fitted.scatter;
            known + row * row.transpose()
        };
        let (low, high) = (with(&more.low), with(&more.high));
        if variance(&low) <= variance(&high) {
            (known, more.at_low) = (low, more.at_low + 1);
        } else {
            (known, more.at_high) = (high, more.at_high + 1);
        }
        readings += 1;
        let reach = student(f64::from(readings.saturating_sub(2).max(1)), coverage)? * variance(&known).sqrt();
        if reach <= within {
            break;
        }
    }
    Some(more)
}
