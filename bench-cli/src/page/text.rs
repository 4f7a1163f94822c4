//! A bench result as text: the table of test points, the summary, the verdict.
//!
//! The header and each row have fixed widths, so that rows can be printed as test points are measured.

use super::columns::Columns;
use super::columns::Lie;
use super::lines::line;
use crate::proof::verdict::{error_in_words, with_side};
use crate::record::bench::{
    BenchResult, Direction, Disturbance, DisturbedResult, EstimateResult, EveryPulseResult, RegressionResult,
    SingleSparksResult, TestPointResult,
};
use crate::record::verdict::Verdict;
use crate::words::number::{count, fixed, short as shortened, whole};
use crate::words::wrap::paragraph;
use anstyle::{AnsiColor, Style};

/// Whether the word of the verdict is coloured; nothing else ever is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Colour {
    /// No escape sequences.
    Plain,
    /// ANSI escape sequences around the word of the verdict.
    Ansi,
}

/// The columns of the table of test points; the verdict, last, is not padded.
const TABLE: Columns = {
    const fn figures(width: usize) -> (usize, Lie, usize) {
        (width, Lie::Right, 1)
    }
    Columns {
        each: &[
            (6, Lie::Right, 0),
            figures(5),
            figures(4),
            figures(5),
            figures(10),
            figures(5),
            figures(4),
            figures(5),
            figures(5),
            figures(5),
            figures(6),
            (9, Lie::Left, 1),
        ],
    }
};

/// The lines above the rows of the test points, ended by a line feed.
pub fn header() -> String {
    let names = ["speed", "vac.", "", "want", "error", "scat-", "U", "B", "pulse", "miss/", "", ""];
    let units = ["rpm", "kPa", "", "BTDC", "", "ter", "", "", "apart", "extra", "sparks", "verdict"];
    let mut text = String::new();
    let note = "Each test point. Speeds in crank rpm, vacuum in kPa of depression, reached going up or down, angles in crank degrees. \
                Scatter: of single sparks, standard deviation. U: how far chance may have moved the mean, twice its standard \
                uncertainty (k = 2). B: how far the bench itself may be off; it is added to U. Pulse apart: the most that one pulse \
                differs from the others. Miss/extra: missing and extra sparks.";
    paragraph(&mut text, "", note);
    text + &TABLE.lines(&[&names, &units])
}

/// One test point as a row, ended by a line feed.
pub fn row(point: &TestPointResult) -> String {
    let unknown = || "?".to_owned();
    let cells = [
        whole(point.speed_crank_rpm),
        format!("{:.1}", point.depression_kpa),
        match point.direction {
            Direction::Rising => "up".to_owned(),
            Direction::Falling => "down".to_owned(),
        },
        fixed(point.wanted_crank_degrees, 2),
        point.mean_error_crank_degrees_early.map_or_else(unknown, short),
        format!("{:.2}", point.scatter_crank_degrees),
        point.uncertainty_crank_degrees.map_or_else(unknown, |u| format!("{u:.2}")),
        format!("{:.2}", point.bound_crank_degrees),
        format!("{:.2}", point.pulse_spread_crank_degrees),
        format!("{}/{}", point.missing, point.extra),
        count(point.pulses - point.missing + point.extra),
        point.verdict.word().to_owned(),
    ];
    TABLE.lines(&[&cells])
}

/// The whole result: table, then [`summary`].
#[cfg(test)]
pub fn render(result: &BenchResult, colour: Colour) -> String {
    let rows: String = result.test_points.iter().map(row).collect();
    format!("{}\n{}{rows}\n{}", opening(result), header(), summary(result, colour))
}

