//! What a fit, the figures and a check say. Their files are read as plain JSON: a page of them needs a few of their fields.

use super::page::Html;
use serde_json::Value;

/// A value with its 95 % interval.
fn interval(value: &Value) -> String {
    let part = |key: &str| value[key].as_f64().map_or_else(|| "?".to_owned(), |number| format!("{number:.1}"));
    format!("{} ({} to {})", part("value"), part("low"), part("high"))
}

fn texts(list: &Value) -> impl Iterator<Item = &str> {
    list.as_array().into_iter().flatten().filter_map(Value::as_str)
}

fn field(list: &Value, key: &'static str) -> Vec<String> {
    list.as_array().into_iter().flatten().filter_map(|item| item[key].as_str()).map(str::to_owned).collect()
}

fn number(value: &Value, places: usize) -> String {
    value.as_f64().map_or_else(|| "-".to_owned(), |number| format!("{number:.places$}"))
}

/// A fit: what was found in the old distributor, and what of it is worn.
pub fn fit(html: &mut Html, result: &Value) {
    html.paragraph(&format!(
        "Found in {} readings with the hose off and {} with it on, of {}. Initial timing {} crank degrees BTDC, with its 95 % \
         interval; scatter {} crank degrees.",
        result["hose_off_readings"],
        result["hose_on_readings"],
        result["readings"].as_str().unwrap_or("?"),
        interval(&result["initial_crank_degrees"]),
        number(&result["scatter_crank_degrees"]["value"], 2)
    ));
    let rows: Vec<Vec<String>> = result["centrifugal"]
        .as_array()
        .into_iter()
        .flatten()
        .map(|row| vec![interval(&row["crank_rpm"]), interval(&row["crank_degrees"])])
        .collect();
    html.table("Centrifugal advance found, with 95 % intervals", &["crank rpm", "crank degrees"], &rows);
    if result["vacuum"].is_object() {
        let vacuum = &result["vacuum"];
        html.paragraph(&format!(
            "Vacuum advance found: from {} to {} kPa depression, {} crank degrees at most.",
            interval(&vacuum["start_kpa_depression"]),
            interval(&vacuum["full_kpa_depression"]),
            interval(&vacuum["greatest_crank_degrees"])
        ));
    }
    html.list(field(&result["findings"], "sentence"));
    html.list(texts(&result["questions"]));
}

/// The figures in every operating condition.
pub fn figures(html: &mut Html, result: &Value) {
    let rows: Vec<Vec<String>> = result["conditions"]
        .as_array()
        .into_iter()
        .flatten()
        .map(|condition| {
            let part = |key: &str| number(&condition["parts"][key], 1);
            vec![
                condition["name"].as_str().unwrap_or("?").to_owned(),
                number(&condition["speed_crank_rpm"], 0),
                number(&condition["depression_kpa"], 1),
                part("initial_crank_degrees"),
                part("centrifugal_crank_degrees"),
                part("vacuum_crank_degrees"),
                part("total_crank_degrees"),
            ]
        })
        .collect();
    html.table(
        "Advance in every operating condition, crank degrees BTDC",
        &["condition", "crank rpm", "kPa depression", "initial", "centrifugal", "vacuum", "total"],
        &rows,
    );
    html.list(texts(&result["limits"]["statements"]));
    html.list(field(&result["advice"], "sentence"));
}

/// A check of the limits.
pub fn check(html: &mut Html, result: &Value) {
    html.list(field(&result["limits"], "statement"));
    html.list(field(&result["clamp"], "statement"));
    let of_parts = ["lag", "cranking", "stuck_sensor", "climb"];
    html.list(of_parts.iter().filter_map(|part| result[*part]["statement"].as_str()));
    html.list(texts(&result["warnings"]));
    html.list(texts(&result["not_told"]));
}
