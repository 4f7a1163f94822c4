//! Writes what a fit found into a sheet, and copies a found or specified curve to the chosen one.

use super::edit::{Change, Edit};
use super::error::SheetError;
use super::{Sheet, parse, questions};
use crate::quantity::{Pressure, PressureUnit, column_pressure_unit};
use crate::record::fit::FitRecord;
use crate::record::interval::Interval;

/// Which recorded curve becomes the chosen one.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub enum Choice {
    /// `[found]`: what the readings gave.
    Found,
    /// `[specified]`: what a book says.
    Specified,
}

impl Choice {
    fn table(self) -> &'static str {
        match self {
            Self::Found => "found",
            Self::Specified => "specified",
        }
    }
}

/// A sheet's text after a change, and what the change was.
#[derive(Clone, Debug)]
pub struct Changed {
    /// The whole text.
    pub text: String,
    /// Every value that differs from before.
    pub changes: Vec<Change>,
}

/// The text of a new sheet for these readings: every key that they cannot tell waits behind its question.
///
/// # Errors
/// None that a file name could cause; see [`parse`].
pub fn new_sheet(name: &str, readings: &str) -> Result<String, SheetError> {
    let mut edit = Edit::new(name, questions::NEW_SHEET);
    edit.set("", "readings", &quoted(readings))?;
    Ok(edit.finish().0)
}

/// Names the readings in a sheet.
///
/// # Errors
/// A sheet that cannot be read.
pub fn with_readings(name: &str, text: &str, readings: &str) -> Result<Changed, SheetError> {
    let mut edit = Edit::new(name, text);
    edit.set("", "readings", &quoted(readings))?;
    finish(name, edit)
}

/// Writes `[found]`: each value with its 95 % interval. A depression is written in the unit of the sheet's `[vacuum]`.
///
/// # Errors
/// A sheet that cannot be read, before or after.
pub fn with_found(name: &str, text: &str, fit: &FitRecord) -> Result<Changed, SheetError> {
    let mut edit = Edit::new(name, text);
    if !edit.has("found")? {
        edit.comment(
            "Found by `bobweight fit` in the readings. Each interval holds the true value with a probability of 95 %.\n\
             Nothing below drives anything; the chosen curve stands above.",
        );
    }
    edit.set(
        "found.advance",
        "initial",
        &format!("\"{} crank degrees\"", to_step(fit.initial_crank_degrees.value, ANGLE_STEP)),
    )?;
    let ends = interval(&fit.initial_crank_degrees, ANGLE_STEP).map(|end| format!("\"{end} crank degrees\""));
    edit.set("found.advance", "initial_interval", &format!("[{}]", ends.join(", ")))?;
    edit.set("found.centrifugal", "unit", "[\"crank rpm\", \"crank degrees\"]")?;
    let pairs: Vec<_> = fit.centrifugal.iter().map(|point| (point.crank_rpm, point.crank_degrees)).collect();
    curve(&mut edit, "found.centrifugal", &pairs, SPEED_STEP)?;
    if let Some(vacuum) = &fit.vacuum {
        let (unit_text, unit) = vacuum_unit(&parse(name, text)?, &edit)?;
        let scaled = |interval: &Interval| {
            let [value, low, high] = [interval.value, interval.low, interval.high].map(|kpa| kpa / kpa_of(unit));
            Interval { value, low, high }
        };
        let none = Interval { value: 0.0, low: 0.0, high: 0.0 };
        edit.set("found.vacuum", "unit", &format!("[\"{unit_text}\", \"crank degrees\"]"))?;
        curve(
            &mut edit,
            "found.vacuum",
            &[
                (scaled(&vacuum.start_kpa_depression), none),
                (scaled(&vacuum.full_kpa_depression), vacuum.greatest_crank_degrees),
            ],
            DEPRESSION_STEP,
        )?;
    } else {
        // An older vacuum curve is not of these readings.
        edit.remove("found.vacuum")?;
    }
    finish(name, edit)
}

