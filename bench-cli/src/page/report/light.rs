//! What a proof with a timing light says, as a chart and sentences.

use super::chart::{Axis, Chart, Frame, Mark, Stroke};
use super::page::Html;
use crate::proof::verdict::with_side;
use crate::quantity::units::KPA_PER_INHG;
use crate::record::light::LightResult;
use crate::record::verdict::Verdict;
use crate::words::number::{fixed, whole};

/// The verdict in a sentence.
pub fn verdict(result: &LightResult) -> String {
    let place = if result.on_bench { "on the bench" } else { "on the engine" };
    let said = match result.verdict {
        Verdict::Pass => "Pass: by the timing light the sparks follow the chosen curve",
        Verdict::Fail => "FAIL: by the timing light the sparks do not follow the chosen curve",
        Verdict::Undecided => "Undecided: the timing light neither proves nor disproves the curve",
    };
    let passed = result.places.iter().filter(|place| place.verdict == Verdict::Pass).count();
    format!("{said} {place}; {passed} of {} places passed.", result.places.len())
}

/// All of it.
pub fn section(html: &mut Html, id: &str, result: &LightResult, before: Option<&LightResult>) {
    html.list(&result.opening);
    html.list(result.causes.iter().map(|cause| cause.sentence.as_str()));
    let laid_over = if before.is_some() { " Hollow: the proof before." } else { "" };
    html.figure(
        &chart(id, result, before),
        &format!(
            "Error by the timing light against speed: early above 0, late below. Squares: readings with the hose off; triangles: with \
             vacuum. Dashed: the tolerance. Dotted: the fitted offset and lag.{laid_over}"
        ),
    );
    let rows: Vec<Vec<String>> = result
        .places
        .iter()
        .map(|place| {
            let error = place.error_crank_degrees_early;
            vec![
                whole(place.speed_crank_rpm),
                if place.hose_on { "on" } else { "off" }.to_owned(),
                format!("{:.1} ({:.1})", place.depression_kpa, place.depression_kpa / KPA_PER_INHG),
                place.readings.to_string(),
                fixed(place.wanted_crank_degrees, 1),
                with_side(error.value, 1),
                format!("{} to {}", with_side(error.low, 1), with_side(error.high, 1)),
                place.verdict.word().to_owned(),
            ]
        })
        .collect();
    html.table(
        "Readings of the timing light by speed and vacuum",
        &[
            "crank rpm",
            "hose",
            "kPa (inHg) depression",
            "readings",
            "wanted BTDC",
            "error",
            "with uncertainty",
            "verdict",
        ],
        &rows,
    );
}

fn chart(id: &str, result: &LightResult, before: Option<&LightResult>) -> String {
    let tolerance = result.tolerance_crank_degrees;
    let runs: Vec<(&LightResult, bool)> =
        before.into_iter().map(|before| (before, true)).chain([(result, false)]).collect();
    let errors = runs.iter().flat_map(|(run, _)| run.readings.iter().map(|read| read.error_crank_degrees_early));
    let x =
        Axis::over("crank rpm", runs.iter().flat_map(|(run, _)| run.readings.iter().map(|read| read.speed_crank_rpm)));
    let (low, high) = (x.low, x.high);
    let mut chart = Chart::new(
        Frame::WIDE,
        &format!("{id}-error"),
        "Error by the timing light against speed",
        &result.opening.join("; "),
        x,
        Axis::over("crank degrees, early above 0", errors.chain([-tolerance * 1.2, tolerance * 1.2])),
    );
    for level in [-tolerance, tolerance] {
        chart.line(&[[low, level], [high, level]], Stroke::Dashed);
    }
    let at = |rpm: f64| [rpm, result.offset_crank_degrees_early.value - 6e-6 * rpm * result.lag_us.value];
    chart.line(&[at(low), at(high)], Stroke::Dotted);
    for (run, hollow) in runs {
        for read in &run.readings {
            let mark = if read.hose_on { Mark::Rising } else { Mark::Square };
            chart.mark([read.speed_crank_rpm, read.error_crank_degrees_early], 0.0, mark, hollow);
        }
    }
    chart.into_text()
}
