//! Fixed-point quantities, each with its unit, scale and range.
//!
//! A quantity is a number that knows its unit. Its constructor is `const` and refuses what lies outside the range, so that
//! a wrong figure in firmware is a compile error. The raw scaled integer goes in and out by `from_bits` and `bits`, the
//! number itself by `new` and `get` in a type of the `fixed` crate; the two are never mixed under one name.

mod angle;
mod electric;
mod pressure;
mod speed;
mod time;

pub use angle::{Advance, AdvanceRate, CrankAngle};
pub use electric::{Current, Duty, Energy, Inductance, Power, Resistance, SensorVoltage, Voltage};
pub use pressure::{Depression, Pressure};
pub use speed::{Acceleration, CrankSpeed, Swing};
pub use time::{Duration, TickRate};

use core::fmt;

/// A value outside the range of its quantity.
///
/// `value`, `least` and `greatest` are raw scaled integers; `step` of them make one `unit`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct OutOfRange {
    /// The quantity's name.
    pub quantity: &'static str,
    /// The unit of one, for people.
    pub unit: &'static str,
    /// What was asked for, in steps.
    pub value: i64,
    /// The least allowed, in steps.
    pub least: i64,
    /// The greatest allowed, in steps.
    pub greatest: i64,
    /// Steps in one unit.
    pub step: u32,
}

impl OutOfRange {
    /// What is wrong, for the message of a compile error.
    pub const fn message(&self) -> &'static str {
        "a quantity is out of its range"
    }
}

impl fmt::Display for OutOfRange {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let decimal = |steps| Decimal { steps, step: self.step };
        write!(
            f,
            "{} of {} {} is outside {} to {} {}",
            self.quantity,
            decimal(self.value),
            self.unit,
            decimal(self.least),
            decimal(self.greatest),
            self.unit
        )
    }
}

impl core::error::Error for OutOfRange {}

/// Writes a count of steps as a decimal number with up to three places, rounded to nearest, without floating point.
pub(crate) struct Decimal {
    pub steps: i64,
    pub step: u32,
}

impl fmt::Display for Decimal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let step = i128::from(self.step.max(1));
        let thousandths = (i128::from(self.steps).abs() * 2000 + step) / (2 * step);
        let sign = if self.steps < 0 && thousandths > 0 { "-" } else { "" };
        let (grouped, rest) = (Grouped(thousandths / 1000), thousandths % 1000);
        if rest == 0 {
            write!(f, "{sign}{grouped}")
        } else if rest % 100 == 0 {
            write!(f, "{sign}{grouped}.{}", rest / 100)
        } else if rest % 10 == 0 {
            write!(f, "{sign}{grouped}.{:02}", rest / 10)
        } else {
            write!(f, "{sign}{grouped}.{rest:03}")
        }
    }
}

/// A whole number in groups of three digits: `3 300`.
struct Grouped(i128);

impl fmt::Display for Grouped {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.0 {
            small if small < 1000 => write!(f, "{small}"),
            large => write!(f, "{} {:03}", Grouped(large / 1000), large % 1000),
        }
    }
}

