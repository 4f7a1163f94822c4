//! Quantities as people write them: `650 crank rpm`, `6 inHg depression`, `100 us`.
//!
//! A number without its unit is refused, and so is a unit that could be read in two ways: a speed or an angle that says
//! neither `crank` nor `distributor`, a pressure that says neither `depression` nor `absolute`. The distributor of a
//! four-stroke turns once for two turns of the crank (U.S. Army TM 10-3930-644-14&P), so both its speeds and its angles
//! count twice. Pressures are converted by the factors of [`crate::quantity::units`].

mod accuracy;
pub(crate) mod atmosphere;
mod dimension;
mod error;
pub(crate) mod of_core;
mod supply;
pub(crate) mod units;

pub use accuracy::{Accuracy, parse_accuracy};
pub use atmosphere::{geopotential_m, pressure_kpa};
pub use dimension::{
    ACCELERATION, ANGLE, ANGLE_RATE, COMPRESSION, CURRENT, DISPLACEMENT, Dimension, ENERGY, FREQUENCY, HEIGHT,
    INDUCTANCE, LENGTH, OCTANE, POSITION, POWER, PRESSURE_STEP, RATIO, RESISTANCE, SHARE, SPEED, TEMPERATURE, TIME,
    VOLTAGE, WAIT,
};
pub use error::QuantityError;
pub use supply::{DRIVEN, Supply, parse_supply};
pub use units::{KPA_PER_INHG, KPA_PER_PSI};

use dimension::PRESSURE;

/// Pressure of the standard atmosphere at sea level, kPa (U.S. Standard Atmosphere 1976).
pub const STANDARD_ATMOSPHERE_KPA: f64 = 101.325;

/// A manifold's pressure in the way that it was written.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Pressure {
    /// kPa below the atmosphere.
    Depression(f64),
    /// kPa above nothing.
    Absolute(f64),
}

impl Pressure {
    /// kPa below an atmosphere of `atmosphere_kpa`.
    pub fn depression_kpa(self, atmosphere_kpa: f64) -> f64 {
        match self {
            Self::Depression(kpa) => kpa,
            Self::Absolute(kpa) => atmosphere_kpa - kpa,
        }
    }
}

/// One pressure unit of a table's column.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PressureUnit {
    kpa: f64,
    absolute: bool,
}

impl PressureUnit {
    /// True where the column counts up from nothing and not down from the atmosphere.
    pub fn is_absolute(self) -> bool {
        self.absolute
    }

    /// A number of the column as a pressure.
    pub fn of(self, number: f64) -> Pressure {
        let kpa = number * self.kpa;
        if self.absolute { Pressure::Absolute(kpa) } else { Pressure::Depression(kpa) }
    }
}

/// Reads a quantity, in the inner unit of its dimension.
///
/// # Errors
/// Everything that [`QuantityError`] names, save the pressures and the supply.
pub fn parse(dimension: &'static Dimension, text: &str) -> Result<f64, QuantityError> {
    let (number, written, unit) = split(dimension, text)?;
    let factor = factor(dimension, &written, &unit)?;
    if number < 0.0 && !dimension.below_zero {
        return Err(QuantityError::Negative { dimension, written: text.trim().to_owned() });
    }
    Ok(number * factor)
}

/// An answer to a question that names a unit: a bare number gets it, anything else is left as it was typed.
pub fn bare_or_with_unit(text: &str, unit: &str) -> String {
    let bare = ungrouped(text.trim());
    if bare.replace(',', ".").parse::<f64>().is_ok() { format!("{bare} {unit}") } else { bare }
}

/// An answer where a depression was asked for: a number alone gets `unit`, and a unit that says neither depression nor absolute
/// is of a depression. What cannot be read stays as it is.
pub fn as_depression(text: &str, unit: &str) -> String {
    let text = bare_or_with_unit(text, &format!("{unit} depression"));
    match parse_pressure(&text) {
        Err(QuantityError::BareVacuum { .. }) => format!("{text} depression"),
        _ => text,
    }
}

/// What to say of a number without a unit that is far from the depression that was asked for in kPa, but near it in inHg: a
/// gauge that shows inHg, whose whole curve would come three times too soon.
///
/// # Errors
/// The question which of them it is.
pub fn kpa_and_not_inhg(text: &str, asked_kpa: f64) -> Result<(), String> {
    let text = text.trim();
    let Ok(number) = text.replace(',', ".").parse::<f64>() else { return Ok(()) };
    let off_by = |kpa: f64| (kpa - asked_kpa).abs() / asked_kpa;
    if off_by(number * KPA_PER_INHG) <= 0.2 && off_by(number) > 0.3 {
        return Err(format!(
            "{asked_kpa:.0} kPa were asked for, and {text} inHg is near that: write `{text} inHg`, or `{text} kPa` if the gauge \
             shows kPa"
        ));
    }
    Ok(())
}

/// The factor of a unit alone, as in the heading of a table's column, to the inner unit of its dimension.
///
/// # Errors
/// [`QuantityError::CrankOrDistributor`] and [`QuantityError::UnknownUnit`].
pub fn column_unit(dimension: &'static Dimension, text: &str) -> Result<f64, QuantityError> {
    factor(dimension, "", &squeeze(text))
}