/// What stands above the table: sheet, source of the curve, limits, how it is benched.
pub fn opening(result: &BenchResult) -> String {
    let mut text = String::new();
    paragraph(&mut text, "", &format!("{} ({})", result.sheet.name, result.sheet.file));
    if let Some(readings) = &result.curve_source.readings_file {
        line(&mut text, "readings", readings);
    }
    for statement in &result.curve_source.statements {
        line(&mut text, "curve", statement);
    }
    for statement in &result.limits.statements {
        line(&mut text, "limit", statement);
    }
    let settings = &result.settings;
    line(&mut text, "benched by", &settings.source);
    if let Some(simulate) = &settings.simulate {
        line(&mut text, "simulated", simulate);
    }
    if let Some(seed) = settings.seed {
        line(&mut text, "seed", &seed.to_string());
    }
    let tolerances = format!(
        "{:.2} crank degrees settled, {:.2} on ramps",
        settings.tolerance_crank_degrees, settings.tolerance_ramp_crank_degrees
    );
    line(&mut text, "tolerance", &tolerances);
    text
}

/// What stands below the table: figures, the list that makes U and B, findings, verdict, what to do next, what was not proven.
pub fn summary(result: &BenchResult, colour: Colour) -> String {
    let mut text = String::new();
    settled(&mut text, result);
    others(&mut text, result);
    if let Some(regression) = &result.regression {
        estimates(&mut text, regression);
    }
    bound(&mut text, result);
    text.push('\n');
    ending(&mut text, result, colour);
    text
}

/// Why the run was broken off, what is wrong, the verdict, what to do next, what was not proven.
fn ending(text: &mut String, result: &BenchResult, colour: Colour) {
    if let Some(reason) = &result.broken_off {
        line(text, "broken off", reason);
    }
    causes(text, result);
    verdict(text, result, colour);
    what_now(text, result);
}

/// What is wrong, each with what to look at.
pub(super) fn causes(text: &mut String, result: &BenchResult) {
    for finding in &result.findings {
        paragraph(text, "- ", &finding.sentence);
    }
}

/// The verdict with its counts.
pub(super) fn verdict(text: &mut String, result: &BenchResult, colour: Colour) {
    let counts = &result.counts;
    let counted = format!(
        "{} of {} test points passed, {} failed, {} undecided",
        counts.passed, counts.planned_test_points, counts.failed, counts.undecided
    );
    // The word alone is coloured, and colours take no columns.
    let word = result.verdict.word();
    let mut lines = String::new();
    if result.assumptions.is_empty() {
        paragraph(&mut lines, &format!("verdict: {word}   "), &counted);
    } else {
        paragraph(&mut lines, "verdict: ", &format!("{word} ({})", result.rests_on()));
        paragraph(&mut lines, "points        ", &counted);
    }
    text.push_str(&lines.replacen(word, &coloured(result.verdict, colour), 1));
}

/// What to do next, and what was not proven.
pub(super) fn what_now(text: &mut String, result: &BenchResult) {
    paragraph(text, "next: ", &result.next_step());
    for sentence in &result.not_proven {
        paragraph(text, "not proven: ", sentence);
    }
}

/// Speed and vacuum of a test point.
pub(super) fn place(point: &TestPointResult) -> String {
    let vacuum = match point.depression_kpa {
        kpa if kpa < 0.05 => "without vacuum".to_owned(),
        kpa => format!("{kpa:.1} kPa of vacuum"),
    };
    format!("{} crank rpm, {vacuum}", whole(point.speed_crank_rpm))
}