/// Defines a quantity: a checked newtype over a type of the `fixed` crate.
macro_rules! quantity {
    (
        $(#[$doc:meta])*
        $name:ident($fixed:ty, $bits:ty), $quantity:literal, $unit:literal, $least:expr, $greatest:expr
    ) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub struct $name($fixed);

        impl $name {
            /// Steps in one unit.
            pub const STEP: u32 = 1 << <$fixed>::FRAC_NBITS;
            /// The least value.
            pub const MIN: Self = Self(<$fixed>::from_bits($least * Self::STEP as $bits));
            /// The greatest value.
            pub const MAX: Self = Self(<$fixed>::from_bits($greatest * Self::STEP as $bits));

            /// The quantity of this number of units, exactly.
            ///
            /// # Errors
            /// [`OutOfRange`](crate::quantity::OutOfRange) when the number lies outside `MIN` to `MAX`.
            pub const fn new(value: $fixed) -> Result<Self, crate::quantity::OutOfRange> {
                Self::from_bits(value.to_bits())
            }

            /// The quantity of this raw scaled integer, `STEP` of which are one unit.
            ///
            /// # Errors
            /// [`OutOfRange`](crate::quantity::OutOfRange) when the value lies outside `MIN` to `MAX`.
            pub const fn from_bits(bits: $bits) -> Result<Self, crate::quantity::OutOfRange> {
                if bits < Self::MIN.0.to_bits() || bits > Self::MAX.0.to_bits() {
                    return Err(Self::refusal(bits as i64));
                }
                Ok(Self(<$fixed>::from_bits(bits)))
            }

            // Once for all that refuse: flash is short.
            #[inline(never)]
            const fn refusal(steps: i64) -> crate::quantity::OutOfRange {
                crate::quantity::OutOfRange {
                    quantity: $quantity,
                    unit: $unit,
                    value: steps,
                    least: Self::MIN.0.to_bits() as i64,
                    greatest: Self::MAX.0.to_bits() as i64,
                    step: Self::STEP,
                }
            }

            /// The nearest value of the range: the end that was passed, if one was.
            #[must_use]
            pub const fn saturating_from_bits(bits: $bits) -> Self {
                if bits < Self::MIN.0.to_bits() {
                    Self::MIN
                } else if bits > Self::MAX.0.to_bits() {
                    Self::MAX
                } else {
                    Self(<$fixed>::from_bits(bits))
                }
            }

            /// The raw scaled integer.
            #[must_use]
            pub const fn bits(self) -> $bits {
                self.0.to_bits()
            }

            /// The number of units.
            #[must_use]
            pub const fn get(self) -> $fixed {
                self.0
            }
        }

        // As steps over the steps of one unit: a chip divides nothing for it.
        #[cfg(feature = "defmt")]
        impl defmt::Format for $name {
            fn format(&self, f: defmt::Formatter<'_>) {
                defmt::write!(f, "{}/{=u32} {=str}", self.bits(), Self::STEP, $unit);
            }
        }

        // As the raw scaled integer, and back through the same check as any other.
        #[cfg(feature = "serde")]
        impl serde::Serialize for $name {
            fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                serde::Serialize::serialize(&self.bits(), serializer)
            }
        }

        #[cfg(feature = "serde")]
        impl<'de> serde::Deserialize<'de> for $name {
            fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
                let bits = <$bits as serde::Deserialize>::deserialize(deserializer)?;
                Self::from_bits(bits).map_err(serde::de::Error::custom)
            }
        }

        impl core::fmt::Display for $name {
            fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
                let steps = i64::from(self.bits());
                write!(f, "{} {}", crate::quantity::Decimal { steps, step: Self::STEP }, $unit)
            }
        }
    };
}
pub(crate) use quantity;

/// The steps of a number of parts of a unit, to the nearest, a half up; as an error those that lie outside a range.
// Once for all quantities, likewise.
#[inline(never)]
const fn steps(parts: i32, step: u32, parts_of_a_unit: i64, [least, greatest]: [i64; 2]) -> Result<i64, i64> {
    let steps = crate::divide::floored(parts as i64 * step as i64 + parts_of_a_unit / 2, parts_of_a_unit);
    if least <= steps && steps <= greatest { Ok(steps) } else { Err(steps) }
}

/// Checked constructors of a quantity in the numbers that people write: whole units and tenths of one.
macro_rules! in_units {
    ($name:ident, $whole:ident, $unit:literal) => {
        impl $name {
            #[doc = concat!("This many ", $unit, ", exactly.")]
            ///
            /// # Errors
            /// [`OutOfRange`](crate::quantity::OutOfRange) outside `MIN` to `MAX`, however large the number is.
            pub const fn $whole(whole: i32) -> Result<Self, crate::quantity::OutOfRange> {
                match crate::quantity::steps(whole, Self::STEP, 1, Self::RANGE) {
                    Ok(steps) => Self::from_bits(steps as _),
                    Err(steps) => Err(Self::refusal(steps)),
                }
            }

            #[doc = concat!("This many tenths of ", $unit, ", to the nearest step, a half up.")]
            ///
            /// # Errors
            /// [`OutOfRange`](crate::quantity::OutOfRange) outside `MIN` to `MAX`, however large the number is.
            pub const fn from_tenths(tenths: i32) -> Result<Self, crate::quantity::OutOfRange> {
                match crate::quantity::steps(tenths, Self::STEP, 10, Self::RANGE) {
                    Ok(steps) => Self::from_bits(steps as _),
                    Err(steps) => Err(Self::refusal(steps)),
                }
            }

            const RANGE: [i64; 2] = [Self::MIN.0.to_bits() as i64, Self::MAX.0.to_bits() as i64];
        }
    };
}
pub(crate) use in_units;

