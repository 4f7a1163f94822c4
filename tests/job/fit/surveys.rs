//! Prints invented surveys and the curves found for them as JSON, for `tests/truth/reference/fit_against_scipy.py`.

use bobweight_tests::invented::{BY_EYE, Reader, Survey};
use bobweight_tool::distributor::{FitOptions, Misread, fit};
use bobweight_tool::distributor::{Reading, SpeedWas};
use serde_json::{Value, json};

/// Surveys read with speeds held, and as many read rising and falling.
const SURVEYS: u64 = 20;
const FIRST_SEED: u64 = 60_000;

fn main() {
    let steady = Reader { rising_and_falling: false, ..BY_EYE };
    let kinds = [steady, BY_EYE];
    let surveys: Vec<Value> =
        kinds.iter().flat_map(|reader| (FIRST_SEED..FIRST_SEED + SURVEYS).map(|seed| survey(reader, seed))).collect();
    println!("{}", Value::from(surveys));
}

fn survey(reader: &Reader, seed: u64) -> Value {
    let ramps = if seed.is_multiple_of(2) { 1 } else { 2 };
    let survey = Survey::invent(ramps, reader, seed);
    let found = fit(&survey.readings, &FitOptions::default()).expect("a whole survey is fitted");
    let left_out = found.misread.filter(Misread::is_named).map(|misread| misread.index);
    let kept: Vec<&Reading> = survey
        .readings
        .readings
        .iter()
        .enumerate()
        .filter_map(|(index, reading)| (Some(index) != left_out).then_some(reading))
        .collect();
    let direction = |reading: &Reading| match reading.speed_was {
        SpeedWas::Rising => 1,
        SpeedWas::Falling => -1,
        SpeedWas::Steady => 0,
    };
    json!({
        "seed": seed,
        "crank_rpm": kept.iter().map(|reading| reading.crank_rpm).collect::<Vec<_>>(),
        "crank_degrees": kept.iter().map(|reading| reading.crank_degrees).collect::<Vec<_>>(),
        "direction": kept.iter().map(|reading| direction(reading)).collect::<Vec<_>>(),
        "breakpoints": found.found.breakpoints(),
        "up_down": found.up_down.value,
        "residual_sum": found.residual_sum,
    })
}
