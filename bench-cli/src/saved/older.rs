//! Results of older forms, brought to the form of today.

use super::Record;
use crate::proof::verdict::NOT_PROVEN_SIMULATED;
use crate::record::bench::{SCHEMA, SIMULATION, STIMULATOR_AT, TRACE};
use serde_json::{Value, json};

/// The form of bench results that does not say by a field of its own what was benched.
pub(super) const BENCH: &str = "bobweight-result/1";

/// What an older bench did not judge.
const NOT_JUDGED: &str =
    "this bench was run by an older bobweight, which did not judge all that this one does: bench again";

/// An older bench result.
///
/// # Errors
/// Where it cannot be told beyond doubt whether it is a simulation, and where it is not whole.
pub(super) fn bench(mut value: Value) -> Result<Record, String> {
    let driven_by = driven_by(&value)?;
    value["schema"] = json!(SCHEMA);
    value["settings"]["driven_by"] = json!(driven_by);
    if let Some(open) = value["not_proven"].as_array_mut() {
        open.push(json!(NOT_JUDGED));
    }
    serde_json::from_value(value)
        .map(|result| Record::Bench(Box::new(result)))
        .map_err(|error| format!("a result of `bench` that is not whole: {error}"))
}

/// Every trace of a simulation makes it one; a box must say its place, and nothing else must stand against it.
fn driven_by(value: &Value) -> Result<&'static str, String> {
    let settings = &value["settings"];
    let source = settings["source"].as_str().unwrap_or_default();
    let said = value["not_proven"].as_array().into_iter().flatten().any(|open| open == NOT_PROVEN_SIMULATED);
    if !settings["seed"].is_null() || !settings["simulate"].is_null() || source == SIMULATION || said {
        return Ok("simulation");
    }
    match () {
        () if source.starts_with(STIMULATOR_AT) => Ok("serial_port"),
        () if source.starts_with(TRACE) => Ok("trace"),
        () => Err("it does not say whether a box or the simulation was benched".to_owned()),
    }
}
