//! The next timing to try.

use super::ceiling::Ceiling;
use super::estimate::{FEWEST_TIMINGS, SAME_TIMING, estimate, is_past_top, timings};
use super::log::Log;
use crate::record::trials::{Heard, Trial};

/// The greatest step towards early, crank degrees.
pub const STEP: f64 = 1.0;
/// A series goes so far past the top that it shows, crank degrees, for a top has two sides.
const PAST_TOP: f64 = 3.0;
/// A series goes over its timings so often, up and down: whoever wants more begins another.
const MOST_PASSES: usize = 4;

/// What comes next.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Next {
    /// Try this timing, crank degrees.
    Try(f64),
    /// The series ends.
    Ended(Ended),
}

/// Why a series ends.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Ended {
    /// It pinked at this timing, crank degrees.
    Pinked(f64),
    /// The best timing is known well enough.
    Settled,
    /// It was gone over often enough, and is not settled.
    GoneOver,
    /// Twice nobody could tell whether it pinked, at this timing, crank degrees.
    CannotHear(f64),
    /// There is no room for a series below the ceiling, crank degrees.
    NoRoom(f64),
}

/// The next timing of a series of a log; a number beyond the last series begins another.
pub fn next(log: &Log, ceiling: &Ceiling, series: u32) -> Next {
    let trials: Vec<&Trial> = log.trials.iter().filter(|trial| trial.series == series).collect();
    if let Some(pinked) = trials.iter().find(|trial| trial.heard == Heard::Pinking) {
        return Next::Ended(Ended::Pinked(pinked.crank_degrees));
    }
    let top = ceiling.crank_degrees;
    let quiet: Vec<&Trial> = trials
        .iter()
        .copied()
        .filter(|trial| trial.heard == Heard::Quiet && trial.crank_degrees <= top + 1e-9)
        .collect();
    if let [.., before, last] = trials.as_slice()
        && [before, last].iter().all(|trial| trial.heard == Heard::CouldNotTell)
        && (last.crank_degrees - before.crank_degrees).abs() < SAME_TIMING
    {
        return Next::Ended(Ended::CannotHear(last.crank_degrees));
    }
    // Whoever went past the ceiling, or heard nothing for sure, goes no further from there.
    let Some(last) = quiet.last() else { return Next::Try(ceiling.first) };
    if let Some(unsure) = trials.last().filter(|trial| trial.heard == Heard::CouldNotTell) {
        return Next::Try(unsure.crank_degrees.min(last.crank_degrees + STEP).min(top));
    }
    let highest = quiet.iter().map(|trial| trial.crank_degrees).fold(f64::NEG_INFINITY, f64::max);
    let turn = turn(&quiet).unwrap_or(quiet.len());
    let has_room = highest + SAME_TIMING <= top;
    if turn == quiet.len() && has_room && !is_past_top(&quiet, log.said.measure, PAST_TOP) {
        return Next::Try((last.crank_degrees + STEP).min(top));
    }
    if timings(&quiet[..turn]) < FEWEST_TIMINGS {
        return Next::Ended(Ended::NoRoom(top));
    }
    let levels: Vec<f64> = quiet[..turn].iter().map(|trial| trial.crank_degrees).collect();
    let gone = quiet.len() - turn;
    if gone > 0 && gone.is_multiple_of(turn) {
        let estimate = estimate(log, top);
        if estimate.best.is_some() && estimate.more_trials == Some(0) {
            return Next::Ended(Ended::Settled);
        }
        if 1 + gone / turn >= MOST_PASSES {
            return Next::Ended(Ended::GoneOver);
        }
    }
    // Down, up, down: what drifts along the trials then falls on late and early alike.
    let down_and_up = levels.iter().rev().chain(&levels).copied();
    let planned = down_and_up.cycle().nth(gone).unwrap_or(ceiling.first);
    Next::Try(planned.min(last.crank_degrees + STEP).min(top))
}

/// The first trial that did not go up from the one before, once there are timings enough to go over again.
fn turn(quiet: &[&Trial]) -> Option<usize> {
    let goes_back = |at: &usize| quiet[*at].crank_degrees < quiet[*at - 1].crank_degrees + SAME_TIMING;
    (1..quiet.len()).filter(goes_back).find(|at| timings(&quiet[..*at]) >= FEWEST_TIMINGS)
}