#[cfg(test)]
mod tests {
    use super::*;
    extern crate std;
    use std::format;

    #[test]
    fn each_end_of_a_range_is_taken_and_the_step_beyond_it_is_refused() {
        let greatest = Advance::MAX.bits();
        assert_eq!(Advance::from_bits(greatest), Ok(Advance::MAX));
        assert!(Advance::from_bits(greatest + 1).is_err());
        assert_eq!(Advance::saturating_from_bits(greatest + 1), Advance::MAX);
        let least = Advance::MIN.bits();
        assert_eq!(Advance::from_bits(least), Ok(Advance::MIN));
        assert!(Advance::from_bits(least - 1).is_err());
        assert!(CrankSpeed::from_bits(CrankSpeed::MAX.bits() + 1).is_err());
    }

    /// By plain fractions: a whole number is exact, a tenth to half a step, and no number is so large that it wraps into the range.
    #[test]
    fn whole_units_and_tenths_are_exact_or_refused() {
        for degrees in -40..=100 {
            let exact = Advance::from_bits(degrees * 65_536);
            assert_eq!(Advance::from_degrees(degrees).ok(), exact.ok());
            assert_eq!(Advance::from_tenths(10 * degrees).ok(), exact.ok());
        }
        for tenths in -300..=900 {
            let bits = Advance::from_tenths(tenths).unwrap().bits();
            assert!((20 * bits - 2 * tenths * 65_536).abs() <= 10, "{tenths}");
        }
        for rpm in [0, 1, 20_000] {
            assert_eq!(CrankSpeed::from_rpm(rpm).unwrap().bits(), 256 * rpm.cast_unsigned());
        }
        assert_eq!(Voltage::from_tenths(138).unwrap().bits(), 3_533);
        assert_eq!(Depression::from_kpa(41).unwrap().bits(), 41 << 16);
        // 2^16 units more, or 2^24, have the same low bits.
        for large in [65_536 + 20, (1 << 24) + 20, i32::MAX, i32::MIN, -1] {
            assert!(CrankSpeed::from_rpm(large).is_err() && Voltage::from_volts(large).is_err(), "{large}");
            assert!(Depression::from_kpa(large).is_err(), "{large}");
            assert!(large == -1 || Advance::from_degrees(large).is_err(), "{large}");
        }
        assert_eq!(
            format!("{}", CrankSpeed::from_rpm(-5).unwrap_err()),
            "speed of -5 crank rpm is outside 0 to 20 000 crank rpm"
        );
    }

    #[test]
    fn a_refusal_names_the_value_and_the_limits() {
        let refusal = Advance::new(fixed::types::I16F16::lit("90.5")).unwrap_err();
        assert_eq!(format!("{refusal}"), "advance of 90.5 crank degrees is outside -30 to 90 crank degrees");
    }

    #[test]
    fn decimals_round_to_the_nearest_thousandth() {
        let text = |steps, step| format!("{}", Decimal { steps, step });
        assert_eq!(text(-1, 65_536), "0");
        assert_eq!(text(-65_536 / 8, 65_536), "-0.125");
        assert_eq!(text(12 * 256 + 128, 256), "12.5");
        assert_eq!(text(65_535, 65_536), "1");
        assert_eq!(text(i64::MIN, 1), "-9 223 372 036 854 775 808");
        assert_eq!([999, 1000, 20_000].map(|steps| text(steps, 1)), ["999", "1 000", "20 000"]);
    }
}
