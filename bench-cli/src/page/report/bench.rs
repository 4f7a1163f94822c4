//! What a bench run says, as charts and sentences; a second run is laid over it.

use super::chart::{Axis, Chart, Frame, Mark, Stroke};
use super::page::Html;
use crate::page::text::{self, every_pulse_in_words};
use crate::proof::verdict::{error_in_words, with_side};
use crate::quantity::units::KPA_PER_INHG;
use crate::record::bench::{BenchResult, Direction, EstimateResult, TestPointResult};
use crate::record::verdict::Verdict;
use crate::words::number::{count, fixed, short, whole};

/// Depressions this near are one, kPa.
const SAME_KPA: f64 = 0.05;

/// The verdict in a sentence.
pub fn verdict(result: &BenchResult) -> String {
    let counts = &result.counts;
    let said = match (result.verdict, result.is_simulated()) {
        (Verdict::Pass, false) => "Pass: the box and its program follow the chosen curve",
        (Verdict::Fail, false) => "FAIL: the box does not follow the chosen curve",
        (Verdict::Undecided, false) => "Undecided: the box neither passed nor failed",
        (Verdict::Pass, true) => "Pass in simulation only, no box was benched: the arithmetic follows the chosen curve",
        (Verdict::Fail, true) => {
            "FAIL in simulation, no box was benched: what was simulated does not follow the chosen curve"
        }
        (Verdict::Undecided, true) => "Undecided, and in simulation only: no box was benched",
    };
    let rests_on = if result.assumptions.is_empty() { String::new() } else { format!(" ({})", result.rests_on()) };
    format!(
        "{said}{rests_on}; {} of {} test points passed, {} failed, {} undecided.",
        counts.passed, counts.planned_test_points, counts.failed, counts.undecided
    )
}

/// All of one run, with another laid over it; `errors_are_drawn` elsewhere on the page.
pub fn section(html: &mut Html, result: &BenchResult, before: Option<&BenchResult>, errors_are_drawn: bool) {
    if let Some(why) = &result.broken_off {
        html.paragraph(&format!("The run was broken off: {why}"));
    }
    html.list(result.findings.iter().map(|finding| finding.sentence.as_str()));
    html.heading(3, "What was benched, and with what");
    let settings = &result.settings;
    html.definitions(&[
        ("Driven by", settings.source.clone()),
        ("Simulated faults", settings.simulate.clone().unwrap_or_else(|| "none".to_owned())),
        (
            "Tolerance",
            format!(
                "{} crank degrees settled, {} on ramps",
                short(settings.tolerance_crank_degrees, 2),
                short(settings.tolerance_ramp_crank_degrees, 2)
            ),
        ),
        ("Assumed", if result.assumptions.is_empty() { "nothing".to_owned() } else { result.assumptions.join(", ") }),
        ("Pulses in two turns", settings.pulses_in_two_turns.to_string()),
        (
            "Sparks",
            format!(
                "{} missing, {} extra, of {} pulses",
                count(result.counts.missing),
                count(result.counts.extra),
                count(result.counts.pulses)
            ),
        ),
        ("Energy", text::energy(result)),
        ("Energy by speed", text::energy_by_speed(result).unwrap_or_else(|| "not known".to_owned())),
    ]);
    if result.test_points.is_empty() {
        return;
    }
    let laid_over = if before.is_some() { " Hollow marks: the result before." } else { "" };
    html.figure(&advance(result, before), &format!(
        "Advance against speed. Lines: the chosen curve without, with half and with full vacuum; dashed: the tolerance. Triangles: \
         measured, on its base with the speed rising, on its tip falling; a bar is uncertainty and bound together.{laid_over}"
    ));
    if !errors_are_drawn {
        html.figure(&error(Frame::WIDE, "error", result, before), &format!(
            "Error against speed: early above 0, late below. Dashed: the tolerance. Dotted: the fitted offset and lag.{laid_over}"
        ));
    }
    html.definitions(&regression(result));
    html.figure(
        &scatter(result, before),
        &format!("Scatter of single sparks against speed, standard deviation.{laid_over}"),
    );
    html.figure(
        &up_against_down(result, before),
        &format!(
            "Speed rising less speed falling: 0 where the ignition does not care how it came to a speed.{laid_over}"
        ),
    );
    html.figure(
        &vacuum(result, before),
        &format!("What the vacuum adds at the highest speed. Line: wanted. Triangles: measured.{laid_over}"),
    );
    ramps(html, result);
    uncertainties(html, result);
}

