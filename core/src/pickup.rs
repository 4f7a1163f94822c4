//! The pickup: pulses in two crank turns, flanks, angle, lag.

use crate::quantity::{Acceleration, CrankAngle, Duration};
use core::fmt;

/// The most pulses in two crank turns.
pub const MOST_PULSES: u8 = 12;

/// Which flank of a pulse.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Flank {
    /// The flank that times the spark.
    Timing,
    /// The pulse's other flank, near the cranking advance.
    Second,
}

/// What is known of a pickup. Any values can be put here; [`Pickup::new`] checks them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct PickupSettings {
    /// Evenly spaced pulses in two crank turns, 1 to 12. Two turns are one cycle of a four-stroke engine.
    pub pulses_in_two_turns: u8,
    /// Where the timing flank lies before its spark's top dead centre: 0 to 720 crank degrees.
    pub angle: CrankAngle,
    /// Where the second flank lies, if there is one: at or after top dead centre it is 0 or negative.
    pub second_flank_angle: Option<CrankAngle>,
    /// How late the whole ignition answers an edge, to be made up by ordering early: 0 to 500 us.
    pub lag: Duration,
    /// How fast the engine can change its speed, either way.
    pub greatest_acceleration: Acceleration,
    /// How unevenly the pulses may lie: 0 to an eighth of a pulse.
    pub pulse_spread: CrankAngle,
}

/// Why settings do not make a pickup.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[non_exhaustive]
pub enum PickupError {
    /// Not 1 to 12 pulses in two crank turns: this many.
    Pulses(u8),
    /// The timing flank is not 0 to 720 crank degrees before top dead centre.
    Angle(CrankAngle),
    /// The second flank does not follow the timing flank within one pulse.
    SecondFlank(CrankAngle),
    /// The lag is above 500 us.
    Lag(Duration),
    /// The spread is negative or above an eighth of a pulse.
    Spread(CrankAngle),
}

impl PickupError {
    /// What is wrong, for the message of a compile error.
    pub const fn message(&self) -> &'static str {
        match self {
            Self::Pulses(_) => "a pickup gives 1 to 12 pulses in two crank turns",
            Self::Angle(_) => "the pickup's angle is 0 to 720 crank degrees before top dead centre",
            Self::SecondFlank(_) => "the second flank follows the timing flank within one pulse",
            Self::Lag(_) => "the lag is at most 500 us",
            Self::Spread(_) => "the spread of the pulses is at most an eighth of a pulse",
        }
    }
}

impl fmt::Display for PickupError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Pulses(n) => write!(f, "{}, not {n}", self.message()),
            Self::Angle(angle) | Self::SecondFlank(angle) | Self::Spread(angle) => {
                write!(f, "{}: {angle} will not do", self.message())
            }
            Self::Lag(lag) => write!(f, "{}: {lag} will not do", self.message()),
        }
    }
}

impl core::error::Error for PickupError {}

/// A checked pickup.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Pickup {
    settings: PickupSettings,
}

/// Two turns of the crank, in steps of an angle.
pub(crate) const TWO_TURNS: i32 = 720 * CrankAngle::STEP as i32;

impl Pickup {
    /// A pickup of these settings.
    ///
    /// # Errors
    /// [`PickupError`] names the setting that is out of range.
    pub const fn new(settings: PickupSettings) -> Result<Self, PickupError> {
        let pulses = settings.pulses_in_two_turns;
        if pulses < 1 || pulses > MOST_PULSES {
            return Err(PickupError::Pulses(pulses));
        }
        if settings.angle.bits() < 0 {
            return Err(PickupError::Angle(settings.angle));
        }
        let pulse = Self { settings }.pulse();
        if let Some(second) = settings.second_flank_angle {
            let after = settings.angle.bits() - second.bits();
            if after <= 0 || after >= pulse {
                return Err(PickupError::SecondFlank(second));
            }
        }
        if settings.lag.bits() > 500_000 {
            return Err(PickupError::Lag(settings.lag));
        }
        let spread = settings.pulse_spread.bits();
        if spread < 0 || spread > pulse / 8 {
            return Err(PickupError::Spread(settings.pulse_spread));
        }
        Ok(Self { settings })
    }

    /// From one pulse to the next, in steps of an angle.
    pub(crate) const fn pulse(&self) -> i32 {
        crate::divide::floored(TWO_TURNS as i64, self.settings.pulses_in_two_turns as i64) as i32
    }

    /// The settings of this pickup.
    #[must_use]
    pub const fn settings(&self) -> &PickupSettings {
        &self.settings
    }
}