fn settled(text: &mut String, result: &BenchResult) {
    let points = &result.test_points;
    if points.is_empty() {
        return;
    }
    let errors: Vec<(f64, &TestPointResult)> =
        points.iter().filter_map(|point| Some((point.mean_error_crank_degrees_early?, point))).collect();
    if let Some((greatest, at)) = errors.iter().max_by(|a, b| a.0.abs().total_cmp(&b.0.abs())) {
        #[expect(clippy::cast_precision_loss, reason = "counts of test points")]
        let mean = errors.iter().map(|(error, _)| error).sum::<f64>() / errors.len() as f64;
        let figures = format!("{}; the greatest {} at {}", error_in_words(mean), error_in_words(*greatest), place(at));
        line(text, "mean error", &figures);
    }
    let greatest = |value: fn(&TestPointResult) -> f64| points.iter().map(value).fold(0.0, f64::max);
    let scatter = greatest(|point| point.scatter_crank_degrees);
    line(text, "scatter", &format!("at most {scatter:.2} crank degrees, the standard deviation of single sparks"));
    let spread = greatest(|point| point.pulse_spread_crank_degrees);
    line(text, "pulses apart", &format!("at most {spread:.2} crank degrees between the pulses of two turns"));
    sparks(text, result);
    let least = points.iter().filter_map(|point| point.dwell).map(|dwell| dwell.least_ms).fold(f64::INFINITY, f64::min);
    let longest = points.iter().filter_map(|point| point.dwell).map(|dwell| dwell.greatest_ms).fold(0.0, f64::max);
    if least.is_finite() {
        line(text, "dwell", &format!("{least:.2} to {longest:.2} ms"));
    }
    line(text, "energy", &energy(result));
    if let Some(by_speed) = energy_by_speed(result) {
        line(text, "by speed", &by_speed);
    }
}

/// As [`sparks`], in two lines.
pub(super) fn sparks_in_short(text: &mut String, result: &BenchResult) {
    let counts = &result.counts;
    let said = format!("{} missing, {} extra, of {}", count(counts.missing), count(counts.extra), count(counts.pulses));
    if let Some(single) = &result.single_sparks {
        line(text, "worst spark", &worst_spark_in_words(single, &result.test_points));
        let allowed = result.settings.tolerance_crank_degrees;
        let outside = count(single.outside);
        line(text, "sparks", &format!("{said}; {outside} further off than the {allowed:.2} allowed"));
    } else {
        line(text, "sparks", &said);
    }
}

/// How many sparks came, how many strayed, and the worst.
pub(super) fn sparks(text: &mut String, result: &BenchResult) {
    let (points, counts) = (&result.test_points, &result.counts);
    let sparks = format!(
        "{} missing, {} extra, of {}",
        count(counts.missing),
        count(counts.extra),
        format_args!("{} pulses", count(counts.pulses))
    );
    line(text, "sparks", &sparks);
    if let Some(single) = &result.single_sparks {
        line(text, "strays", &strays_in_words(single));
        line(text, "worst spark", &worst_spark_in_words(single, points));
    }
}

/// The least energy of a run in few words.
pub(super) fn energy_in_short(result: &BenchResult) -> String {
    let coil = result.settings.coil.as_ref();
    let energies = result.test_points.iter().filter_map(|point| point.dwell?.energy_mj);
    let least = energies.fold(f64::INFINITY, f64::min);
    match (least.is_finite(), coil.and_then(|coil| coil.least_energy_mj)) {
        (false, _) => "not worked out: `--details` says why".to_owned(),
        (true, Some(asked)) => {
            format!("at least {} mJ, worked out; the sheet asks for {} mJ", fixed(least, 1), shortened(asked, 1))
        }
        (true, None) => {
            format!("at least {} mJ, worked out; no `least_energy` in the sheet: not judged", fixed(least, 1))
        }
    }
}

/// What the coil holds at its shortest dwells, and what it is held to.
pub(super) fn energy(result: &BenchResult) -> String {
    let Some(coil) = &result.settings.coil else {
        return "not worked out: the sheet does not say what coil it is".to_owned();
    };
    let least = result
        .test_points
        .iter()
        .filter_map(|point| Some((point, point.dwell?.energy_mj?)))
        .min_by(|a, b| a.1.total_cmp(&b.1));
    let (Some((point, least)), Some(volts)) = (least, coil.battery_volts) else {
        return "not worked out: the battery's voltage or the dwell is not known".to_owned();
    };
    let held_to = coil.least_energy_mj.map_or_else(
        || "no least energy in the sheet: not judged".to_owned(),
        |asked| format!("the sheet asks for {} mJ", shortened(asked, 1)),
    );
    format!(
        "at least {} mJ, at {} crank rpm, worked out from the dwell at {} V and not measured; {held_to}",
        fixed(least, 1),
        fixed(point.speed_crank_rpm, 0),
        shortened(volts, 1)
    )
}

