//! A bench result on one screen: what it comes to, its worst, what is wrong, what to do, what it did not prove.

use super::text::{self, Colour, line};
use crate::proof::verdict::error_in_words;
use crate::record::bench::{BenchResult, TestPointResult};
use crate::record::verdict::Verdict;
use crate::words::wrap::paragraph;

/// The result in some twenty lines of at most 80 columns; [`text::render`] has all of it.
pub fn render(result: &BenchResult, colour: Colour) -> String {
    let mut text = format!("{} ({})\n", result.sheet.name, result.sheet.file);
    line(&mut text, "benched by", &benched_by(result));
    result.curve_source.remarks.iter().for_each(|remark| line(&mut text, "curve", remark));
    limits(&mut text, result);
    let points = &result.test_points;
    if !points.is_empty() {
        if let Some(worst) = worst(points) {
            line(&mut text, "worst point", &worst);
        }
        text::sparks(&mut text, result);
        line(&mut text, "energy", &text::energy_in_short(result));
    }
    besides(&mut text, result);
    text.push('\n');
    text::ending(&mut text, result, colour);
    paragraph(&mut text, "all of it: ", "the same command with `--details`");
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
    Some(format!(
        "{} at {:.0} crank rpm, {:.1} kPa of vacuum",
        error_in_words(error(worst)?),
        worst.speed_crank_rpm,
        worst.depression_kpa
    ))
}

/// Cranking, ramps and disturbed pulses: whatever did not pass in full, the others by name.
fn besides(text: &mut String, result: &BenchResult) {
    let mut passed: Vec<&str> = Vec::new();
    text::each_besides(result, |name, figures, verdict| {
        if verdict != Verdict::Pass {
            line(text, name, figures);
        } else if !passed.contains(&name) {
            passed.push(name);
        }
    });
    if !passed.is_empty() {
        line(text, "besides", &format!("{}: pass", passed.join(", ")));
    }
}