/// Every settled test point: long, and so the last of the page.
pub fn test_points(html: &mut Html, result: &BenchResult) {
    let rows: Vec<Vec<String>> = result.test_points.iter().map(row).collect();
    html.table(
        "Every settled test point",
        &[
            "crank rpm",
            "kPa (inHg) depression",
            "reached",
            "wanted BTDC",
            "error",
            "U",
            "B",
            "scatter",
            "dwell, ms",
            "energy, mJ",
            "verdict",
        ],
        &rows,
    );
}

fn row(point: &TestPointResult) -> Vec<String> {
    vec![
        whole(point.speed_crank_rpm),
        format!("{:.1} ({:.1})", point.depression_kpa, point.depression_kpa / KPA_PER_INHG),
        point.direction.word().to_owned(),
        fixed(point.wanted_crank_degrees, 2),
        point.mean_error_crank_degrees_early.map_or_else(|| "not measured".to_owned(), |error| with_side(error, 2)),
        point.uncertainty_crank_degrees.map_or_else(|| "-".to_owned(), |u| format!("{u:.2}")),
        format!("{:.2}", point.bound_crank_degrees),
        format!("{:.2}", point.scatter_crank_degrees),
        point.dwell.map_or_else(|| "-".to_owned(), |dwell| fixed(dwell.least_ms, 2)),
        point.dwell.and_then(|dwell| dwell.energy_mj).map_or_else(|| "-".to_owned(), |energy| fixed(energy, 1)),
        point.verdict.word().to_owned(),
    ]
}

fn points(result: &BenchResult) -> impl Iterator<Item = (&TestPointResult, f64)> {
    result.test_points.iter().filter_map(|point| Some((point, point.mean_error_crank_degrees_early?)))
}

fn both<'a>(result: &'a BenchResult, before: Option<&'a BenchResult>) -> impl Iterator<Item = (&'a BenchResult, bool)> {
    before.into_iter().map(|before| (before, true)).chain([(result, false)])
}

fn mark_of(point: &TestPointResult) -> Mark {
    match point.direction {
        Direction::Rising => Mark::Rising,
        Direction::Falling => Mark::Falling,
    }
}

fn half_bar(point: &TestPointResult) -> f64 {
    point.uncertainty_crank_degrees.unwrap_or(0.0) + point.bound_crank_degrees
}

fn speeds(result: &BenchResult) -> Axis {
    Axis::over("crank rpm", result.test_points.iter().map(|point| point.speed_crank_rpm))
}

fn depressions(result: &BenchResult) -> Vec<f64> {
    let mut all: Vec<f64> = result.test_points.iter().map(|point| point.depression_kpa).collect();
    all.sort_by(f64::total_cmp);
    all.dedup_by(|a, b| (*a - *b).abs() < SAME_KPA);
    all
}

/// The wanted advance over speed at one depression.
fn wanted(result: &BenchResult, kpa: f64) -> Vec<[f64; 2]> {
    let there = result.test_points.iter().filter(|point| (point.depression_kpa - kpa).abs() < SAME_KPA);
    let mut line: Vec<[f64; 2]> = there.map(|point| [point.speed_crank_rpm, point.wanted_crank_degrees]).collect();
    line.sort_by(|a, b| a[0].total_cmp(&b[0]));
    line.dedup_by(|a, b| (a[0] - b[0]).abs() < 0.5);
    line
}

