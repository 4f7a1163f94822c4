//! Dwell: how long the coil is on before each spark.

use crate::curve::DwellCurve;
use crate::quantity::{Duration, Duty};
use core::fmt;

/// The shortest dwell that is ordered: 0.5 ms. Less makes no spark worth having.
pub const SHORTEST_DWELL: Duration = match Duration::from_micros(500) {
    Ok(time) => time,
    Err(_) => panic!("0.5 ms is a time"),
};

/// What a coil needs. Any values can be put here; [`Dwell::new`] checks them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct DwellSettings {
    /// The dwell wanted over the battery's voltage.
    pub curve: DwellCurve,
    /// No dwell is ever longer than this, 0.5 to 100 ms.
    pub largest: Duration,
    /// The largest share of a period in which the coil is on: above 0, at most 0.9.
    pub largest_duty: Duty,
    /// How long a spark burns: the coil is not turned on again before, 0 to 10 ms.
    pub burn_time: Duration,
}

/// Why settings do not make a dwell.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[non_exhaustive]
pub enum DwellError {
    /// The largest dwell is not 0.5 to 100 ms.
    Largest(Duration),
    /// The curve asks for less than 0.5 ms or more than the largest dwell.
    Curve(Duration),
    /// The largest duty is 0 or above 0.9.
    Duty(Duty),
    /// The burn time is above 10 ms.
    BurnTime(Duration),
}

impl DwellError {
    /// What is wrong, for the message of a compile error.
    pub const fn message(&self) -> &'static str {
        match self {
            Self::Largest(_) => "the largest dwell is 0.5 to 100 ms",
            Self::Curve(_) => "every dwell of the curve is at least 0.5 ms and at most the largest dwell",
            Self::Duty(_) => "the largest duty is above 0 and at most 90 % of the period",
            Self::BurnTime(_) => "the burn time is at most 10 ms",
        }
    }
}

impl fmt::Display for DwellError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Largest(time) | Self::Curve(time) | Self::BurnTime(time) => {
                write!(f, "{}: {time} will not do", self.message())
            }
            Self::Duty(duty) => write!(f, "{}: {duty} will not do", self.message()),
        }
    }
}

impl core::error::Error for DwellError {}

/// A checked dwell.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Dwell {
    settings: DwellSettings,
}

impl Dwell {
    /// The dwell of these settings.
    ///
    /// # Errors
    /// [`DwellError`] names the setting that is out of range.
    pub const fn new(settings: DwellSettings) -> Result<Self, DwellError> {
        let largest = settings.largest;
        if largest.bits() < SHORTEST_DWELL.bits() || largest.bits() > 100_000_000 {
            return Err(DwellError::Largest(largest));
        }
        let (shortest, longest) = settings.curve.range();
        if shortest.bits() < SHORTEST_DWELL.bits() {
            return Err(DwellError::Curve(shortest));
        }
        if longest.bits() > largest.bits() {
            return Err(DwellError::Curve(longest));
        }
        let duty = settings.largest_duty;
        if duty.bits() == 0 || duty.bits() > Duty::STEP / 10 * 9 {
            return Err(DwellError::Duty(duty));
        }
        if settings.burn_time.bits() > 10_000_000 {
            return Err(DwellError::BurnTime(settings.burn_time));
        }
        Ok(Self { settings })
    }

    /// The settings of this dwell.
    #[must_use]
    pub const fn settings(&self) -> &DwellSettings {
        &self.settings
    }
}
