//! What is wrong, by name: from the errors of the test points to findings.

use super::finding::Finding;
use super::pulses::{PulseDeparture, departures};
use super::regression::{self, CAUSES, Cause, Estimate, MeasuredPoint, Regression, column, regress};
use super::selection::select;
use super::setting::{Conditions, Setting};
use super::words;
use crate::proof::measure::Summary;
use nalgebra::{DMatrix, DVector};

/// The regression of a run and what was found in it.
#[derive(Debug, Clone, PartialEq)]
pub struct Diagnosis {
    /// Offset, lag, up against down, vacuum shortfall; none where there are too few test points.
    pub regression: Option<Regression>,
    /// Pulses that depart from the others.
    pub pulses: Vec<PulseDeparture>,
    /// What is wrong, gravest kind first.
    pub findings: Vec<Finding>,
}

/// A cause that the errors are tried against.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Candidate {
    Cause(Cause),
    /// One centrifugal breakpoint moved, by its number from 0.
    Breakpoint(usize),
}

/// Finds what is wrong in the settled test points of a run.
pub fn diagnose(points: &[MeasuredPoint], setting: &Setting) -> Diagnosis {
    let pulses = departures(points, setting);
    let mut findings = words::counts(points);
    findings.extend(pulses.iter().map(|pulse| words::pulse(pulse, setting.pulses_in_two_turns)));
    findings.extend(words::scatter(points, setting));
    // A pulse that is off shifts every mean; its share is taken out, or it would be named an offset as well.
    #[expect(clippy::cast_precision_loss, reason = "at most 12 pulses")]
    let share = pulses.iter().map(|pulse| pulse.departure).sum::<f64>() / setting.pulses_in_two_turns as f64;
    // A point whose scatter is not known tells nothing.
    let (conditions, errors): (Vec<Conditions>, Vec<Summary>) = points
        .iter()
        .filter(|point| point.statistics.cycle_means.count >= 2)
        .map(|point| {
            let means = point.statistics.cycle_means;
            (point.conditions, Summary { mean: means.mean - share, ..means })
        })
        .unzip();
    let (regression, causes) = explain(&conditions, &errors, setting);
    match words::moving_flank(&errors, setting).filter(|_| !causes.is_empty()) {
        Some(flank) => findings.push(flank),
        None => findings.extend(causes),
    }
    findings.sort_by_key(|finding| finding.kind);
    Diagnosis { regression, pulses, findings }
}

fn explain(points: &[Conditions], errors: &[Summary], setting: &Setting) -> (Option<Regression>, Vec<Finding>) {
    let candidates = candidates(points, setting);
    let n = points.len();
    let weight: Vec<f64> = regression::uncertainties(points, errors, setting).whole.iter().map(|u| u.recip()).collect();
    let columns = DMatrix::from_fn(n, candidates.len(), |i, j| candidates[j].1[i] * weight[i]);
    let observed = DVector::from_fn(n, |i, _| errors[i].mean * weight[i]);
    let selected: Vec<&(Candidate, Vec<f64>)> =
        select(&columns, &observed).into_iter().map(|index| &candidates[index]).collect();
    let moved: Vec<(usize, &Vec<f64>)> = selected
        .iter()
        .filter_map(|(candidate, column)| match candidate {
            Candidate::Breakpoint(number) => Some((*number, column)),
            Candidate::Cause(_) => None,
        })
        .collect();
    let Some((regression, moved)) = regress_on_named(points, errors, setting, moved) else {
        return (None, Vec::new());
    };
    let mut findings = Vec::new();
    for (candidate, column) in &selected {
        let Candidate::Cause(cause) = candidate else { continue };
        let estimate = match cause {
            Cause::Offset => &regression.offset,
            Cause::Lag => &regression.lag_us,
            Cause::UpDown => &regression.up_down,
            Cause::VacuumShortfall => &regression.vacuum_shortfall,
        };
        let Some(estimate) = estimate else { continue };
        // Up against down is the whole difference; its column shows half of it each way.
        let reach = if *cause == Cause::UpDown { 1.0 } else { greatest(column) };
        if named(estimate, reach, setting) {
            findings.push(words::cause(*cause, estimate, points, setting));
        }
    }
    for (number, estimate) in moved.iter().zip(&regression.further) {
        findings.push(words::breakpoint(*number, estimate, setting));
    }
    let unexplained = unexplained(points, errors, &regression, setting);
    findings.extend(words::test_points(&unexplained, setting));
    (Some(regression), findings)
}