fn advance(result: &BenchResult, before: Option<&BenchResult>) -> String {
    let tolerance = result.settings.tolerance_crank_degrees;
    let values = result.test_points.iter().map(|point| point.wanted_crank_degrees);
    let measured = both(result, before)
        .flat_map(|(run, _)| points(run).map(|(point, error)| point.wanted_crank_degrees + error).collect::<Vec<_>>());
    let y = Axis::over("crank degrees BTDC", values.chain(measured).chain([0.0]));
    let first = wanted(result, 0.0);
    let description = format!(
        "The chosen curve without vacuum goes {}. {}",
        first
            .iter()
            .map(|[rpm, degrees]| format!("{} at {rpm} crank rpm", fixed(*degrees, 1), rpm = whole(*rpm)))
            .collect::<Vec<_>>()
            .join(", "),
        verdict(result)
    );
    let mut chart = Chart::new(Frame::WIDE, "advance", "Advance against speed", &description, speeds(result), y);
    for kpa in depressions(result) {
        let line = wanted(result, kpa);
        chart.line(&line, Stroke::Solid);
        for shift in [-tolerance, tolerance] {
            chart.line(&line.iter().map(|[x, y]| [*x, y + shift]).collect::<Vec<_>>(), Stroke::Dashed);
        }
        if let Some(&end) = line.last() {
            chart.label(end, &format!("{kpa:.1} kPa"));
        }
    }
    for (run, hollow) in both(result, before) {
        for (point, error) in points(run) {
            let at = [point.speed_crank_rpm, point.wanted_crank_degrees + error];
            chart.mark(at, half_bar(point), mark_of(point), hollow);
        }
    }
    chart.into_text()
}

/// Errors over speed with the tolerance, and what explains most of them: an offset and a lag.
pub fn error(frame: Frame, id: &str, result: &BenchResult, before: Option<&BenchResult>) -> String {
    let tolerance = result.settings.tolerance_crank_degrees;
    let measured = both(result, before).flat_map(|(run, _)| points(run).map(|(_, error)| error).collect::<Vec<_>>());
    let y = Axis::over("crank degrees, early above 0", measured.chain([-tolerance * 1.2, tolerance * 1.2]));
    let x = speeds(result);
    let (low, high) = (x.low, x.high);
    let worst = points(result).max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()));
    let description = worst.map_or_else(String::new, |(point, error)| {
        format!(
            "The greatest error is {} at {} crank rpm; the tolerance is {} crank degrees.",
            with_side(error, 2),
            whole(point.speed_crank_rpm),
            short(tolerance, 2)
        )
    });
    let mut chart = Chart::new(frame, id, "Error against speed", &description, x, y);
    for level in [-tolerance, tolerance] {
        chart.line(&[[low, level], [high, level]], Stroke::Dashed);
    }
    if let Some(regression) = &result.regression {
        let value = |estimate: &Option<EstimateResult>| estimate.as_ref().map_or(0.0, |estimate| estimate.value);
        let (offset, lag) = (value(&regression.offset_crank_degrees_early), value(&regression.lag_us));
        let at = |rpm: f64| [rpm, offset - 6e-6 * rpm * lag];
        chart.line(&[at(low), at(high)], Stroke::Dotted);
    }
    for (run, hollow) in both(result, before) {
        for (point, error) in points(run) {
            chart.mark([point.speed_crank_rpm, error], half_bar(point), mark_of(point), hollow);
        }
    }
    chart.into_text()
}

/// Offset, lag and the like, in the words of the bench.
fn regression(result: &BenchResult) -> Vec<(&'static str, String)> {
    let Some(found) = &result.regression else { return vec![("Offset and lag", "too few test points".to_owned())] };
    text::estimates_in_words(found)
}

/// What makes their uncertainties, and the bound of the test points.
fn uncertainties(html: &mut Html, result: &BenchResult) {
    let Some(found) = &result.regression else { return };
    let estimates = [
        ("offset, crank degrees", &found.offset_crank_degrees_early),
        ("lag, us", &found.lag_us),
        ("up against down, crank degrees", &found.up_against_down_crank_degrees),
        ("vacuum, crank degrees", &found.vacuum_shortfall_crank_degrees),
    ];
    let rows: Vec<Vec<String>> = estimates
        .iter()
        .flat_map(|(of, estimate)| {
            let parts = estimate.iter().flat_map(|estimate| &estimate.parts);
            parts.map(|part| vec![part.name.clone(), (*of).to_owned(), fixed(part.standard_uncertainty, 4)])
        })
        .collect();
    html.table("What makes the uncertainties U, each as a standard uncertainty", &["part", "of", "size"], &rows);
}