/// The least energy at each speed; neighbours that have the same to 0.5 mJ are said together. Nothing where it is not known.
pub(super) fn energy_by_speed(result: &BenchResult) -> Option<String> {
    let mut speeds: Vec<(f64, f64)> = Vec::new();
    for point in &result.test_points {
        let Some(energy) = point.dwell.and_then(|dwell| dwell.energy_mj) else { continue };
        match speeds.iter_mut().find(|(speed, _)| (speed - point.speed_crank_rpm).abs() < 0.5) {
            Some((_, least)) => *least = least.min(energy),
            None => speeds.push((point.speed_crank_rpm, energy)),
        }
    }
    speeds.sort_by(|a, b| a.0.total_cmp(&b.0));
    let together = |a: &(f64, f64), b: &(f64, f64)| (a.1 - b.1).abs() <= 0.5;
    let said = speeds.chunk_by(together).map(|group| {
        let least = group.iter().map(|(_, energy)| *energy).fold(f64::INFINITY, f64::min);
        let (first, last) = (fixed(group[0].0, 0), fixed(group[group.len() - 1].0, 0));
        let from_to = if first == last { first } else { format!("{first} to {last}") };
        format!("{} mJ at {from_to} crank rpm", fixed(least, 1))
    });
    let said = said.collect::<Vec<_>>().join(", ");
    (!said.is_empty()).then_some(said)
}

/// How many came outside the tolerance, and how many may at most.
fn strays_in_words(single: &SingleSparksResult) -> String {
    let counted = format!("{} of {} sparks outside tolerance", count(single.outside), count(single.judged));
    if single.verdict == Verdict::Fail {
        return counted;
    }
    format!("{counted}: fewer than 1 in {}, with 95 % confidence", whole((1.0 / single.greatest_share).floor()))
}

fn worst_spark_in_words(single: &SingleSparksResult, points: &[TestPointResult]) -> String {
    let worst = points.iter().max_by(|a, b| worst_spark(a).total_cmp(&worst_spark(b)));
    let at = worst.map(|at| format!(" at {}", place(at))).unwrap_or_default();
    format!("{}{at}", error_in_words(single.worst_crank_degrees_early))
}

fn worst_spark(point: &TestPointResult) -> f64 {
    point.worst_spark_crank_degrees_early.unwrap_or_default().abs()
}

fn others(text: &mut String, result: &BenchResult) {
    each_besides(result, |name, figures, _| line(text, name, figures));
}

