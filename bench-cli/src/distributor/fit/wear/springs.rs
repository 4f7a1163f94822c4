//! The centrifugal advance against a book: springs and stop.
//!
//! What a wrong curve means: too much advance, weak springs; too little, strong springs or binding (U.S. Army TM
//! 5-4210-230-14&P-1, distributor operation test).

use super::{Finding, SURELY_ACCUSED};
use crate::distributor::fit::FitResult;
use crate::distributor::fit::specification::{lower, middle, upper};
use crate::distributor::fit::summary::share;
use crate::record::fit::Subject;
use crate::sheet::Specification;
use crate::words::number::whole;

/// Speeds at which the ramps are held to the book.
const SPEEDS: u32 = 24;
/// The ramps are where the book gives between these shares of its greatest advance; its ends belong to start and stop.
const ON_THE_RAMPS: std::ops::RangeInclusive<f64> = 0.1..=0.8;

/// A speed with the probability that the advance there lies outside.
type Worst = (f64, f64);

pub(super) fn springs(fit: &FitResult, specification: &Specification, sees_initial: bool) -> Vec<Finding> {
    let book = &specification.centrifugal;
    let (Some(middle), Some(lower), Some(upper)) = (middle(book), lower(book), upper(book)) else { return Vec::new() };
    let (low, high) = (fit.lowest.speed, fit.highest.speed);
    let greatest = middle.breakpoints().iter().map(|point| point[1]).fold(0.0, f64::max);
    let (first, last) = (middle.breakpoints()[0][0], middle.breakpoints()[book.len() - 1][0]);
    let speeds = (0..=SPEEDS).map(|step| first + (last - first) * f64::from(step) / f64::from(SPEEDS));
    let on_the_ramps: Vec<f64> = speeds
        .filter(|&speed| (low..=high).contains(&speed) && ON_THE_RAMPS.contains(&(middle.at(speed) / greatest)))
        .collect();
    let worst = |outside: &dyn Fn(f64, f64) -> bool| -> Option<Worst> {
        let of = |speed: f64| (speed, share(fit.true_draws(), |draw| outside(speed, draw.centrifugal_at(speed))));
        on_the_ramps.iter().map(|&speed| of(speed)).max_by(|a, b| a.1.total_cmp(&b.1))
    };
    let mut findings = Vec::new();
    if let Some((speed, probability)) = worst(&|speed, advance| advance > upper.at(speed)) {
        let what = held_to(fit, speed, upper.at(speed), "at most");
        let sentence = if probability > SURELY_ACCUSED {
            format!(
                "More centrifugal advance than the book allows, {what}: weak or wrong springs. Fit springs that keep to the book, \
                 or choose the specified curve; the found one would carry the wear over."
            )
        } else {
            format!("Whether the springs are weak cannot be told, {what}: read there again, rising and falling.")
        };
        findings.push(Finding::of_probability(
            Subject::WeakSprings,
            probability,
            SURELY_ACCUSED,
            "the springs are not weak",
            sentence,
        ));
    }
    if let Some((speed, probability)) = worst(&|speed, advance| advance < lower.at(speed)) {
        let what = held_to(fit, speed, lower.at(speed), "at least");
        // Some of the advance would be hidden in an initial timing that was read on the ramp.
        let sentence = if !sees_initial {
            format!("Whether the springs are strong cannot be told, {what}: first read below the start of the advance.")
        } else if probability > SURELY_ACCUSED {
            format!(
                "Less centrifugal advance than the book allows, {what}: springs too strong or the wrong ones, or weights that bind. \
                 Clean and oil first, read again, then look at the springs."
            )
        } else {
            format!("Whether springs are strong or weights bind cannot be told, {what}: read there again.")
        };
        let threshold = if sees_initial { SURELY_ACCUSED } else { 1.0 };
        let sound = "the springs are not strong";
        findings.push(Finding::of_probability(Subject::StrongSprings, probability, threshold, sound, sentence));
    }
    if high >= last {
        let most = upper.at(high);
        let probability = share(fit.true_draws(), |draw| draw.centrifugal_at(high) > most);
        let what = held_to(fit, high, most, "at most");
        let sentence = if probability > SURELY_ACCUSED {
            format!(
                "The advance goes past its stop, {what}: the stop is worn or bent, its bush is missing, or the cam is of another \
                 distributor. Too much at full throttle holes pistons: mend it, or choose the specified curve."
            )
        } else {
            format!(
                "Whether the advance goes past its stop cannot be told, {what}: read at the top again, three times."
            )
        };
        let sound = "the advance keeps to its stop";
        findings.push(Finding::of_probability(Subject::PastTheStop, probability, SURELY_ACCUSED, sound, sentence));
    }
    findings
}

fn held_to(fit: &FitResult, speed: f64, bound: f64, at: &str) -> String {
    let found = fit.found.at(speed) - fit.found.breakpoints()[0][1];
    format!("{found:.1} crank degrees at {speed} crank rpm where it says {at} {bound:.1}", speed = whole(speed))
}