fn scatter(result: &BenchResult, before: Option<&BenchResult>) -> String {
    let values = both(result, before)
        .flat_map(|(run, _)| run.test_points.iter().map(|point| point.scatter_crank_degrees).collect::<Vec<_>>());
    let greatest = result.test_points.iter().map(|point| point.scatter_crank_degrees).fold(0.0, f64::max);
    let mut chart = Chart::new(
        Frame::WIDE,
        "scatter",
        "Scatter against speed",
        &format!("The greatest scatter is {greatest:.2} crank degrees."),
        speeds(result),
        Axis::over("crank degrees", values.chain([0.0, 0.1])),
    );
    for (run, hollow) in both(result, before) {
        for point in &run.test_points {
            chart.mark([point.speed_crank_rpm, point.scatter_crank_degrees], 0.0, mark_of(point), hollow);
        }
    }
    chart.into_text()
}

/// Rising less falling at each speed, without vacuum.
fn differences(result: &BenchResult) -> Vec<[f64; 3]> {
    let at = |direction| {
        points(result).filter(move |(point, _)| point.direction == direction && point.depression_kpa < SAME_KPA)
    };
    at(Direction::Rising)
        .filter_map(|(rising, up)| {
            let (falling, down) = at(Direction::Falling)
                .find(|(falling, _)| (falling.speed_crank_rpm - rising.speed_crank_rpm).abs() < 0.5)?;
            let u = |point: &TestPointResult| point.uncertainty_crank_degrees.unwrap_or(0.0);
            Some([rising.speed_crank_rpm, up - down, u(rising).hypot(u(falling))])
        })
        .collect()
}

fn up_against_down(result: &BenchResult, before: Option<&BenchResult>) -> String {
    let values = both(result, before)
        .flat_map(|(run, _)| differences(run).into_iter().flat_map(|[_, d, u]| [d - u, d + u]).collect::<Vec<_>>());
    let greatest = differences(result).iter().map(|row| row[1].abs()).fold(0.0, f64::max);
    let mut chart = Chart::new(
        Frame::WIDE,
        "up-against-down",
        "Up against down",
        &format!("The greatest difference is {greatest:.2} crank degrees."),
        speeds(result),
        Axis::over("crank degrees", values.chain([-0.1, 0.1])),
    );
    for (run, hollow) in both(result, before) {
        for [rpm, difference, u] in differences(run) {
            chart.mark([rpm, difference], u, Mark::Square, hollow);
        }
    }
    chart.into_text()
}

fn vacuum(result: &BenchResult, before: Option<&BenchResult>) -> String {
    let top = result.test_points.iter().map(|point| point.speed_crank_rpm).fold(0.0, f64::max);
    let at_top = |run: &BenchResult| -> Vec<TestPointResult> {
        run.test_points.iter().filter(|point| (point.speed_crank_rpm - top).abs() < 0.5).cloned().collect()
    };
    let without = |run: &BenchResult| {
        at_top(run).iter().find(|point| point.depression_kpa < SAME_KPA).map_or(0.0, |point| point.wanted_crank_degrees)
    };
    let rest = without(result);
    let farthest = result.test_points.iter().map(|point| point.depression_kpa).fold(0.0, f64::max);
    let line = vacuum_line(&result.settings.vacuum_breakpoints, farthest);
    let said: Vec<String> = line
        .iter()
        .map(|[kpa, degrees]| format!("{} at {} kPa depression", fixed(*degrees, 1), fixed(*kpa, 1)))
        .collect();
    let mut chart = Chart::new(
        Frame::WIDE,
        "vacuum",
        "Vacuum advance",
        &format!("Wanted: {} crank degrees.", said.join(", ")),
        Axis::over("kPa depression", line.iter().map(|point| point[0]).chain([0.0, farthest])),
        Axis::over(
            "crank degrees added",
            both(result, before)
                .flat_map(|(run, _)| {
                    at_top(run)
                        .iter()
                        .map(|point| {
                            let error = point.mean_error_crank_degrees_early.unwrap_or(0.0);
                            point.wanted_crank_degrees - rest + error - error_without(run, point)
                        })
                        .collect::<Vec<_>>()
                })
                .chain(line.iter().map(|point| point[1])),
        ),
    );
    if !line.is_empty() {
        chart.line(&line, Stroke::Solid);
    }
    for (run, hollow) in both(result, before) {
        for point in at_top(run) {
            if let Some(error) = point.mean_error_crank_degrees_early {
                let own_rest = error_without(run, &point);
                let at = [point.depression_kpa, point.wanted_crank_degrees - rest + error - own_rest];
                chart.mark(at, half_bar(&point), mark_of(&point), hollow);
            }
        }
    }
    chart.into_text()
}

