//! A fit in words, one statement a line.

use super::result::Unsettled;
use super::{ByMeter, Estimate, FitResult, Misread, VacuumFit, VacuumOutcome};
use crate::quantity::units::KPA_PER_INHG;
use crate::words::number::{fixed, whole};

/// Odds nearer to even than this leave the number of ramps open.
const CLEAR_ODDS: f64 = 10.0;

/// The found curve, each statement with its 95 % interval, and what should be read next. What is worn is told by
/// [`wear`](fn@super::wear).
pub fn sentences(fit: &FitResult) -> Vec<String> {
    let mut said = curve(fit);
    said.extend(scatter(fit));
    said.extend(corners(fit));
    said.extend(vacuum(&fit.vacuum));
    said.extend(fit.unsettled.iter().map(unsettled));
    said
}

fn curve(fit: &FitResult) -> Vec<String> {
    let mut said = vec![format!("Initial timing {}.", btdc(&fit.initial))];
    let odds = fit.odds_of_two_ramps;
    let against = if odds > 1.0 { odds } else { odds.recip() };
    let ramps = if fit.ramps == 1 { "one ramp" } else { "two ramps" };
    said.push(if against < CLEAR_ODDS {
        format!(
            "Centrifugal advance by {ramps}, but the odds are only {against:.1} to 1: read between the corners again."
        )
    } else {
        format!("Centrifugal advance by {ramps}.")
    });
    let last = fit.knots.len() - 1;
    for (at, (knot, advance)) in fit.knots.iter().zip(&fit.centrifugal).enumerate() {
        let by = fit.by_tachometer.as_ref().map(|by| by[at]);
        let speed = place(knot, by, "tachometer", 0, "crank rpm");
        let advance = interval(advance, 1, "crank degrees");
        said.push(match at {
            0 if fit.lowest.is_moving() => format!(
                "Centrifugal advance moves already at {} crank rpm, the lowest speed read: where it starts was not seen.",
                whole(fit.lowest.speed)
            ),
            0 => format!("Centrifugal advance starts at {speed}."),
            _ if at == last && fit.highest.is_moving() => {
                let highest = fit.highest.speed;
                let so_far = interval(&fit.centrifugal_at(highest), 1, "crank degrees");
                format!(
                    "Up to {} crank rpm, the highest speed read, it has given {so_far}: where it is all in was not seen.",
                    whole(highest)
                )
            }
            _ if at == last => format!("All in, {advance}, at {speed}."),
            _ => format!("The ramp changes at {speed}, where it has given {advance}."),
        });
    }
    if fit.by_tachometer.is_none() {
        said.push("Speeds stand as the tachometer showed them: the readings do not state its accuracy, as `# tachometer_accuracy = 2 %` would.".to_owned());
    }
    if fit.is_rounder() {
        said.push("This curve is rounder than straight lines: the corners are where lines fit best.".to_owned());
    }
    said
}

fn scatter(fit: &FitResult) -> Vec<String> {
    let mut said =
        vec![format!("A reading scatters by {} (standard deviation).", interval(&fit.scatter, 1, "crank degrees"))];
    if fit.read_both_ways {
        let Estimate { value, low, high } = fit.up_down;
        said.push(format!(
            "On the ramps a falling speed reads {} than a rising one ({} to {}).",
            earlier(value),
            earlier(low),
            earlier(high)
        ));
    }
    said
}

pub(super) fn misread(misread: &Misread) -> String {
    let Misread { reading, expected, probability, .. } = misread;
    let place = format!(
        "line {}: {:.1} crank degrees at {} crank rpm, {} against the curve",
        reading.line,
        reading.crank_degrees,
        whole(reading.crank_rpm),
        late_by(reading.crank_degrees - expected)
    );
    if misread.is_named() {
        format!("Misread, {place}. It is left out; read that speed again.")
    } else {
        format!("Doubtful, {place} (a misread with probability {probability:.2}). It is kept; read that speed again.")
    }
}

fn corners(fit: &FitResult) -> impl Iterator<Item = String> {
    fit.wide_corners.iter().map(|corner| {
        let speed = interval(&fit.knots[corner.knot], 0, "crank rpm");
        format!("Too few readings about the corner at {speed}: read next at {} crank rpm.", whole(corner.read_next))
    })
}

