//! A proof with a timing light, for people.

use crate::proof::verdict::with_side;
use crate::quantity::units::KPA_PER_INHG;
use crate::record::light::{LightResult, Place};
use crate::record::verdict::Verdict;
use crate::words::number::fixed;
use crate::words::wrap::paragraph;
use std::fmt::Write;

/// The whole text.
pub fn render(result: &LightResult) -> String {
    let mut text = format!("{} ({})\n", result.sheet.name, result.sheet.file);
    let place = if result.on_bench { "on the bench" } else { "on the engine" };
    let lag = result.light_lag_us.map_or("its own lag not known".to_owned(), |lag| format!("its own lag {lag:.0} us"));
    let _ = writeln!(
        text,
        "{}: {} readings {place}; the light: {}, {lag}; scatter {:.2} crank degrees\n",
        result.readings_file,
        result.readings.len(),
        result.light.word(),
        result.scatter_crank_degrees
    );
    for sentence in &result.opening {
        paragraph(&mut text, "", sentence);
    }
    text.push('\n');
    for cause in &result.causes {
        paragraph(&mut text, "- ", &cause.sentence);
    }
    text.push_str("\nhose    speed  depression  wanted      read                  with uncertainty\n");
    text.push_str("    crank rpm         kPa    BTDC  readings  crank degrees       from            to  verdict\n");
    for place in &result.places {
        row(&mut text, place);
    }
    let _ = writeln!(
        text,
        "\nverdict: {}   within {:.1} crank degrees, uncertainty included, at {} of {} places",
        result.verdict.word(),
        result.tolerance_crank_degrees,
        result.places.iter().filter(|place| place.verdict == Verdict::Pass).count(),
        result.places.len()
    );
    for open in &result.not_proven {
        paragraph(&mut text, "not proven: ", open);
    }
    text.push_str("\nNext:\n");
    for step in &result.next_steps {
        paragraph(&mut text, "  - ", step);
    }
    text
}

/// Readings that forbid to go on, and how to begin anew.
pub fn stopped(sentence: &str, readings_file: &str) -> String {
    let mut text = String::new();
    paragraph(&mut text, "", sentence);
    let anew = format!(
        "The readings are kept in {readings_file}. Once it is mended, or where a number was mistyped, the same command begins anew: \
         answer yes there. Do not drive."
    );
    paragraph(&mut text, "", &anew);
    text
}

fn row(text: &mut String, place: &Place) {
    let error = place.error_crank_degrees_early;
    let _ = writeln!(
        text,
        "{:<4}{:>9.0}  {:>5.1} ({:>4.1} inHg)  {:>5}  {:>3}  {:>13}  {:>11}  {:>11}  {}",
        if place.hose_on { "on" } else { "off" },
        place.speed_crank_rpm,
        place.depression_kpa,
        place.depression_kpa / KPA_PER_INHG,
        fixed(place.wanted_crank_degrees, 1),
        place.readings,
        with_side(error.value, 1),
        with_side(error.low, 1),
        with_side(error.high, 1),
        place.verdict.word()
    );
}
