//! Sensor volts to depression, with the sensor's calibration, its atmosphere and its faults.
//!
//! Every doubt errs to the retarded side: what is not sure gives no depression, and so no vacuum advance.

use crate::curve::SensorCurve;
use crate::quantity::{Depression, Pressure, SensorVoltage};
use core::fmt;

/// No engine's manifold comes below 10 kPa absolute: an absolute sensor that says so has failed.
pub const LEAST_PRESSURE: Pressure = Pressure::saturating_from_bits(10 * Pressure::STEP);

/// Between which pressures a place on earth can lie, in kPa: a reading outside is none of the atmosphere.
const ATMOSPHERES: (u32, u32) = (50 * Pressure::STEP, 110 * Pressure::STEP);

/// Where an absolute sensor's atmosphere comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Atmosphere {
    /// Read at key-on, before the first edge of the pickup, and kept until key-off.
    ReadAtKeyOn,
    /// A constant.
    Constant(Pressure),
}

/// What a sensor compares the manifold with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum SensorKind {
    /// With nothing: it measures the absolute pressure.
    Absolute(Atmosphere),
    /// With the atmosphere: it measures the depression.
    Differential,
}

/// What is known of a sensor. Any values can be put here; [`PressureSensor::new`] checks them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct SensorSettings {
    /// What it measures.
    pub kind: SensorKind,
    /// Its output against what it measures.
    pub calibration: SensorCurve,
    /// Below the first and above the second voltage the sensor, or its wire, has failed.
    pub band: (SensorVoltage, SensorVoltage),
}

/// Why settings do not make a sensor.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[non_exhaustive]
pub enum SensorError {
    /// The band's ends are the wrong way round, or equal.
    Band(SensorVoltage, SensorVoltage),
    /// The calibration does not rise in pressure.
    Falling,
    /// No place on earth has this constant atmosphere.
    Atmosphere(Pressure),
}

impl SensorError {
    /// What is wrong, for the message of a compile error.
    pub const fn message(&self) -> &'static str {
        match self {
            Self::Band(..) => "the lower end of a sensor's band lies below the upper one",
            Self::Falling => "a sensor's calibration rises in pressure",
            Self::Atmosphere(_) => "an atmosphere is 50 to 110 kPa absolute",
        }
    }
}

impl fmt::Display for SensorError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Band(lower, upper) => write!(f, "{}: {lower} and {upper} will not do", self.message()),
            Self::Falling => f.write_str(self.message()),
            Self::Atmosphere(pressure) => write!(f, "{}: {pressure} will not do", self.message()),
        }
    }
}

impl core::error::Error for SensorError {}

/// Why a sample gives no depression.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum SensorFault {
    /// The voltage is below the band: a short to ground, or no supply.
    BelowBand,
    /// The voltage is above the band: a broken ground, or a short to the supply.
    AboveBand,
    /// Less than 10 kPa absolute.
    TooLittlePressure,
    /// There was no usable reading of the atmosphere before the first edge.
    NoAtmosphere,
}

/// A checked sensor.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct PressureSensor {
    settings: SensorSettings,
}

impl PressureSensor {
    /// A sensor of these settings.
    ///
    /// # Errors
    /// [`SensorError`] names the setting that will not do.
    pub const fn new(settings: SensorSettings) -> Result<Self, SensorError> {
        let (lower, upper) = settings.band;
        if lower.bits() >= upper.bits() {
            return Err(SensorError::Band(lower, upper));
        }
        let mut i = 1;
        while i < settings.calibration.count() {
            let (_, before) = settings.calibration.breakpoint(i - 1);
            let (_, pressure) = settings.calibration.breakpoint(i);
            if pressure.bits() <= before.bits() {
                return Err(SensorError::Falling);
            }
            i += 1;
        }
        if let SensorKind::Absolute(Atmosphere::Constant(pressure)) = settings.kind
            && !is_atmosphere(pressure)
        {
            return Err(SensorError::Atmosphere(pressure));
        }
        Ok(Self { settings })
    }

    /// The settings of this sensor.
    #[must_use]
    pub const fn settings(&self) -> &SensorSettings {
        &self.settings
    }

    /// What the sensor measures at an output voltage, in kPa absolute or below the atmosphere as its kind says.
    ///
    /// Linear between the calibration's points, rounded to the nearest step, flat beyond its ends.
    ///
    /// # Errors
    /// [`SensorFault`] outside the band, and below 10 kPa absolute.
    pub const fn pressure(&self, output: SensorVoltage) -> Result<Pressure, SensorFault> {
        let (lower, upper) = self.settings.band;
        if output.bits() < lower.bits() {
            return Err(SensorFault::BelowBand);
        }
        if output.bits() > upper.bits() {
            return Err(SensorFault::AboveBand);
        }
        let pressure = self.settings.calibration.at(output);
        if matches!(self.settings.kind, SensorKind::Absolute(_)) && pressure.bits() < LEAST_PRESSURE.bits() {
            return Err(SensorFault::TooLittlePressure);
        }
        Ok(pressure)
    }
}

const fn is_atmosphere(pressure: Pressure) -> bool {
    pressure.bits() >= ATMOSPHERES.0 && pressure.bits() <= ATMOSPHERES.1
}

/// The depression in the manifold, sample by sample, from key-on to key-off.
#[derive(Clone, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Manifold<'s> {
    sensor: &'s PressureSensor,
    /// `None` until it was read, and for good where an edge came first.
    atmosphere: Option<Pressure>,
}

impl<'s> Manifold<'s> {
    /// A manifold of which nothing has been measured.
    #[must_use]
    pub const fn new(sensor: &'s PressureSensor) -> Self {
        let atmosphere = match sensor.settings.kind {
            SensorKind::Absolute(Atmosphere::Constant(pressure)) => Some(pressure),
            _ => None,
        };
        Self { sensor, atmosphere }
    }

    /// The atmosphere that an absolute sensor's depression is counted from; `None` before there is one.
    #[must_use]
    pub const fn atmosphere(&self) -> Option<Pressure> {
        self.atmosphere
    }

    /// The depression at a sensor's output voltage. `has_turned` says whether the pickup has given an edge since key-on: from
    /// then on the manifold no longer tells the atmosphere, which is the last usable reading before.
    ///
    /// A pressure above the atmosphere is no depression.
    ///
    /// # Errors
    /// [`SensorFault`]: pass `None` on to the sequencer.
    pub const fn depression(&mut self, output: SensorVoltage, has_turned: bool) -> Result<Depression, SensorFault> {
        let pressure = match self.sensor.pressure(output) {
            Ok(pressure) => pressure,
            Err(fault) => return Err(fault),
        };
        let SensorKind::Absolute(source) = self.sensor.settings.kind else {
            return Ok(Depression::saturating_from_bits(pressure.bits()));
        };
        if matches!(source, Atmosphere::ReadAtKeyOn) && !has_turned && is_atmosphere(pressure) {
            self.atmosphere = Some(pressure);
        }
        match self.atmosphere {
            Some(atmosphere) => Ok(Depression::saturating_from_bits(atmosphere.bits().saturating_sub(pressure.bits()))),
            None => Err(SensorFault::NoAtmosphere),
        }
    }
}

#[cfg(test)]
mod tests;