/// Cranking, ramps and disturbed pulses: the name, the figures with the verdict's word, the verdict.
pub(super) fn each_besides(result: &BenchResult, mut tell: impl FnMut(&'static str, &str, Verdict)) {
    for cranking in &result.cranking {
        let swing = if cranking.swing > 1.0 { format!(", swing {:.0}:1", cranking.swing) } else { String::new() };
        let figures = format!(
            "{} crank rpm{swing}: {} missing, {} extra, of {} pulses; {}: {}",
            whole(cranking.speed_crank_rpm),
            cranking.missing,
            cranking.extra,
            count(cranking.pulses),
            cranking.statement,
            cranking.verdict.word()
        );
        tell("cranking", &figures, cranking.verdict);
    }
    for ramp in &result.ramps {
        let figures = format!(
            "{} to {} crank rpm at {} crank rpm per s: greatest {} at {} crank rpm, {} missing, {} extra: {}",
            whole(ramp.from_crank_rpm),
            whole(ramp.to_crank_rpm),
            whole(ramp.acceleration_crank_rpm_per_s),
            error_in_words(ramp.greatest_error_crank_degrees_early),
            whole(ramp.at_crank_rpm),
            ramp.missing,
            ramp.extra,
            ramp.verdict.word()
        );
        tell("ramp", &figures, ramp.verdict);
    }
    if let Some(every) = &result.every_pulse {
        tell("every pulse", &every_pulse_in_words(every), every.verdict);
    }
    for disturbed in &result.disturbed_pulses {
        tell(disturbance(disturbed), &disturbed_in_words(disturbed), disturbed.verdict);
    }
}

pub(super) fn every_pulse_in_words(every: &EveryPulseResult) -> String {
    let worst = match every.outside {
        0 => String::new(),
        _ => format!(", the worst {} beyond what the speed allows", error_in_words(every.worst_crank_degrees_early)),
    };
    let upsets = match (every.upsets, every.planned_upsets) {
        (0, _) => String::new(),
        (upsets, planned) => format!("; flanks lost or too many {upsets} times, {planned} of them planned"),
    };
    format!(
        "{} from idle to the greatest speed, at test points and between them: {} without a spark, {} sparks too many, {} outside \
         tolerance{worst}{upsets}; fewer than 1 in {} (95 %): {}",
        count(every.pulses),
        count(every.missing),
        count(every.extra),
        count(every.outside),
        whole((1.0 / every.greatest_share).floor()),
        every.verdict.word()
    )
}

fn disturbance(disturbed: &DisturbedResult) -> &'static str {
    match disturbed.disturbance {
        Disturbance::LostPulse => "lost pulse",
        Disturbance::FalsePulse => "false pulse",
    }
}

fn disturbed_in_words(disturbed: &DisturbedResult) -> String {
    if !disturbed.confirmed {
        return format!(
            "at {} crank rpm: the stimulator did not make it in time, three times over. Let the computer do nothing else, look at \
             the cable, and bench again: {}",
            whole(disturbed.speed_crank_rpm),
            disturbed.verdict.word()
        );
    }
    format!(
        "at {} crank rpm: at most {:.1} crank degrees early ({:.1} allowed) and {:.1} late ({:.1} allowed), {} missing, {} extra, \
         {} after five good edges: {}",
        whole(disturbed.speed_crank_rpm),
        disturbed.greatest_early_crank_degrees,
        disturbed.stated_early_crank_degrees,
        disturbed.greatest_late_crank_degrees,
        disturbed.stated_late_crank_degrees,
        disturbed.missing,
        disturbed.extra,
        if disturbed.right_again { "right again" } else { "not right again" },
        disturbed.verdict.word()
    )
}

/// Offset, lag, up against down and vacuum, each with its uncertainty.
pub(super) fn estimates_in_words(regression: &RegressionResult) -> Vec<(&'static str, String)> {
    let (offset, lag) = (&regression.offset_crank_degrees_early, &regression.lag_us);
    let mut said = Vec::new();
    for (name, none, positive, negative, places, unit, estimate) in [
        ("offset", "offset", "early", "late", 3, "crank degrees", offset),
        ("lag", "lag", "later with speed", "earlier with speed", 1, "us", lag),
        (
            "up or down",
            "difference",
            "later after the speed rose than after it fell",
            "earlier after the speed rose than after it fell",
            3,
            "crank degrees",
            &regression.up_against_down_crank_degrees,
        ),
        (
            "vacuum",
            "shortfall",
            "too little at full vacuum",
            "too much at full vacuum",
            3,
            "crank degrees",
            &regression.vacuum_shortfall_crank_degrees,
        ),
    ] {
        let Some(EstimateResult { value, expanded_uncertainty: u, .. }) = estimate else { continue };
        // An interval that holds 0 shows no side.
        let what = if value.abs() <= *u {
            format!("no {none} seen (within {:.places$} {unit})", value.abs() + u)
        } else {
            let side = if *value < 0.0 { negative } else { positive };
            format!("{:.places$} {unit} {side}, give or take {u:.places$} {unit} (U)", value.abs())
        };
        said.push((name, what));
    }
    said
}

