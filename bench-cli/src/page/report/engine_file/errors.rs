//! How far the benched ignition's sparks come from where the curve wants them, over speed.

use super::EngineFile;
use crate::page::report::bench;
use crate::page::report::chart::Frame;
use crate::page::report::page::Html;
use crate::proof::verdict::with_side;
use crate::record::bench::BenchResult;
use crate::words::number::{short, whole};

/// The section.
pub fn section(html: &mut Html, file: &EngineFile) {
    html.heading(2, "The bench's errors over speed");
    let Some(bench) = file.bench() else {
        return html.marked("missing", &file.no_record_of("bench", "a bench run"));
    };
    if bench.result.test_points.is_empty() {
        return html.marked("missing", &format!("{} holds no settled test point.", bench.source.file));
    }
    let whose = if bench.result.is_simulated() {
        "SIMULATED, no box was benched: it shows the arithmetic alone"
    } else {
        "a box on the bench"
    };
    let laid_over = if bench.before.is_some() { " Hollow: the run before." } else { "" };
    let caption = format!(
        "{}: {whose}. Early above 0, late below. Dashed: the tolerance, {} crank degrees. Dotted: offset and lag that explain most. \
         Triangles on their base: the speed was rising, on their tip: falling; a bar is uncertainty and bound together.{laid_over}",
        bench.source.file,
        short(bench.result.settings.tolerance_crank_degrees, 2)
    );
    let chart = bench::error(Frame::narrow(0), "bench-errors", bench.result, bench.before);
    html.picture(&chart, &caption, |html| {
        html.paragraph(&bench::verdict(bench.result));
        html.table(
            "The bench's errors by speed, over every vacuum and both directions",
            &["crank rpm", "test points", "earliest", "latest"],
            &rows(bench.result),
        );
    });
}

fn rows(result: &BenchResult) -> Vec<Vec<String>> {
    let measured = |point: &crate::record::bench::TestPointResult| {
        Some((point.speed_crank_rpm, point.mean_error_crank_degrees_early?))
    };
    let mut errors: Vec<(f64, f64)> = result.test_points.iter().filter_map(measured).collect();
    errors.sort_by(|a, b| a.0.total_cmp(&b.0));
    let same_speed = |a: &(f64, f64), b: &(f64, f64)| (a.0 - b.0).abs() < 0.5;
    errors
        .chunk_by(same_speed)
        .map(|chunk| {
            let of = |pick: fn(f64, f64) -> f64, from: f64| chunk.iter().map(|(_, error)| *error).fold(from, pick);
            vec![
                whole(chunk[0].0),
                chunk.len().to_string(),
                with_side(of(f64::max, f64::NEG_INFINITY), 2),
                with_side(of(f64::min, f64::INFINITY), 2),
            ]
        })
        .collect()
}
