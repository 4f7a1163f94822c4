//! The finished result of a proof with a timing light; everything that is printed, saved or reported of it is read from here.
//!
//! Angles are crank degrees, an advance before top dead centre; speeds crank rpm; depressions kPa below the atmosphere. An
//! error is early where positive.

use super::Compared;
use super::estimate::{COVERAGE_OF_DEPARTURE, Fitted, LIGHT_LAG_US, degrees_of_lag, mean};
use crate::distributor::readings::Hose;
use crate::record::interval::Interval;
use crate::record::light::{Cause, CauseKind, LightResult, Place, Read};
use crate::record::precision::{DEGREES, KPA, RPM, to_places};
use crate::record::verdict::Verdict;

impl From<&Compared> for Read {
    fn from(one: &Compared) -> Self {
        Self {
            line: one.line,
            hose_on: one.hose == Hose::On,
            speed_crank_rpm: to_places(one.crank_rpm, RPM),
            depression_kpa: to_places(one.depression_kpa, KPA),
            read_crank_degrees: to_places(one.read, DEGREES),
            wanted_crank_degrees: to_places(one.wanted, DEGREES),
            error_crank_degrees_early: to_places(one.error, DEGREES),
        }
    }
}

/// Chance that any place of a right ignition is taken for one that departs: each that is left out narrows what the others say.
const DEPARTS_BY_CHANCE: f64 = 0.01;

/// Readings this near are one place: crank rpm and kPa.
pub(super) const ONE_PLACE: (f64, f64) = (200.0, 4.0);

/// Readings at about one speed and depression, those with the hose off first, rising.
pub(super) fn groups(compared: &[Compared]) -> Vec<Vec<&Compared>> {
    let mut sorted: Vec<&Compared> = compared.iter().collect();
    sorted.sort_by(|a, b| {
        let on = |one: &Compared| one.hose == Hose::On;
        on(a).cmp(&on(b)).then(a.crank_rpm.total_cmp(&b.crank_rpm)).then(a.depression_kpa.total_cmp(&b.depression_kpa))
    });
    let mut groups: Vec<Vec<&Compared>> = Vec::new();
    for one in sorted {
        let same = |group: &&mut Vec<&Compared>| {
            let first = group[0];
            first.hose == one.hose
                && (first.crank_rpm - one.crank_rpm).abs() <= ONE_PLACE.0
                && (first.depression_kpa - one.depression_kpa).abs() <= ONE_PLACE.1
        };
        match groups.iter_mut().find(same) {
            Some(group) => group.push(one),
            None => groups.push(vec![one]),
        }
    }
    groups
}

/// The readings with the hose off explained, and which place departs from what all others explain, if one does.
pub(super) fn explained(groups: &[Vec<&Compared>]) -> Option<(Fitted, Option<usize>)> {
    let off = |without: Option<usize>| -> Vec<&Compared> {
        let kept = groups.iter().enumerate().filter(|(at, group)| Some(*at) != without && group[0].hose == Hose::Off);
        kept.flat_map(|(_, group)| group.iter().copied()).collect()
    };
    #[expect(clippy::cast_precision_loss, reason = "a handful of places")]
    let places = groups.iter().filter(|group| group[0].hose == Hose::Off).count() as f64;
    let apart = |at: usize| {
        let others = Fitted::new(&off(Some(at)))?;
        let departure = others.departure(&groups[at], 1.0 - DEPARTS_BY_CHANCE / places);
        departure.excludes_zero().then(|| (at, others, departure.value.abs() / departure.half_width()))
    };
    let off_places = (0..groups.len()).filter(|&at| groups[at][0].hose == Hose::Off);
    match off_places.filter_map(apart).max_by(|a, b| a.2.total_cmp(&b.2)) {
        Some((at, others, _)) => Some((others, Some(at))),
        None => Some((Fitted::new(&off(None))?, None)),
    }
}

/// A place, judged; `apart` tells that its readings took no part in the explanation.
pub(super) fn place(group: &[&Compared], fitted: &Fitted, apart: bool, tolerance: f64, lag_known: bool) -> Place {
    let hose_on = group[0].hose == Hose::On;
    let crank_rpm = mean(group, |one| one.crank_rpm);
    let departure = fitted.departure(group, COVERAGE_OF_DEPARTURE);
    let judged_alone = apart || hose_on;
    let mut error = if judged_alone { fitted.mean_of(group) } else { fitted.at(crank_rpm) };
    if !lag_known {
        // The spark may be earlier than the light shows, never later.
        error.high += degrees_of_lag(crank_rpm, LIGHT_LAG_US);
    }
    let error = error.to_places(DEGREES);
    Place {
        hose_on,
        speed_crank_rpm: to_places(crank_rpm, RPM),
        depression_kpa: to_places(mean(group, |one| one.depression_kpa), KPA),
        readings: group.len(),
        wanted_crank_degrees: to_places(mean(group, |one| one.wanted), DEGREES),
        error_crank_degrees_early: error,
        departure_crank_degrees_early: departure.to_places(DEGREES),
        judged_alone,
        verdict: judged(&error, tolerance),
    }
}

/// Pass where the whole interval is within tolerance, fail where all of it is beyond (ISO 14253-1 and JCGM 106:2012, from
/// memory).
fn judged(error: &Interval, tolerance: f64) -> Verdict {
    if error.low >= -tolerance && error.high <= tolerance {
        Verdict::Pass
    } else if error.low > tolerance || error.high < -tolerance {
        Verdict::Fail
    } else {
        Verdict::Undecided
    }
}

impl Place {
    /// The verdict that its own error makes at a tolerance in crank degrees.
    pub fn verdict_at(&self, tolerance: f64) -> Verdict {
        judged(&self.error_crank_degrees_early, tolerance)
    }
}

impl LightResult {
    /// The best verdict that places and causes allow: what is told by all readings together can only be worse.
    pub fn verdict_of_parts(&self) -> Verdict {
        let limit = self.causes.iter().any(|cause| cause.kind == CauseKind::Limit).then_some(Verdict::Undecided);
        Verdict::of_all([verdict(&self.places, &self.causes)].into_iter().chain(limit))
    }
}

/// That of all places; old weights that move fail it besides, and a mark that was never held proves nothing.
pub(super) fn verdict(places: &[Place], causes: &[Cause]) -> Verdict {
    let is = |kind: CauseKind| causes.iter().any(|cause| cause.kind == kind);
    let free = is(CauseKind::WeightsFree).then_some(Verdict::Fail);
    let mark = is(CauseKind::Mark).then_some(Verdict::Undecided);
    Verdict::of_all(places.iter().map(|place| place.verdict).chain(free).chain(mark))
}
