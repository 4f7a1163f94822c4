//! Reads one value of the sheet, whatever key it belongs to.

use super::error::SheetError;
use super::key::Place;
use crate::quantity::{self, Dimension, QuantityError};
use std::ops::RangeInclusive;
use toml_edit::{Array, Item};

/// The least and the greatest value of a key, as a person would write them.
pub(super) type Bounds = (&'static str, &'static str);

/// The elements of a list with their places.
pub(super) fn elements<'b>(place: &'b Place, array: &'b Array) -> impl Iterator<Item = (Place, Item)> + 'b {
    array.iter().map(|value| {
        let span = value.span().unwrap_or_else(|| place.span.clone());
        (Place { span, ..place.clone() }, Item::Value(value.clone()))
    })
}

/// A list, or the refusal of what stands in its place.
pub(super) fn list<'b>(place: &Place, item: &'b Item, form: &str) -> Result<&'b Array, SheetError> {
    item.as_array().ok_or_else(|| {
        place.refuse(format!("is {}, not a list", article(item)), "a list is wanted here", format!("write {form}"))
    })
}

/// A finite number without a unit, as in a table whose heading has the unit.
pub(super) fn number(place: &Place, item: &Item) -> Result<f64, SheetError> {
    #[allow(clippy::cast_precision_loss, reason = "whole numbers beyond 2^53 are out of every bound anyway")]
    let number = item.as_float().or_else(|| item.as_integer().map(|whole| whole as f64));
    let Some(number) = number else {
        let help = "write the number alone; `unit` above has the unit";
        return Err(place.refuse(format!("has {} here", article(item)), "a number is wanted here", help));
    };
    if number.is_nan() {
        let help = "write what was measured, or leave the breakpoint out";
        return Err(place.refuse("has `nan` here", "is not a number", help));
    }
    if number.is_infinite() {
        return Err(place.refuse("has `inf` here", "is without end", "write the greatest value that is meant"));
    }
    Ok(number)
}

pub(super) fn wrong_quantity(place: &Place, error: &QuantityError) -> SheetError {
    place.refuse(format!("cannot be read: {error}"), "here", error.help())
}

pub(super) fn quantity(
    place: &Place,
    item: &Item,
    dimension: &'static Dimension,
    bounds: Bounds,
) -> Result<f64, SheetError> {
    let written = written(place, item, dimension.example)?;
    let read = |text: &str| quantity::parse(dimension, text);
    let value = read(&written).map_err(|error| wrong_quantity(place, &error))?;
    let bound = |text: &str| read(text).expect("the bounds are written in this program");
    if value < bound(bounds.0) || value > bound(bounds.1) {
        let scale = if *dimension == quantity::TIME { "; 1 ms is 1000 us" } else { "" };
        return Err(place.refuse(
            format!("is {written}"),
            "is out of range",
            format!("write a value from {} to {}{scale}", bounds.0, bounds.1),
        ));
    }
    Ok(value)
}

/// The text of a quantity. A bare number is passed on as text, so that its missing unit is what is complained of.
pub(super) fn written(place: &Place, item: &Item, example: &str) -> Result<String, SheetError> {
    if let Some(text) = item.as_str() {
        return Ok(text.to_owned());
    }
    if let Some(float) = item.as_float() {
        return Ok(float.to_string());
    }
    item.as_integer().map(|whole| whole.to_string()).ok_or_else(|| {
        place.refuse(
            format!("is {}, not a quantity", article(item)),
            "a quantity in quotes is wanted here",
            format!("write it in quotes, such as `\"{example}\"`"),
        )
    })
}

pub(super) fn whole(place: &Place, item: &Item, bounds: &RangeInclusive<u32>) -> Result<u32, SheetError> {
    let help = || format!("write a whole number from {} to {}, without quotes", bounds.start(), bounds.end());
    let Some(number) = item.as_integer() else {
        return Err(place.refuse(
            format!("is {}, not a whole number", article(item)),
            "a whole number is wanted here",
            help(),
        ));
    };
    u32::try_from(number)
        .ok()
        .filter(|number| bounds.contains(number))
        .ok_or_else(|| place.refuse(format!("is {number}"), "is out of range", help()))
}

pub(super) fn article(item: &Item) -> &'static str {
    match item.type_name() {
        "string" => "a text",
        "integer" | "float" => "a number",
        "boolean" => "true or false",
        "array" => "a list",
        "datetime" => "a date",
        _ => "a table",
    }
}
