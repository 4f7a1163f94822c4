//! Lists of pairs whose columns have their units in `unit`: breakpoints, calibration, dwell.

use super::error::SheetError;
use super::key::{Key, Place};
use super::table::Table;
use super::value::{elements, list, number, wrong_quantity};
use crate::quantity::{Dimension, Pressure, PressureUnit, QuantityError, column_pressure_unit, column_unit};
use std::ops::RangeInclusive;
use toml_edit::Item;

/// What a column may hold.
#[derive(Clone, Copy)]
pub(super) enum Column {
    /// A quantity of one dimension, from least to greatest, in the unit used inside.
    Of(&'static Dimension, (f64, f64)),
    /// A pressure, as kPa below this atmosphere.
    Depression { atmosphere_kpa: f64 },
    /// A pressure as it is measured, in kPa: absolute or below the atmosphere.
    Measured { absolute: bool },
}

/// The unit of a column, chosen by the sheet.
struct Unit {
    written: String,
    scale: Scale,
}

enum Scale {
    Factor(f64, (f64, f64)),
    Pressure(PressureUnit, Option<f64>),
}

/// The greatest depression and absolute pressure that are taken, kPa.
const GREATEST_KPA: f64 = 110.0;

/// Reads the pairs of `name` in the units of the key `unit` beside it. The first column rises strictly.
pub(super) fn points(
    table: &Table,
    name: &'static str,
    count: RangeInclusive<usize>,
    columns: [Column; 2],
) -> Result<Key<Vec<[f64; 2]>>, SheetError> {
    let units = table.read("unit", |place, item| units(&place, item, columns))?;
    table.read(name, |place, item| {
        // Numbers without the unit of their column would be guesses.
        let units = units.get()?;
        let array = list(&place, item, "pairs such as [[900, 0], [1700, 12]]")?;
        if !count.contains(&array.len()) {
            return Err(place.refuse(
                format!("has {} pair{}", array.len(), if array.len() == 1 { "" } else { "s" }),
                "too few or too many",
                format!("write {} to {} pairs", count.start(), count.end()),
            ));
        }
        let mut read = Vec::new();
        let mut last = f64::NEG_INFINITY;
        for (place, item) in elements(&place, array) {
            let pair = list(&place, &item, "pairs such as [900, 0]")?;
            let numbers: Result<Vec<f64>, SheetError> =
                elements(&place, pair).map(|(place, item)| number(&place, &item)).collect();
            let Ok(numbers): Result<[f64; 2], _> = numbers?.try_into() else {
                return Err(place.refuse("has a pair that is none", "two numbers are wanted", "write it as [900, 0]"));
            };
            if numbers[0] <= last {
                return Err(place.refuse(
                    format!("does not rise: {} comes after {last}", numbers[0]),
                    "does not rise",
                    "write the pairs with the first number rising, each once",
                ));
            }
            last = numbers[0];
            let [x, y] = [0, 1].map(|column| inside(&place, &units[column], numbers[column]));
            read.push([x?, y?]);
        }
        Ok(read)
    })
}

/// What a written number of each column comes to inside: at zero, and for each further one. None without a `unit`.
pub(super) fn scales(table: &Table, columns: [Column; 2]) -> Result<Option<[(f64, f64); 2]>, SheetError> {
    let units = table.read("unit", |place, item| units(&place, item, columns))?;
    Ok(units.value().map(|units| [0, 1].map(|column| units[column].scale.zero_and_slope())))
}

fn units(place: &Place, item: &Item, columns: [Column; 2]) -> Result<[Unit; 2], SheetError> {
    let form = format!("the two units of a pair: [\"{}\", \"{}\"]", columns[0].example(), columns[1].example());
    let array = list(place, item, &form)?;
    let mut units = Vec::new();
    for ((place, item), column) in elements(place, array).zip(columns) {
        let Some(text) = item.as_str() else {
            return Err(place.refuse("has something else than a unit", "a unit in quotes is wanted here", form));
        };
        units.push(column.unit(text).map_err(|error| wrong_quantity(&place, &error))?);
        if let (Some(Scale::Pressure(unit, _)), Column::Measured { absolute }) =
            (units.last().map(|unit: &Unit| &unit.scale), column)
            && unit.is_absolute() != absolute
        {
            let label = "is of the other kind of sensor";
            return Err(place.refuse(format!("has `{text}`"), label, format!("write `{}`", column.example())));
        }
    }
    let wrong = || place.refuse("has not two units", "one unit for each number of a pair", format!("write {form}"));
    if array.len() == 2 { units.try_into().map_err(|_| wrong()) } else { Err(wrong()) }
}

impl Column {
    fn example(self) -> &'static str {
        match self {
            Self::Of(dimension, _) => dimension.column_example(),
            Self::Depression { .. } | Self::Measured { absolute: false } => "kPa depression",
            Self::Measured { absolute: true } => "kPa absolute",
        }
    }

    fn unit(self, text: &str) -> Result<Unit, QuantityError> {
        let scale = match self {
            Self::Of(dimension, bounds) => Scale::Factor(column_unit(dimension, text)?, bounds),
            Self::Depression { atmosphere_kpa } => Scale::Pressure(column_pressure_unit(text)?, Some(atmosphere_kpa)),
            Self::Measured { .. } => Scale::Pressure(column_pressure_unit(text)?, None),
        };
        Ok(Unit { written: text.to_owned(), scale })
    }
}

impl Scale {
    /// A number of a column in the unit used inside.
    fn of(&self, number: f64) -> f64 {
        match self {
            Self::Factor(factor, _) => number * factor,
            Self::Pressure(unit, atmosphere) => match (unit.of(number), atmosphere) {
                (pressure, Some(atmosphere)) => pressure.depression_kpa(*atmosphere),
                (Pressure::Depression(kpa) | Pressure::Absolute(kpa), None) => kpa,
            },
        }
    }

    /// A column that counts down from the atmosphere has a negative slope.
    fn zero_and_slope(&self) -> (f64, f64) {
        (self.of(0.0), self.of(1.0) - self.of(0.0))
    }
}

/// A number of a column in the unit used inside, where it is in range.
fn inside(place: &Place, unit: &Unit, number: f64) -> Result<f64, SheetError> {
    let value = unit.scale.of(number);
    let (bounds, written_bounds) = match &unit.scale {
        Scale::Factor(factor, bounds) => (*bounds, [bounds.0 / factor, bounds.1 / factor]),
        Scale::Pressure(..) => {
            let (at_zero, slope) = unit.scale.zero_and_slope();
            let ends = [0.0, GREATEST_KPA].map(|kpa| ((kpa - at_zero) / slope).max(0.0));
            ((0.0, GREATEST_KPA), [ends[0].min(ends[1]), ends[0].max(ends[1])])
        }
    };
    if value < bounds.0 || value > bounds.1 {
        return Err(place.refuse(
            format!("has {number} {}", unit.written),
            "is out of range",
            format!(
                "write a value from {} to {} {}, and look whether `unit` is the right one",
                six_digits(written_bounds[0]),
                six_digits(written_bounds[1]),
                unit.written
            ),
        ));
    }
    Ok(value)
}

/// Six digits are enough to tell a bound, and no tail of the conversion is shown.
fn six_digits(value: f64) -> f64 {
    format!("{value:.5e}").parse().unwrap_or(value)
}