/// The vacuum curve as it is: flat up to its first breakpoint, straight between them, flat from the last. Nothing where a result
/// does not know them: through the test points alone goes another curve.
fn vacuum_line(breakpoints: &[[f64; 2]], farthest_kpa: f64) -> Vec<[f64; 2]> {
    let (Some(first), Some(last)) = (breakpoints.first(), breakpoints.last()) else { return Vec::new() };
    let before = (first[0] > 0.0).then_some([0.0, first[1]]);
    let after = (farthest_kpa > last[0] + SAME_KPA).then_some([farthest_kpa, last[1]]);
    before.into_iter().chain(breakpoints.iter().copied()).chain(after).collect()
}

/// The error without vacuum at a test point's speed, reached the same way.
fn error_without(run: &BenchResult, point: &TestPointResult) -> f64 {
    let same = |other: &&TestPointResult| {
        (other.speed_crank_rpm - point.speed_crank_rpm).abs() < 0.5
            && other.depression_kpa < SAME_KPA
            && other.direction == point.direction
    };
    run.test_points.iter().find(same).and_then(|other| other.mean_error_crank_degrees_early).unwrap_or(0.0)
}

fn ramps(html: &mut Html, result: &BenchResult) {
    let mut said: Vec<String> = result
        .cranking
        .iter()
        .map(|stretch| format!("Cranking: {} ({})", stretch.statement, stretch.verdict.word()))
        .collect();
    said.extend(result.ramps.iter().map(|ramp| {
        format!(
            "Ramp from {} to {} crank rpm at {} crank rpm per s: mean error {}, the furthest {} at {} crank \
             rpm ({})",
            whole(ramp.from_crank_rpm),
            whole(ramp.to_crank_rpm),
            whole(ramp.acceleration_crank_rpm_per_s),
            error_in_words(ramp.mean_error_crank_degrees_early),
            error_in_words(ramp.greatest_error_crank_degrees_early),
            whole(ramp.at_crank_rpm),
            ramp.verdict.word()
        )
    }));
    said.extend(result.every_pulse.iter().map(|every| format!("Every pulse: {}", every_pulse_in_words(every))));
    said.extend(result.disturbed_pulses.iter().map(|disturbed| {
        let what = match disturbed.disturbance {
            crate::record::bench::Disturbance::LostPulse => "A lost pulse",
            crate::record::bench::Disturbance::FalsePulse => "A false pulse",
        };
        if !disturbed.confirmed {
            let (at, verdict) = (disturbed.speed_crank_rpm, disturbed.verdict.word());
            return format!(
                "{what} at {at} crank rpm: the stimulator did not confirm it, so nothing is known ({verdict})",
                at = whole(at)
            );
        }
        format!(
            "{what} at {} crank rpm: sparks beside it up to {:.1} crank degrees early and {:.1} late ({})",
            whole(disturbed.speed_crank_rpm),
            disturbed.greatest_early_crank_degrees.max(0.0),
            disturbed.greatest_late_crank_degrees.max(0.0),
            disturbed.verdict.word()
        )
    }));
    if !said.is_empty() {
        html.heading(3, "Cranking, ramps and disturbed pulses");
        html.list(said);
    }
}
