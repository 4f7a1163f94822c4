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
    /// The flank that times the spark. Of a reluctor: the zero crossing, which holds its angle.
    Timing,
    /// The pulse's other flank, near the cranking advance. Of a reluctor: the one that moves, before the crossing.
    Second,
}

/// Where the flank of a reluctor lies that its conditioner gives at a threshold. It moves with the signal's height, so with the
/// speed; it always comes before the zero crossing of its pulse.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct MovingFlank {
    /// Where it lies at its earliest, crank degrees before top dead centre: at most half a pulse before the crossing.
    pub earliest: CrankAngle,
    /// Where it lies at its latest: before the crossing.
    pub latest: CrankAngle,
}

/// What is known of a pickup. Any values can be put here; [`Pickup::new`] checks them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct PickupSettings {
    /// Evenly spaced pulses in two crank turns, 1 to 12. Two turns are one cycle of a four-stroke engine.
    pub pulses_in_two_turns: u8,
    /// Where the timing flank lies before its spark's top dead centre: 0 to 720 crank degrees. Of a reluctor: its zero
    /// crossing, which is the static advance; while running it times the spark of the next pulse.
    pub angle: CrankAngle,
    /// Where the second flank lies, if there is one: at or after top dead centre it is 0 or negative.
    pub second_flank_angle: Option<CrankAngle>,
    /// What makes the pickup a reluctor: where its other flank moves. Such a pickup has no `second_flank_angle`.
    pub moving_flank: Option<MovingFlank>,
    /// How long after a flank, of either kind, no other is looked at: 0 to 2 ms. Points bounce when they open and when they close; the
    /// firmware then gives both flanks, opening as [`Flank::Timing`]. 0 for a pickup without contacts.
    pub bounce: Duration,
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
    /// The moving flank does not lie before the zero crossing, its earliest angle within half a pulse of it: this angle.
    MovingFlank(CrankAngle),
    /// A moving flank beside a second flank at this angle.
    TwoOtherFlanks(CrankAngle),
    /// The lag is above 500 us.
    Lag(Duration),
    /// The time without another flank is above 2 ms.
    Bounce(Duration),
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
            Self::MovingFlank(_) => {
                "a reluctor's moving flank lies before its zero crossing, and by at most half a pulse"
            }
            Self::TwoOtherFlanks(_) => "a pickup with a moving flank has no second flank",
            Self::Lag(_) => "the lag is at most 500 us",
            Self::Bounce(_) => "the time in which points bounce is at most 2 ms",
            Self::Spread(_) => "the spread of the pulses is at most an eighth of a pulse",
        }
    }
}

impl fmt::Display for PickupError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Pulses(n) => write!(f, "{}, not {n}", self.message()),
            Self::Angle(angle)
            | Self::SecondFlank(angle)
            | Self::MovingFlank(angle)
            | Self::TwoOtherFlanks(angle)
            | Self::Spread(angle) => {
                write!(f, "{}: {angle} will not do", self.message())
            }
            Self::Lag(time) | Self::Bounce(time) => write!(f, "{}: {time} will not do", self.message()),
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
        if let Some(moving) = settings.moving_flank {
            if let Some(second) = settings.second_flank_angle {
                return Err(PickupError::TwoOtherFlanks(second));
            }
            if moving.latest.bits() <= settings.angle.bits() {
                return Err(PickupError::MovingFlank(moving.latest));
            }
            if moving.earliest.bits() < moving.latest.bits()
                || moving.earliest.bits() - settings.angle.bits() > pulse / 2
            {
                return Err(PickupError::MovingFlank(moving.earliest));
            }
        }
        if settings.lag.bits() > 500_000 {
            return Err(PickupError::Lag(settings.lag));
        }
        if settings.bounce.bits() > 2_000_000 {
            return Err(PickupError::Bounce(settings.bounce));
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

    /// Whether the running spark is timed by the flank of the pulse before its own: the zero crossing of a reluctor.
    pub(crate) const fn times_next_pulse(&self) -> bool {
        self.settings.moving_flank.is_some()
    }

    /// From the flank that times a spark to this advance, in steps of an angle, times the pulses: a whole pulse, which a reluctor adds,
    /// has no rounding then.
    pub(crate) const fn pulses_of_way(&self, advance: i32) -> i64 {
        let way = self.settings.angle.bits() as i64 - advance as i64;
        let one_pulse = if self.times_next_pulse() { TWO_TURNS as i64 } else { 0 };
        self.settings.pulses_in_two_turns as i64 * way + one_pulse
    }

    /// The same in steps of an angle, rounded down.
    pub(crate) const fn way(&self, advance: i32) -> i32 {
        let way = self.settings.angle.bits() - advance;
        if self.times_next_pulse() { way + self.pulse() } else { way }
    }

    /// The settings of this pickup.
    #[must_use]
    pub const fn settings(&self) -> &PickupSettings {
        &self.settings
    }
}