/// Copies a recorded curve over the chosen one. What the recorded curve does not say stays as it was.
///
/// # Errors
/// A sheet that cannot be read, before or after, and one without that curve.
pub fn choose(name: &str, text: &str, choice: Choice) -> Result<Changed, SheetError> {
    const KEYS: [(&str, &str); 5] = [
        ("advance", "initial"),
        ("centrifugal", "unit"),
        ("centrifugal", "breakpoints"),
        ("vacuum", "unit"),
        ("vacuum", "breakpoints"),
    ];
    let mut edit = Edit::new(name, text);
    let from = choice.table();
    if !edit.has(from)? {
        return Err(SheetError::file(
            name,
            format!("the sheet has no `[{from}]` to choose"),
            match choice {
                Choice::Found => "run `bobweight fit READINGS.csv --sheet` with this sheet first",
                Choice::Specified => {
                    "write the book's curve as `[specified.advance]`, `[specified.centrifugal]` and \
                                      `[specified.vacuum]`, with the keys of the chosen tables"
                }
            },
        ));
    }
    for (table, key) in KEYS {
        if let Some(value) = edit.get(&format!("{from}.{table}"), key)? {
            edit.set(table, key, &value)?;
        }
    }
    finish(name, edit)
}

const SPEED_STEP: f64 = 1.0;
const ANGLE_STEP: f64 = 0.01;
const DEPRESSION_STEP: f64 = 0.01;

fn curve(edit: &mut Edit, table: &str, pairs: &[(Interval, Interval)], x_step: f64) -> Result<(), SheetError> {
    let values: Vec<_> = pairs
        .iter()
        .map(|(x, y)| format!("[{}, {}]", to_step(x.value, x_step), to_step(y.value, ANGLE_STEP)))
        .collect();
    edit.set(table, "breakpoints", &format!("[{}]", values.join(", ")))?;
    let both = |of: &Interval, step| format!("[{}]", interval(of, step).join(", "));
    let intervals: Vec<_> =
        pairs.iter().map(|(x, y)| format!("[{}, {}]", both(x, x_step), both(y, ANGLE_STEP))).collect();
    edit.set(table, "breakpoints_interval", &format!("[{}]", intervals.join(", ")))
}

/// The ends, rounded outwards: a rounded interval must not miss what the interval holds.
fn interval(ends: &Interval, step: f64) -> [String; 2] {
    [decimal((ends.low / step).floor() * step, step), decimal((ends.high / step).ceil() * step, step)]
}

fn to_step(value: f64, step: f64) -> String {
    decimal((value / step).round() * step, step)
}

/// A decimal number without the tail of its rounding, and without a negative zero.
fn decimal(value: f64, step: f64) -> String {
    let places = if step < 1.0 { 2 } else { 0 };
    let text = format!("{:.places$}", value + 0.0);
    let text = if places > 0 { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

/// The unit of the sheet's own vacuum curve, or kPa where it has none that counts from the atmosphere.
fn vacuum_unit(sheet: &Sheet, edit: &Edit) -> Result<(String, PressureUnit), SheetError> {
    let own = edit.get("vacuum", "unit")?;
    let first = own.as_deref().and_then(|text| text.split('"').nth(1)).unwrap_or_default().to_owned();
    match column_pressure_unit(&first) {
        Ok(unit) if !unit.is_absolute() => Ok((first, unit)),
        _ => column_pressure_unit("kPa depression")
            .map(|unit| ("kPa depression".to_owned(), unit))
            .map_err(|error| sheet.vacuum.breakpoints.refuse(error.to_string(), "here", error.help())),
    }
}

fn kpa_of(unit: PressureUnit) -> f64 {
    match unit.of(1.0) {
        Pressure::Depression(kpa) | Pressure::Absolute(kpa) => kpa,
    }
}

/// A changed sheet that could not be read again would be worse than none.
fn finish(name: &str, edit: Edit) -> Result<Changed, SheetError> {
    let (text, changes) = edit.finish();
    parse(name, &text)?;
    Ok(Changed { text, changes })
}

pub(super) fn quoted(text: &str) -> String {
    toml_edit::Value::from(text).to_string()
}

#[cfg(test)]
mod tests;
