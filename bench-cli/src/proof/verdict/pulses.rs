//! Pulses of two turns that spark elsewhere than the others.

use super::judge::{Conformity, Factors};
use super::looks::LOOK_SPARKS;
use super::regression::MeasuredPoint;
use super::setting::Setting;
use crate::proof::measure::{PointStatistics, Summary};

/// A pulse's departure over the whole run counts as found at so many standard uncertainties.
const FOUND: f64 = 4.0;

/// How one pulse of the two turns departs from the others that are alike.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PulseDeparture {
    /// Which pulse of the two turns, from 0.
    pub in_cycle: usize,
    /// Mean of its error less that of the others, crank degrees, early positive.
    pub departure: f64,
    /// Expanded uncertainty of it, k = 2.
    pub expanded_uncertainty: f64,
}

/// Over all test points: the pulses that depart from the others by more than their uncertainty and enough to matter.
///
/// The one that departs most is set apart first and the rest compared again, for one pulse that is off pulls the mean
/// against which the others are judged. Of two pulses the one with the greater error is the one that departs.
pub fn departures(points: &[MeasuredPoint], setting: &Setting) -> Vec<PulseDeparture> {
    let Some(all) = pooled(points, setting.pulses_in_two_turns) else { return Vec::new() };
    let mut alike: Vec<usize> = (0..all.len()).collect();
    let mut apart = Vec::new();
    while alike.len() > 1 {
        let Some(worst) = alike
            .iter()
            .map(|&pulse| against_others(pulse, &alike, &all))
            .max_by(|a, b| rank(a, &all).total_cmp(&rank(b, &all)))
        else {
            break;
        };
        if !found(&worst, setting) {
            break;
        }
        alike.retain(|&pulse| pulse != worst.in_cycle);
        apart.push(worst.in_cycle);
    }
    // Judged once more against those that are alike: the first set apart was compared with the second one among the others.
    let mut departures: Vec<PulseDeparture> = apart
        .into_iter()
        .map(|pulse| against_others(pulse, &alike, &all))
        .filter(|departure| found(departure, setting))
        .collect();
    departures.sort_by_key(|departure| departure.in_cycle);
    departures
}

fn found(departure: &PulseDeparture, setting: &Setting) -> bool {
    departure.departure.abs() > (FOUND / 2.0 * departure.expanded_uncertainty).max(setting.matters())
}

/// Greatest departure first; between two that depart alike, the greater error.
fn rank(departure: &PulseDeparture, all: &[Pooled]) -> f64 {
    departure.departure.abs() + 1e-3 * all[departure.in_cycle].error.abs()
}

#[derive(Debug, Clone, Copy)]
struct Pooled {
    /// Mean of the pulse's error over all points, crank degrees.
    error: f64,
    /// Its standard uncertainty.
    uncertainty: f64,
}

fn pooled(points: &[MeasuredPoint], pulses: usize) -> Option<Vec<Pooled>> {
    (0..pulses)
        .map(|pulse| {
            let (mut sum, mut square, mut count) = (0.0, 0.0, 0.0);
            for point in points {
                let error = point.statistics.pulses.get(pulse)?.error;
                if error.count == 0 {
                    continue;
                }
                sum += error.mean;
                square += scatter_of_mean(&error, &point.statistics).powi(2);
                count += 1.0;
            }
            (count > 0.0).then(|| Pooled { error: sum / count, uncertainty: square.sqrt() / count })
        })
        .collect()
}

/// The scatter of all pulses of the point serves each of them: one pulse alone has few sparks.
#[expect(clippy::cast_precision_loss, reason = "counts of sparks")]
fn scatter_of_mean(error: &Summary, point: &PointStatistics) -> f64 {
    point.spark_scatter / (error.count as f64).sqrt()
}

#[expect(clippy::cast_precision_loss, reason = "at most 12 pulses")]
fn against_others(pulse: usize, alike: &[usize], all: &[Pooled]) -> PulseDeparture {
    let others: Vec<&Pooled> = alike.iter().filter(|&&other| other != pulse).map(|&other| &all[other]).collect();
    let count = others.len() as f64;
    let mean = others.iter().map(|other| other.error).sum::<f64>() / count;
    let square = others.iter().map(|other| other.uncertainty.powi(2)).sum::<f64>() / count.powi(2);
    PulseDeparture {
        in_cycle: pulse,
        departure: all[pulse].error - mean,
        expanded_uncertainty: 2.0 * (square + all[pulse].uncertainty.powi(2)).sqrt(),
    }
}

/// Whether at this test point a pulse's mean departs from the mean of the others by more than the tolerance, with the
/// guard band of a failure: the run's share of risk over all points, pulses and looks.
#[expect(clippy::cast_precision_loss, reason = "counts of sparks")]
pub fn beyond_tolerance(point: &PointStatistics, test_points: usize, bound: f64, tolerance: f64) -> bool {
    let m = point.pulses.len();
    let sum: f64 = point.pulses.iter().map(|pulse| pulse.error.mean).sum();
    let freedom = point.pulses.iter().map(|pulse| pulse.error.count.saturating_sub(1)).sum::<usize>();
    if m < 2 || freedom == 0 || point.pulses.iter().any(|pulse| pulse.error.count == 0) {
        return false;
    }
    let factors = Factors::new(freedom + 1, LOOK_SPARKS.len(), test_points * m);
    let variance = |pulse: usize| point.spark_scatter.powi(2) / point.pulses[pulse].error.count as f64;
    (0..m).any(|pulse| {
        let others = (m - 1) as f64;
        let mean = point.pulses[pulse].error.mean;
        let departure = mean - (sum - mean) / others;
        let of_others: f64 = (0..m).filter(|&other| other != pulse).map(variance).sum::<f64>() / others.powi(2);
        let uncertainty = (variance(pulse) + of_others).sqrt();
        factors.conformity(departure, uncertainty, bound, tolerance) == Conformity::Beyond
    })
}
