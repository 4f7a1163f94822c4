//! A bench result on one screen: the verdict, its worst, what is wrong, what to do, what it did not prove.

use super::lines::line;
use super::text::{self, Colour};
use crate::proof::verdict::error_in_words;
use crate::record::bench::{BenchResult, Disturbance, TestPointResult};
use crate::record::verdict::Verdict;
use crate::words::number::whole;
use crate::words::wrap::paragraph;

/// The result in some twenty lines; [`text::summary`] has all of it.
pub fn render(result: &BenchResult, colour: Colour) -> String {
    let mut text = String::new();
    paragraph(&mut text, "", &format!("{} ({})", result.sheet.name, result.sheet.file));
    line(&mut text, "benched by", &benched_by(result));
    text.push('\n');
    text::verdict(&mut text, result, colour);
    if let Some(reason) = &result.broken_off {
        line(&mut text, "broken off", reason);
    }
    let points = &result.test_points;
    if let Some(worst) = worst(points) {
        line(&mut text, "worst point", &worst);
    }
    if !points.is_empty() {
        text::sparks_in_short(&mut text, result);
        line(&mut text, "energy", &text::energy_in_short(result));
    }
    besides(&mut text, result);
    limits(&mut text, result);
    result.curve_source.remarks.iter().for_each(|remark| line(&mut text, "curve", remark));
    text.push('\n');
    text::causes(&mut text, result);
    text::what_now(&mut text, result);
    paragraph(&mut text, "details: ", "the same command with `--details`");
    text
}

fn benched_by(result: &BenchResult) -> String {
    let settings = &result.settings;
    let simulated = settings.simulate.as_ref().map(|simulate| format!(", with {simulate}")).unwrap_or_default();
    format!("{}{simulated}", settings.source)
}

fn limits(text: &mut String, result: &BenchResult) {
    if result.limits.kept {
        line(text, "limits", &format!("all {} kept", result.limits.statements.len()));
    } else {
        result.limits.statements.iter().for_each(|statement| line(text, "limits", statement));
    }
}

/// The test point whose mean is furthest off.
fn worst(points: &[TestPointResult]) -> Option<String> {
    let error = |point: &TestPointResult| point.mean_error_crank_degrees_early;
    let worst = points.iter().filter(|point| error(point).is_some()).max_by(|a, b| {
        let size = |point: &TestPointResult| error(point).unwrap_or_default().abs();
        size(a).total_cmp(&size(b))
    })?;
    Some(format!("{} at {}", error_in_words(error(worst)?), text::place(worst)))
}

/// Cranking, ramps and disturbed pulses: those of one verdict in one line, and the speeds where not all of a kind passed.
fn besides(text: &mut String, result: &BenchResult) {
    let all = trials(result);
    for verdict in [Verdict::Fail, Verdict::Undecided, Verdict::Pass] {
        let mut names: Vec<&str> = Vec::new();
        for (name, _, _) in all.iter().filter(|(_, _, found)| *found == verdict) {
            if !names.contains(name) {
                names.push(name);
            }
        }
        let said: Vec<String> = names
            .into_iter()
            .map(|name| {
                let of_name = all.iter().filter(|(other, _, _)| *other == name);
                if of_name.clone().all(|(_, speeds, found)| *found == Verdict::Pass || speeds.is_empty()) {
                    return name.to_owned();
                }
                let mut speeds: Vec<&str> =
                    of_name.filter(|(_, _, found)| *found == verdict).map(|(_, speeds, _)| speeds.as_str()).collect();
                speeds.dedup();
                format!("{name} at {} crank rpm", speeds.join(" and "))
            })
            .collect();
        if !said.is_empty() {
            line(text, "besides", &format!("{}: {}", verdict.word(), said.join(", ")));
        }
    }
}

/// Everything that is no settled test point: its name, its speeds, its verdict.
fn trials(result: &BenchResult) -> Vec<(&'static str, String, Verdict)> {
    let cranking = result.cranking.iter().map(|trial| ("cranking", whole(trial.speed_crank_rpm), trial.verdict));
    let ramps = result
        .ramps
        .iter()
        .map(|ramp| ("ramp", format!("{} to {}", whole(ramp.from_crank_rpm), whole(ramp.to_crank_rpm)), ramp.verdict));
    let every = result.every_pulse.iter().map(|every| ("every pulse", String::new(), every.verdict));
    let disturbed = result.disturbed_pulses.iter().map(|trial| {
        let name = match trial.disturbance {
            Disturbance::LostPulse => "lost pulse",
            Disturbance::FalsePulse => "false pulse",
        };
        (name, whole(trial.speed_crank_rpm), trial.verdict)
    });
    cranking.chain(ramps).chain(every).chain(disturbed).collect()
}
