//! A bounded trim: how far an input of the firmware's own may move the running advance from the curve.
//!
//! A switch for another fuel, a cold engine, an idle that wants a degree: each moves the advance by a little, and what moves it
//! may be wrong or broken. So a model states the bounds, its limits are proven with them
//! ([`AdvanceModel::judge`](crate::AdvanceModel::judge)), its timetable and its sparks are worked out with them, and an input
//! is kept to them whatever it asks for.

use crate::quantity::{Advance, AdvanceRate, Decimal};
use core::fmt;

/// The bounds of a trim, added to the advance of a running engine, and to no other.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Trim {
    /// Tenths of a crank degree: two bytes on a chip, and in an image whose slot is full.
    later: u8,
    earlier: u8,
}

/// A trim that goes further than [`Trim::MOST_TENTHS`] either way.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct TrimError {
    /// How far, in tenths of a crank degree.
    pub tenths: u8,
}

impl TrimError {
    /// What is wrong, in a sentence; also the message of a compile error.
    pub const fn message(&self) -> &'static str {
        "a trim goes at most 10 crank degrees either way"
    }
}

impl fmt::Display for TrimError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}, not {}", self.message(), Decimal { steps: i64::from(self.tenths), step: 10 })
    }
}

impl core::error::Error for TrimError {}

/// How fast a trim adds advance where the engine has no vacuum advance, whose own rate it has otherwise: 30 crank degrees a second. A
/// choice, without a source.
pub(crate) const RATE_WITHOUT_VACUUM: AdvanceRate = crate::must!(AdvanceRate::from_bits(30 * AdvanceRate::STEP as i32));

impl Trim {
    /// No trim: the curve alone.
    pub const NONE: Self = Self { later: 0, earlier: 0 };

    /// The furthest that a trim goes either way: 100 tenths of a crank degree. More than that is another curve. A choice, without a source.
    pub const MOST_TENTHS: u8 = 100;

    /// A trim that goes so far to the late side of the curve and so far to its early side, in tenths of a crank degree.
    ///
    /// # Errors
    /// [`TrimError`] where one of them is more than [`Trim::MOST_TENTHS`].
    pub const fn from_tenths(later: u8, earlier: u8) -> Result<Self, TrimError> {
        let most = if later > earlier { later } else { earlier };
        if most > Self::MOST_TENTHS {
            return Err(TrimError { tenths: most });
        }
        Ok(Self { later, earlier })
    }

    /// How far it goes to the late side and to the early side, in tenths of a crank degree.
    #[must_use]
    pub const fn tenths(&self) -> (u8, u8) {
        (self.later, self.earlier)
    }

    /// The least advance that it adds: nought or negative.
    #[must_use]
    pub const fn least(&self) -> Advance {
        Advance::saturating_from_bits(-in_steps(self.later))
    }

    /// The greatest that it adds: nought or positive.
    #[must_use]
    pub const fn greatest(&self) -> Advance {
        Advance::saturating_from_bits(in_steps(self.earlier))
    }

    /// What an input is given that asks for so much: that, kept to the bounds. An input that has failed, `None`, is given the least,
    /// for a doubt errs to the late side.
    #[must_use]
    pub const fn given(&self, wanted: Option<Advance>) -> Advance {
        let (least, greatest) = (self.least(), self.greatest());
        match wanted {
            Some(wanted) if wanted.bits() > greatest.bits() => greatest,
            Some(wanted) if wanted.bits() >= least.bits() => wanted,
            _ => least,
        }
    }
}

/// Tenths in steps of an advance, rounded towards nought.
const fn in_steps(tenths: u8) -> i32 {
    tenths as i32 * Advance::STEP as i32 / 10
}
