//! A proof with a timing light, for people.

use super::columns::Columns;
use super::columns::Lie;
use super::lines::not_proven_and_next;
use crate::proof::verdict::with_side;
use crate::quantity::units::KPA_PER_INHG;
use crate::record::light::{LightResult, Place};
use crate::record::verdict::Verdict;
use crate::words::number::{fixed, whole};
use crate::words::wrap::paragraph;

/// The whole text.
pub fn render(result: &LightResult) -> String {
    let mut text = String::new();
    paragraph(&mut text, "", &format!("{} ({})", result.sheet.name, result.sheet.file));
    let place = if result.on_bench { "on the bench" } else { "on the engine" };
    let lag = result
        .light_lag_us
        .map_or("its own lag not known".to_owned(), |lag| format!("its own lag {lag} us", lag = whole(lag)));
    let read = format!(
        "{}: {} readings {place}. The light: {}, {lag}. Single readings scatter by {:.2} crank degrees.",
        result.readings_file,
        result.readings.len(),
        result.light.word(),
        result.scatter_crank_degrees
    );
    paragraph(&mut text, "", &read);
    text.push('\n');
    for sentence in &result.opening {
        paragraph(&mut text, "", sentence);
    }
    text.push('\n');
    for cause in &result.causes {
        paragraph(&mut text, "- ", &cause.sentence);
    }
    text.push('\n');
    let note =
        "Each place, in crank degrees: what was wanted, how far off it was, and between which two that lies for sure.";
    paragraph(&mut text, "", note);
    let names = ["", "crank", "vacuum", "", "wanted", "read", "", "surely", "", ""];
    let units = ["hose", "rpm", "kPa", "inHg", "BTDC", "", "error", "from", "to", "verdict"];
    text.push_str(&TABLE.lines(&[&names, &units]));
    for place in &result.places {
        row(&mut text, place);
    }
    text.push('\n');
    let within = format!(
        "{} of {} places within {:.1} crank degrees, uncertainty included",
        result.places.iter().filter(|place| place.verdict == Verdict::Pass).count(),
        result.places.len(),
        result.tolerance_crank_degrees
    );
    paragraph(&mut text, &format!("verdict: {}   ", result.verdict.word()), &within);
    not_proven_and_next(&mut text, &result.not_proven, &result.next_steps);
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
    let unfair = "Readings that end by what they show are no fair sample: what is reckoned from them is less sure than its intervals say.";
    paragraph(&mut text, "", unfair);
    text
}

const TABLE: Columns = {
    const fn figures(width: usize) -> (usize, Lie, usize) {
        (width, Lie::Right, 1)
    }
    Columns {
        each: &[
            (4, Lie::Left, 0),
            figures(6),
            figures(6),
            figures(5),
            figures(6),
            figures(4),
            figures(10),
            figures(10),
            figures(10),
            (9, Lie::Left, 1),
        ],
    }
};

fn row(text: &mut String, place: &Place) {
    let error = place.error_crank_degrees_early;
    let cells = [
        if place.hose_on { "on" } else { "off" }.to_owned(),
        whole(place.speed_crank_rpm),
        fixed(place.depression_kpa, 1),
        fixed(place.depression_kpa / KPA_PER_INHG, 1),
        fixed(place.wanted_crank_degrees, 1),
        format!("{} x", place.readings),
        with_side(error.value, 1),
        with_side(error.low, 1),
        with_side(error.high, 1),
        place.verdict.word().to_owned(),
    ];
    text.push_str(&TABLE.lines(&[&cells]));
}