fn estimates(text: &mut String, regression: &RegressionResult) {
    for (name, what) in estimates_in_words(regression) {
        line(text, name, &what);
    }
    if !regression.not_told_apart.is_empty() {
        line(
            text,
            "not told",
            &format!("{}: these test points show it as they show the others", regression.not_told_apart.join(", ")),
        );
    }
    let (offset, lag) = (&regression.offset_crank_degrees_early, &regression.lag_us);
    if let (Some(offset), Some(lag)) = (offset, lag) {
        text.push('\n');
        let note =
            "What makes U: each part as a standard uncertainty; U is twice the root of the sum of their squares.";
        paragraph(text, "", note);
        text.push_str(&PARTS.lines(&[&["", "offset", "lag"], &["", "crank degrees", "us"]]));
        for (offset, lag) in offset.parts.iter().zip(&lag.parts) {
            let (degrees, us) = (offset.standard_uncertainty, lag.standard_uncertainty);
            text.push_str(&PARTS.lines(&[&[offset.name.clone(), format!("{degrees:.4}"), format!("{us:.2}")]]));
        }
        for (name, of) in [
            ("by scatter alone, k = 2", (|one| one.by_scatter) as fn(&EstimateResult) -> Option<f64>),
            ("beside it at most, added up", |one| one.bound),
        ] {
            if let (Some(degrees), Some(us)) = (of(offset), of(lag)) {
                text.push_str(&PARTS.lines(&[&[name.to_owned(), format!("{degrees:.4}"), format!("{us:.2}")]]));
            }
        }
        if regression.reduced_chi_square > 1.0 {
            let widened = format!(
                "The scatter is taken as wider than it was, since the test points scatter more about the fitted offset and lag than \
                 their own sparks explain (chi-square over its degrees of freedom: {:.2}).",
                regression.reduced_chi_square
            );
            paragraph(text, "  ", &widened);
        }
    }
}

/// The columns of what makes U and B.
const PARTS: Columns = Columns { each: &[(44, Lie::Left, 2), (13, Lie::Right, 1), (8, Lie::Right, 1)] };

fn bound(text: &mut String, result: &BenchResult) {
    let widest = result.test_points.iter().max_by(|a, b| a.bound_crank_degrees.total_cmp(&b.bound_crank_degrees));
    let Some(point) = widest else { return };
    let parts = &point.bound_parts;
    text.push('\n');
    let note = format!("B is at most {:.3} crank degrees, at {}, the sum of:", point.bound_crank_degrees, place(point));
    paragraph(text, "", &note);
    for (name, value) in [
        ("rounding in the ignition's arithmetic", parts.core_crank_degrees),
        ("half a step (tick) of the stimulator's clock", parts.tick_bench_crank_degrees),
        ("half a step (tick) of the ignition's clock", parts.tick_ignition_crank_degrees),
        ("tolerance of the clocks", parts.clocks_crank_degrees),
        ("half a step of the vacuum sent to the box", parts.vacuum_step_crank_degrees),
    ] {
        text.push_str(&PARTS.lines(&[&[name, &format!("{value:.4}"), ""]]));
    }
}

fn short(error: f64) -> String {
    if error.abs() < 0.005 { "0.00".to_owned() } else { with_side(error, 2) }
}

fn coloured(verdict: Verdict, colour: Colour) -> String {
    let shade = match verdict {
        Verdict::Pass => AnsiColor::Green,
        Verdict::Fail => AnsiColor::Red,
        Verdict::Undecided => AnsiColor::Yellow,
    };
    let style = match colour {
        Colour::Plain => Style::new(),
        Colour::Ansi => Style::new().bold().fg_color(Some(shade.into())),
    };
    format!("{style}{}{style:#}", verdict.word())
}

#[cfg(test)]
pub(crate) mod tests;
