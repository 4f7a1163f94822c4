//! Findings in words: what the spark does, how much, and what to look at.

use super::causes::Cause;
use super::finding::Finding;
use super::judged_point::JudgedPoint;
use super::pulses::PulseDeparture;
use super::regression::{Estimate, MeasuredPoint, Regression};
use super::setting::{Conditions, Setting};
use super::single::SingleSparks;
use crate::proof::measure::Summary;
use crate::record::bench::FindingKind;
use crate::words::number;
use crate::words::number::whole;

/// `early` for a positive error, `late` for a negative one.
pub fn early_or_late(error: f64) -> &'static str {
    if error >= 0.0 { "early" } else { "late" }
}

/// An error with its side, to so many places: `1.5 late`.
pub fn with_side(error: f64, places: usize) -> String {
    format!("{:.places$} {}", error.abs(), early_or_late(error))
}

/// An error with its side: `1.50 crank degrees late`.
pub fn error_in_words(error: f64) -> String {
    let size = error.abs();
    if size < 0.005 {
        "0.00 crank degrees".to_owned()
    } else {
        format!("{size:.2} crank degrees {}", early_or_late(error))
    }
}

fn finding(kind: FindingKind, size: f64, sentence: String) -> Finding {
    Finding { kind, sentence, size, or: Vec::new() }
}

/// Missing and extra sparks of all test points.
pub fn counts(points: &[MeasuredPoint]) -> Vec<Finding> {
    let pulses: usize = points.iter().map(|point| point.statistics.pulse_count).sum();
    let mut findings = Vec::new();
    for (kind, what, look, count) in [
        (
            FindingKind::Missing,
            "without a spark",
            "look for pickup edges that the ignition refuses, and for a dwell that finds no room between two sparks",
            points.iter().map(|point| point.statistics.missing).sum::<usize>(),
        ),
        (
            FindingKind::Extra,
            "with more than one spark",
            "look for noise on the pickup line, and for a coil that is switched off twice",
            points.iter().map(|point| point.statistics.extra).sum::<usize>(),
        ),
    ] {
        if count > 0 {
            let sentence = match kind {
                FindingKind::Missing => {
                    format!("{} of {} pulses {what}: {look}", number::count(count), number::count(pulses))
                }
                _ => format!("{} sparks too many in {} pulses: {look}", number::count(count), number::count(pulses)),
            };
            #[expect(clippy::cast_precision_loss, reason = "counts of sparks")]
            findings.push(finding(kind, count as f64, sentence));
        }
    }
    findings
}

/// One pulse of the two turns.
pub fn pulse(departure: &PulseDeparture, pulses: usize) -> Finding {
    let sentence = format!(
        "pulse {} of {pulses} sparks {} (give or take {:.2}) against the others: look how the ignition treats this pulse, and at the \
         pickup's tooth or vane that makes it",
        departure.in_cycle + 1,
        error_in_words(departure.departure),
        departure.expanded_uncertainty,
    );
    finding(FindingKind::Pulse, departure.departure, sentence)
}

/// Sparks that scatter by more than the tolerance.
pub fn scatter(points: &[MeasuredPoint], setting: &Setting) -> Option<Finding> {
    let worst = points.iter().max_by(|a, b| a.statistics.spark_scatter.total_cmp(&b.statistics.spark_scatter))?;
    let size = worst.statistics.spark_scatter;
    (size > setting.tolerance).then(|| {
        let sentence = format!(
            "single sparks scatter by up to {size:.2} crank degrees (standard deviation, at {} crank rpm), more than the \
             tolerance of {:.2}: look for noise on the pickup line, and for a vacuum sensor that flickers",
            whole(worst.conditions.speed_crank_rpm), setting.tolerance,
        );
        finding(FindingKind::Scatter, size, sentence)
    })
}

/// Single sparks outside the tolerance, with the worst of them.
pub fn single_sparks(single: &SingleSparks, points: &[JudgedPoint], setting: &Setting) -> Option<Finding> {
    let worst = points.iter().max_by(|a, b| a.single.worst.abs().total_cmp(&b.single.worst.abs()))?;
    let at = &worst.measured.conditions;
    let so = match single.outside {
        0 => "none strayed, but they are too few to say that fewer than one in 500 does: the whole plan gives enough"
            .to_owned(),
        outside => format!(
            "{} came further from where they were wanted than the tolerance of {:.2} crank degrees and what the bench itself may be \
             off (B); one in 500 is allowed. Look for noise on the pickup line, and for edges that the ignition takes wrongly",
            number::count(outside),
            setting.tolerance
        ),
    };
    let sentence = format!(
        "of {} single sparks {so}; the worst is {} at {} crank rpm and {:.1} kPa of vacuum",
        number::count(single.judged),
        error_in_words(single.worst),
        whole(at.speed_crank_rpm),
        at.depression_kpa
    );
    Some(finding(FindingKind::SingleSparks, single.worst, sentence))
}

