//! What a fit found is written into a sheet.

use super::{NAME, points_into_the_file};
use bobweight_tool::distributor::readings;
use bobweight_tool::distributor::{FitOptions, fit};
use bobweight_tool::record::fit::FitRecord;
use bobweight_tool::sheet::{Changed, Choice, choose, with_found};
use std::collections::BTreeMap;
use std::fmt::Write;
use std::sync::OnceLock;
use toml_edit::{Document, Item, TableLike, Value};

/// The keys that a choice copies over.
const CHOSEN: [&str; 5] =
    ["advance.initial", "centrifugal.unit", "centrifugal.breakpoints", "vacuum.unit", "vacuum.breakpoints"];

/// Writes what was found into an accepted sheet, again, and chooses it: only what is meant to change changes.
pub fn keeps_everything_else(text: &str) {
    // One with a vacuum curve and one without, for that takes an older one out.
    for fit in fits() {
        match with_found(NAME, text, fit) {
            Ok(changed) => {
                only_these_differ(text, &changed, |key| key.starts_with("found."));
                appended_where_nothing_was_found(text, &changed.text);
                let again = with_found(NAME, &changed.text, fit).expect("what was written takes the same again");
                assert_eq!((again.text.as_str(), again.changes.len()), (changed.text.as_str(), 0));
                chosen(&changed.text);
            }
            Err(error) => points_into_the_file(&error, text),
        }
    }
}

fn chosen(text: &str) {
    match choose(NAME, text, Choice::Found) {
        Ok(changed) => only_these_differ(text, &changed, |key| CHOSEN.contains(&key)),
        Err(error) => points_into_the_file(&error, text),
    }
}

/// Every other value is written as it was, to the byte; and every change is told.
fn only_these_differ(before: &str, changed: &Changed, may: impl Fn(&str) -> bool) {
    let (before, after) = (values(before), values(&changed.text));
    for key in before.keys().chain(after.keys()) {
        let (was, is) = (before.get(key), after.get(key));
        if was != is {
            assert!(may(key), "{key} was {was:?} and is {is:?}");
            let told =
                changed.changes.iter().any(|change| key == &change.key || key.starts_with(&format!("{}.", change.key)));
            assert!(told, "nobody told that {key} was {was:?} and is {is:?}");
        }
    }
}

/// Comments and order, too: in a sheet without `[found]` all that stood there stands first.
fn appended_where_nothing_was_found(before: &str, after: &str) {
    if document(before).get("found").is_none() {
        assert!(after.starts_with(before), "{before:?} is not the beginning of {after:?}");
    }
}

fn document(text: &str) -> Document<String> {
    Document::parse(text.trim_start_matches('\u{feff}').to_owned()).expect("an accepted sheet is TOML")
}

/// Each value as it is written, by its dotted key; the place in the list where tables form one.
fn values(text: &str) -> BTreeMap<String, String> {
    let mut values = BTreeMap::new();
    collect(&mut values, "", document(text).as_table());
    values
}

fn collect(values: &mut BTreeMap<String, String>, under: &str, table: &dyn TableLike) {
    for (name, item) in table.iter() {
        let key = if under.is_empty() { name.to_owned() } else { format!("{under}.{name}") };
        match item {
            Item::Table(table) => collect(values, &key, table),
            Item::Value(Value::InlineTable(table)) => collect(values, &key, table),
            Item::ArrayOfTables(tables) => {
                for (place, table) in tables.iter().enumerate() {
                    collect(values, &format!("{key}[{place}]"), table);
                }
            }
            Item::Value(value) => {
                values.insert(key, value.clone().decorated("", "").to_string());
            }
            Item::None => {}
        }
    }
}

fn fits() -> &'static [FitRecord; 2] {
    static FITS: OnceLock<[FitRecord; 2]> = OnceLock::new();
    FITS.get_or_init(|| {
        let mut text = "hose,speed_was,crank_rpm,crank_degrees,vacuum_kPa\n".to_owned();
        for (crank_rpm, crank_degrees) in
            [(500, 8.1), (600, 7.8), (900, 8.2), (1300, 13.9), (1700, 20.2), (2500, 23.8), (3300, 28.1), (3900, 27.9)]
        {
            writeln!(text, "off,steady,{crank_rpm},{crank_degrees},").expect("a text");
        }
        let without = fitted(&text);
        for (kpa, crank_degrees) in [(5, 28.0), (12, 28.2), (20, 30.1), (28, 33.2), (40, 38.1), (50, 37.9)] {
            writeln!(text, "on,steady,3800,{crank_degrees},{kpa}").expect("a text");
        }
        [fitted(&text), without]
    })
}

fn fitted(text: &str) -> FitRecord {
    let readings = readings::parse("survey.csv", text.as_bytes()).expect("readings");
    let found = fit(&readings, &FitOptions::default()).expect("a curve");
    FitRecord::new(&readings, &found, &[], Vec::new(), 0)
}