fn vacuum(outcome: &VacuumOutcome) -> Vec<String> {
    match outcome {
        VacuumOutcome::NotRead => vec!["No reading has the hose on: nothing is known of a vacuum unit.".to_owned()],
        VacuumOutcome::TooFew { readings } => vec![format!(
            "{readings} readings with the hose on tell no vacuum curve: take ten at one held speed, three of them below \
             the start and three with the unit fully in."
        )],
        VacuumOutcome::Fitted(vacuum) => vacuum_curve(vacuum),
    }
}

fn vacuum_curve(vacuum: &VacuumFit) -> Vec<String> {
    let mut said = Vec::new();
    if vacuum.leaks() {
        said.push(
            "The vacuum unit does not hold: this is what it gave while it leaked, and no curve to copy.".to_owned(),
        );
    }
    let by = |at: usize| vacuum.by_gauge.map(|by| by[at]);
    said.push(format!("Vacuum advance starts at {}.", depression(&vacuum.start, by(0))));
    said.push(if vacuum.ends_beyond() {
        format!(
            "Up to {:.1} kPa depression, the highest read, it has given {:.1} crank degrees: where it is all in was not seen.",
            vacuum.read_kpa.1,
            vacuum.found_gain()
        )
    } else {
        format!("All in, {}, at {}.", interval(&vacuum.greatest, 1, "crank degrees"), depression(&vacuum.full, by(1)))
    });
    if vacuum.by_gauge.is_none() {
        said.push("Depressions stand as the gauge showed them: the readings do not state its accuracy, as `# gauge_accuracy = 2.5 kPa` would.".to_owned());
    }
    if !vacuum.leaks() && vacuum.held_at_the_pump.is_none() {
        said.push(
            "Whether the unit holds is not known: one that leaks had less than the gauge showed, and a sound one begins sooner."
                .to_owned(),
        );
    }
    if !vacuum.rest.holds(0.0) {
        said.push(format!(
            "Below the start the hose-on readings lie {} against the hose-off curve: read both at the same speed again.",
            early_or_late(vacuum.rest.value)
        ));
    }
    said
}

fn unsettled(reason: &Unsettled) -> String {
    match reason {
        Unsettled::Readings(readings) => format!(
            "Not settled: {readings} readings with the hose off, and it takes 18, three of them at idle and three where \
             the advance rises no more."
        ),
        Unsettled::Scatter(scatter) => format!(
            "Not settled: the readings scatter by {scatter:.1} crank degrees, and from 0.8 on one ramp cannot be told \
             from two: steady the light and the speed, and read every speed again."
        ),
    }
}

fn btdc(estimate: &Estimate) -> String {
    interval(estimate, 1, "crank degrees before top dead centre")
}

fn depression(estimate: &Estimate, by: Option<ByMeter>) -> String {
    let inches = |kpa: f64| kpa / KPA_PER_INHG;
    let Estimate { value, low, high } = *estimate;
    let in_inches = Estimate { value: inches(value), low: inches(low), high: inches(high) };
    format!(
        "{}, that is {}",
        place(estimate, by, "gauge", 1, "kPa depression"),
        interval(&in_inches, 1, "inHg depression")
    )
}

/// A place on the scale of a meter; where the meter may be out, with what its interval is made of.
fn place(estimate: &Estimate, by: Option<ByMeter>, meter: &str, decimals: usize, unit: &str) -> String {
    let Estimate { value, low, high } = *estimate;
    let of = |value: f64| fixed(value, decimals);
    match by {
        None => interval(estimate, decimals, unit),
        Some(ByMeter { as_shown, within }) => format!(
            "{} {unit} ({} to {}: by the readings alone {} to {}, and the {meter} may be out by {})",
            of(value),
            of(low),
            of(high),
            of(as_shown.low),
            of(as_shown.high),
            of(within)
        ),
    }
}

pub(super) fn interval(estimate: &Estimate, decimals: usize, unit: &str) -> String {
    let Estimate { value, low, high } = estimate;
    let of = |value: &f64| fixed(*value, decimals);
    format!("{} {unit} ({} to {})", of(value), of(low), of(high))
}

fn early_or_late(degrees: f64) -> String {
    format!("{:.1} crank degrees {}", degrees.abs(), side(degrees))
}

/// As [`early_or_late`], behind another angle.
fn late_by(degrees: f64) -> String {
    format!("{:.1} {}", degrees.abs(), side(degrees))
}

fn side(degrees: f64) -> &'static str {
    if degrees < 0.0 { "late" } else { "early" }
}

fn earlier(degrees: f64) -> String {
    format!("{:.1} crank degrees {}", degrees.abs(), if degrees < 0.0 { "later" } else { "earlier" })
}