/// What a finding of a cause is about.
pub fn kind(cause: Cause) -> FindingKind {
    match cause {
        Cause::Offset => FindingKind::Offset,
        Cause::Lag => FindingKind::Lag,
        Cause::UpDown => FindingKind::UpDown,
        Cause::VacuumShortfall => FindingKind::VacuumShortfall,
        Cause::Clock => FindingKind::Clock,
        Cause::SpeedAxis => FindingKind::SpeedAxis,
        Cause::SensorZero => FindingKind::SensorZero,
        Cause::SensorGain => FindingKind::SensorGain,
    }
}

/// One of the causes.
pub fn cause(cause: Cause, estimate: &Estimate, points: &[Conditions], setting: &Setting) -> Finding {
    let (value, u) = (estimate.value, estimate.expanded_uncertainty);
    match cause {
        Cause::Offset => offset(value, u, setting),
        Cause::Lag => {
            let top = points.iter().map(|point| point.speed_crank_rpm).fold(0.0, f64::max);
            let degrees = 6e-6 * top * value.abs();
            let sentence = if value >= 0.0 {
                format!(
                    "later with speed: a lag of {value} us (give or take {u:.1} us), which is {degrees:.2} crank degrees late at {top} crank rpm. \
                     Write the true lag into the sheet, or find what delays pickup or coil in the box",
                    value = whole(value),
                    top = whole(top)
                )
            } else {
                format!(
                    "earlier with speed: {} us (give or take {u:.1} us) less lag than the ignition makes up for, {degrees:.2} crank degrees \
                     early at {top} crank rpm. The sheet's lag is greater than the box's: correct it",
                    whole(value.abs()),
                    top = whole(top)
                )
            };
            finding(FindingKind::Lag, value, sentence)
        }
        Cause::UpDown => {
            let side = if value >= 0.0 { "later" } else { "earlier" };
            let sentence = format!(
                "where the advance rises, the spark comes {:.2} crank degrees (give or take {u:.2}) {side} after the speed rose than after it \
                 fell: the ignition follows another curve going up than coming down",
                value.abs()
            );
            finding(FindingKind::UpDown, value, sentence)
        }
        Cause::VacuumShortfall => {
            let greatest = setting.greatest_vacuum_advance();
            let (more, less) = ("too much vacuum advance", "vacuum advance missing");
            let sentence = format!(
                "at full vacuum {:.2} crank degrees (give or take {u:.2}) of {}: {:.0} % of {greatest:.1} crank degrees arrive. Look at the \
                 sensor's calibration, its hose and the atmosphere that it was read against",
                value.abs(),
                if value >= 0.0 { less } else { more },
                100.0 * (1.0 - value / greatest),
            );
            finding(FindingKind::VacuumShortfall, value, sentence)
        }
        Cause::Clock => {
            let side = if value >= 0.0 { "later" } else { "earlier" };
            let sentence = format!(
                "{side} in proportion to the delay from the flank to the spark, by {:.2} % of it (give or take {u:.2} %): the timer of the                  spark runs at another rate than the one that measures the speed. Compare the two timers' prescalers, and the constant                  that turns a period into a delay",
                value.abs()
            );
            finding(FindingKind::Clock, value, sentence)
        }
        Cause::SpeedAxis => {
            let side = if value >= 0.0 { "higher" } else { "lower" };
            let sentence = format!(
                "the centrifugal curve as it is at a speed {:.2} % {side} (give or take {u:.2} %), more than the clocks may differ by                  ({:.2} %): look at the ignition's clock, and at the number of pulses and the tick that it was given",
                value.abs(),
                100.0 * setting.clock_tolerance
            );
            finding(FindingKind::SpeedAxis, value, sentence)
        }
        Cause::SensorZero => {
            let side = if value >= 0.0 { "much" } else { "little" };
            let sentence = format!(
                "the vacuum curve as it is at {:.2} kPa too {side} (give or take {u:.2} kPa), the same at every depression: look at the                  sensor's zero, and at the atmosphere that it was read against",
                value.abs()
            );
            finding(FindingKind::SensorZero, value, sentence)
        }
        Cause::SensorGain => {
            let side = if value >= 0.0 { "much" } else { "little" };
            let sentence = format!(
                "the vacuum curve as it is at {:.2} % too {side} depression (give or take {u:.2} %): look at the sensor's volts for each kPa",
                value.abs()
            );
            finding(FindingKind::SensorGain, value, sentence)
        }
    }
}