/// Regresses with the moved breakpoints as further columns, and without those that turn out not to be worth a name: a column
/// for nothing would only widen the intervals of offset and lag.
fn regress_on_named(
    points: &[Conditions],
    errors: &[Summary],
    setting: &Setting,
    mut moved: Vec<(usize, &Vec<f64>)>,
) -> Option<(Regression, Vec<usize>)> {
    loop {
        let further: Vec<Vec<f64>> = moved.iter().map(|(_, column)| (*column).clone()).collect();
        let regression = regress(points, errors, setting, &further)?;
        let stay: Vec<bool> = regression
            .further
            .iter()
            .zip(&further)
            .map(|(estimate, column)| {
                // One of many breakpoints that could have been chosen: twice the interval must leave 0 out.
                let sure = estimate.value.abs() > 2.0 * estimate.expanded_uncertainty;
                sure && named(estimate, greatest(column), setting)
            })
            .collect();
        if stay.iter().all(|&stays| stays) {
            return Some((regression, moved.into_iter().map(|(number, _)| number).collect()));
        }
        let mut stays = stay.into_iter();
        moved.retain(|_| stays.next().unwrap_or(false));
    }
}

/// An estimate is named where its interval leaves 0 out and its greatest effect at a test point matters.
fn named(estimate: &Estimate, reach: f64, setting: &Setting) -> bool {
    estimate.excludes_zero() && estimate.value.abs() * reach >= setting.matters()
}

fn greatest(column: &[f64]) -> f64 {
    column.iter().map(|value| value.abs()).fold(0.0, f64::max)
}

/// Every cause that the test points can show, with its column.
fn candidates(points: &[Conditions], setting: &Setting) -> Vec<(Candidate, Vec<f64>)> {
    let causes = CAUSES.iter().map(|&cause| (Candidate::Cause(cause), column(cause, points, setting)));
    let breakpoints = (0..setting.centrifugal.len())
        .map(|number| (Candidate::Breakpoint(number), moved_breakpoint(number, points, setting)));
    causes.chain(breakpoints).filter(|(_, column)| column.iter().any(|&value| value != 0.0)).collect()
}

/// What moving one breakpoint by 1 crank degree does: all of it there, nothing at the breakpoints beside it, and as much
/// on the flat beyond the first or last.
fn moved_breakpoint(number: usize, points: &[Conditions], setting: &Setting) -> Vec<f64> {
    let at = |index: usize| setting.centrifugal[index][0];
    points
        .iter()
        .map(|point| {
            let speed = point.speed_crank_rpm;
            let here = at(number);
            if speed <= here {
                if number == 0 { 1.0 } else { ((speed - at(number - 1)) / (here - at(number - 1))).max(0.0) }
            } else if number + 1 == setting.centrifugal.len() {
                1.0
            } else {
                ((at(number + 1) - speed) / (at(number + 1) - here)).max(0.0)
            }
        })
        .collect()
}

/// Points that depart from what the causes explain by more than scatter and bound allow, and enough to matter; with the
/// risk of one false name in a hundred runs.
fn unexplained(
    points: &[Conditions],
    errors: &[Summary],
    regression: &Regression,
    setting: &Setting,
) -> Vec<(Conditions, f64)> {
    points
        .iter()
        .zip(errors)
        .zip(&regression.residuals)
        .filter(|((point, error), residual)| {
            let factor = super::judge::Factors::new(error.count, 1, points.len()).fail;
            let allowed = factor * error.standard_uncertainty() + setting.bound(point).total();
            residual.abs() > allowed.max(setting.matters())
        })
        .map(|((point, _), residual)| (*point, *residual))
        .collect()
}
