//! `[sensor]`: from volts to pressure.

use super::error::SheetError;
use super::key::Key;
use super::points::{Column, points};
use super::table::Table;
use super::value::wrong_quantity;
use crate::quantity::{HEIGHT, Pressure, STANDARD_ATMOSPHERE_KPA, VOLTAGE, parse_pressure};
use serde::Serialize;

/// What the sensor compares.
#[derive(Clone, Copy, Debug, Eq, PartialEq, Serialize)]
pub enum SensorKind {
    /// The manifold with nothing.
    Absolute,
    /// The manifold with the atmosphere.
    Differential,
}

/// Where an absolute sensor's atmosphere comes from.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub enum Atmosphere {
    /// Read before the first edge, and kept until key-off.
    ReadAtKeyOn,
    /// A constant, kPa absolute.
    Constant(f64),
}

/// A point of the sensor's straight line.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct CalibrationPoint {
    /// Volts.
    pub volts: f64,
    /// kPa, absolute or below the atmosphere as the sensor's kind says.
    pub kpa: f64,
}

/// `[sensor]`.
#[derive(Clone, Debug, Serialize)]
pub struct Sensor {
    /// What it compares.
    pub kind: Key<SensorKind>,
    /// 2 to 16, rising in volts and in pressure.
    pub calibration: Key<Vec<CalibrationPoint>>,
    /// Volts: below the first and above the second the sensor has failed.
    pub band_volts: Key<[f64; 2]>,
    /// Where the atmosphere comes from. A differential sensor needs none.
    pub atmosphere: Key<Atmosphere>,
    /// Metres above the sea.
    pub highest_place_m: Key<f64>,
}

impl Sensor {
    /// The atmosphere by which absolute pressures of the sheet become depressions, kPa: the sheet's constant, else the
    /// standard atmosphere at sea level.
    pub fn sheet_atmosphere_kpa(&self) -> f64 {
        match self.atmosphere.value() {
            Some(Atmosphere::Constant(kpa)) => *kpa,
            _ => STANDARD_ATMOSPHERE_KPA,
        }
    }
}

pub(super) fn sensor(table: Table) -> Result<Sensor, SheetError> {
    let kind = table.word("kind", &[("absolute", SensorKind::Absolute), ("differential", SensorKind::Differential)])?;
    let absolute = kind.value() != Some(&SensorKind::Differential);
    let columns = [Column::Of(&VOLTAGE, (0.0, 5.5)), Column::Measured { absolute }];
    let calibration = points(&table, "calibration", 2..=16, columns)?;
    if let Some(points) = calibration.value()
        && points.windows(2).any(|pair| pair[1][1] <= pair[0][1])
    {
        return Err(calibration.refuse(
            "does not rise in pressure",
            "the second numbers do not rise",
            "copy volts and pressures from the sensor's data sheet; a line that falls is none of these sensors'",
        ));
    }
    let sensor = Sensor {
        kind,
        calibration: calibration
            .map(|points| points.into_iter().map(|[volts, kpa]| CalibrationPoint { volts, kpa }).collect()),
        band_volts: table.quantities("band", &VOLTAGE, ("0 V", "5.5 V"))?,
        atmosphere: table.read_text("atmosphere", "read at key-on", |place, text| {
            if text == "read at key-on" {
                return Ok(Atmosphere::ReadAtKeyOn);
            }
            let refuse = |message: &str| {
                place.refuse(message, "here", "write `\"read at key-on\"`, or a constant such as `\"94 kPa absolute\"`")
            };
            match parse_pressure(text) {
                Ok(Pressure::Absolute(kpa)) if (50.0..=110.0).contains(&kpa) => Ok(Atmosphere::Constant(kpa)),
                Ok(Pressure::Absolute(_)) => Err(refuse("is not from 50 to 110 kPa absolute")),
                Ok(Pressure::Depression(_)) => Err(refuse("is a depression, and the atmosphere has none")),
                Err(error) => Err(wrong_quantity(place, &error)),
            }
        })?,
        highest_place_m: table.quantity("highest_place", &HEIGHT, ("-500 m", "6000 m"))?,
    };
    table.finish()?;
    Ok(sensor)
}