/// An offset; named as the flank where it is the distance between the flanks, whole pulses apart or not, and nothing that
/// matters is left.
fn offset(value: f64, u: f64, setting: &Setting) -> Finding {
    // One that moves is told by all test points together.
    if let Some([distance, greatest]) = setting.flank_distance
        && greatest - distance <= 0.0
    {
        #[expect(clippy::cast_precision_loss, reason = "at most 12 pulses")]
        let spacing = 720.0 / setting.pulses_in_two_turns as f64;
        let between = value - distance;
        let apart = between - spacing * (between / spacing).round();
        if apart.abs() <= u.max(setting.matters()) {
            let sentence = format!(
                "{} by {:.2} crank degrees (give or take {u:.2}) everywhere, which is the distance between the pickup's flanks, the two \
                 edges of its signal: the ignition times sparks by the other flank. Make `flank` agree in sheet and ignition",
                early_or_late(distance),
                distance.abs(),
            );
            return finding(FindingKind::Flank, value, sentence);
        }
    }
    let sentence = format!(
        "{} by the same angle everywhere, {:.2} crank degrees (give or take {u:.2}): sheet and ignition disagree about the pickup's \
         angle or flank. Make them agree; never tune it away",
        early_or_late(value),
        value.abs(),
    );
    finding(FindingKind::Offset, value, sentence)
}

/// Sparks that are timed by a flank that moves: every one off by what that flank can lie from the one that holds its angle.
pub fn moving_flank(errors: &[Summary], setting: &Setting) -> Option<Finding> {
    let [least, greatest] = setting.flank_distance.filter(|[least, greatest]| greatest > least)?;
    #[expect(clippy::cast_precision_loss, reason = "at most 12 pulses")]
    let spacing = 720.0 / setting.pulses_in_two_turns as f64;
    let slack = setting.matters();
    let within = |error: f64| (error - (least - slack)).rem_euclid(spacing) <= greatest - least + 2.0 * slack;
    if least <= 2.0 * slack || errors.is_empty() || !errors.iter().all(|error| within(error.mean)) {
        return None;
    }
    let means: Vec<f64> = errors.iter().map(|error| error.mean).collect();
    let ends =
        means.iter().fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], &mean| [low.min(mean), high.max(mean)]);
    let mean = Summary::of(&means).mean;
    let sentence = format!(
        "early by {:.1} to {:.1} crank degrees, and the pickup's moving flank lies {least:.1} to {greatest:.1} before its zero crossing: the ignition times sparks by the flank that moves. Make `flank` agree in sheet and ignition, and change over the coil's two leads \
         if it is they",
        ends[0], ends[1]
    );
    Some(finding(FindingKind::Flank, mean, sentence))
}

/// A breakpoint that lies elsewhere in the ignition.
pub fn breakpoint(number: usize, estimate: &Estimate, setting: &Setting) -> Finding {
    let [speed, advance] = setting.centrifugal[number];
    let sentence = format!(
        "only the ramps beside breakpoint {} of the centrifugal curve ({speed} crank rpm, {advance:.1} crank degrees) are off: \
         there the spark comes {} (give or take {:.2}). Compare that breakpoint in sheet and ignition",
        number + 1,
        error_in_words(estimate.value),
        estimate.expanded_uncertainty,
        speed = whole(speed)
    );
    finding(FindingKind::Breakpoint, estimate.value, sentence)
}

/// Errors that no cause explains, although no single test point stands out.
pub fn left_over(points: &[Conditions], regression: &Regression, setting: &Setting) -> Finding {
    let worst = points.iter().zip(&regression.residuals).max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()));
    let at = worst.map_or_else(String::new, |(point, residual)| {
        format!(", most at {} crank rpm by {}", whole(point.speed_crank_rpm), error_in_words(*residual))
    });
    let sentence = format!(
        "what is off follows no cause that is known here{at}: no single cause is the same everywhere. Compare the whole curve in sheet and          ignition, to {:.2} crank degrees",
        setting.matters()
    );
    finding(FindingKind::TestPoints, worst.map_or(0.0, |(_, residual)| *residual), sentence)
}

/// Test points that nothing above explains; the three that depart most are told.
pub fn test_points(unexplained: &[(Conditions, f64)], setting: &Setting) -> Option<Finding> {
    let mut worst = unexplained.to_vec();
    worst.sort_by(|a, b| b.1.abs().total_cmp(&a.1.abs()));
    let size = worst.first()?.1;
    let told: Vec<String> = worst
        .iter()
        .take(3)
        .map(|(point, residual)| {
            format!(
                "{} crank rpm at {:.1} kPa of vacuum by {}",
                whole(point.speed_crank_rpm),
                point.depression_kpa,
                error_in_words(*residual)
            )
        })
        .collect();
    let sentence = format!(
        "{} test points are off by more than {:.2} crank degrees, and no single cause explains it: {}. Compare the whole curve in \
         sheet and ignition",
        worst.len(),
        setting.matters(),
        told.join(", "),
    );
    Some(finding(FindingKind::TestPoints, size, sentence))
}