/// Reads a depression or an absolute manifold pressure. Both say which they are.
///
/// # Errors
/// [`QuantityError::BareVacuum`] where neither is said, and everything that [`parse`] refuses.
pub fn parse_pressure(text: &str) -> Result<Pressure, QuantityError> {
    let (number, written, unit) = split(&PRESSURE, text)?;
    let column = pressure_unit(&written, number, &unit)?;
    if number < 0.0 {
        return Err(QuantityError::Negative { dimension: &PRESSURE, written: text.trim().to_owned() });
    }
    Ok(column.of(number))
}

/// The pressure unit of a table's column, such as `inHg depression`.
///
/// # Errors
/// [`QuantityError::BareVacuum`] and [`QuantityError::UnknownUnit`].
pub fn column_pressure_unit(text: &str) -> Result<PressureUnit, QuantityError> {
    pressure_unit("", 0.0, &squeeze(text))
}

/// The number, as value and as written, and the unit with single blanks.
fn split(dimension: &'static Dimension, text: &str) -> Result<(f64, String, String), QuantityError> {
    let text = ungrouped(&squeeze(text));
    let unsigned = text.trim_start_matches(['+', '-']);
    // `NaN` and `inf` are numbers that look like words.
    let (first, rest) = if unsigned.starts_with(char::is_alphabetic) {
        text.split_once(' ').unwrap_or((text.as_str(), ""))
    } else {
        let number = |c: char| c.is_ascii_digit() || "+-.,eE".contains(c);
        text.split_at(text.find(|c: char| !number(c)).unwrap_or(text.len()))
    };
    let wrong = |make: fn(&'static Dimension, String) -> QuantityError| Err(make(dimension, text.clone()));
    if text.is_empty() {
        return wrong(|dimension, _| QuantityError::Empty { dimension });
    }
    match first.trim_start_matches(['+', '-']).to_ascii_lowercase().as_str() {
        "nan" => {
            return wrong(|dimension, written| QuantityError::NotANumber { dimension, written });
        }
        "inf" | "infinity" => {
            return wrong(|dimension, written| QuantityError::Infinite { dimension, written });
        }
        _ => {}
    }
    if first.contains(',') && first.replace(',', ".").parse::<f64>().is_ok() {
        return Err(QuantityError::DecimalComma { written: text.clone(), remedy: text.replacen(',', ".", 1) });
    }
    let Ok(number) = first.parse::<f64>() else {
        return wrong(|dimension, written| QuantityError::NoNumber { dimension, written });
    };
    if number.is_infinite() {
        return wrong(|dimension, written| QuantityError::Infinite { dimension, written });
    }
    let unit = rest.trim();
    if unit.is_empty() {
        return Err(QuantityError::MissingUnit { dimension, written: first.to_owned() });
    }
    Ok((number, first.to_owned(), unit.to_owned()))
}

fn factor(dimension: &'static Dimension, written: &str, unit: &str) -> Result<f64, QuantityError> {
    let wanted = unit_form(unit);
    if let Some((_, factor)) = dimension.units.iter().find(|(name, _)| *name == wanted) {
        return Ok(*factor);
    }
    let turns = |shaft: &str| dimension.units.iter().any(|(name, _)| *name == format!("{shaft} {wanted}"));
    if turns("crank") {
        return Err(QuantityError::CrankOrDistributor { written: written.to_owned(), unit: unit.to_owned() });
    }
    Err(QuantityError::UnknownUnit { dimension, unit: unit.to_owned() })
}

fn pressure_unit(written: &str, number: f64, unit: &str) -> Result<PressureUnit, QuantityError> {
    let (name, side) = unit.rsplit_once(' ').unwrap_or((unit, ""));
    let (name, absolute) = match side {
        "depression" => (name, Some(false)),
        "absolute" => (name, Some(true)),
        _ => (unit, None),
    };
    let kpa = factor(&PRESSURE, written, name)?;
    match absolute {
        Some(absolute) if name != "in" => Ok(PressureUnit { kpa, absolute }),
        _ => Err(QuantityError::BareVacuum {
            number: (!written.is_empty()).then_some(number),
            unit: unit.to_owned(),
            spelt: if name == "in" { "inHg" } else { name }.to_owned(),
            atmosphere: STANDARD_ATMOSPHERE_KPA / kpa,
        }),
    }
}

/// The listed form of a unit: the plural, and the plain letter for the two micro signs of Unicode.
fn unit_form(unit: &str) -> String {
    unit.replace(['\u{b5}', '\u{3bc}'], "u")
        .split(' ')
        .map(|word| if word == "degree" { "degrees" } else { word })
        .collect::<Vec<_>>()
        .join(" ")
}

/// The number at the beginning without the blanks between its groups of three digits: `3 300 crank rpm` as `3300 crank rpm`, for
/// whoever copies what the tool prints.
fn ungrouped(text: &str) -> String {
    let mut parts = text.split(' ');
    let mut number = parts.next().unwrap_or_default().to_owned();
    let digits = number.trim_start_matches(['+', '-']).len();
    let is_group = |part: &str| part.len() == 3 && part.bytes().all(|byte| byte.is_ascii_digit());
    let begins =
        (1..=3).contains(&digits) && number.trim_start_matches(['+', '-']).bytes().all(|byte| byte.is_ascii_digit());
    let mut rest = parts.peekable();
    while let Some(group) = rest.next_if(|part| begins && is_group(part)) {
        number.push_str(group);
    }
    rest.fold(number, |text, part| text + " " + part)
}

fn squeeze(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests;
