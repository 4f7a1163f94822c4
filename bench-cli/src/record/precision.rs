//! Figures to their own precision, rounded where a record is made: what is finer than any of them was measured says nothing, and
//! reads as if it did.

use super::interval::Interval;

/// Crank degrees are recorded to so many places.
pub(crate) const DEGREES: i32 = 3;
/// Microseconds.
pub(crate) const MICROSECONDS: i32 = 2;
/// Crank rpm.
pub(crate) const RPM: i32 = 1;
/// Crank degrees that a verdict is worked out from again when the record is read: rounding must not turn it.
pub(crate) const JUDGED_DEGREES: i32 = 6;
/// Estimates, and what their uncertainties are made of.
pub(crate) const ESTIMATES: i32 = 5;
/// Shares.
pub(crate) const SHARES: i32 = 4;
/// Milliseconds.
pub(crate) const MILLISECONDS: i32 = 4;
/// Kilopascals.
pub(crate) const KPA: i32 = 3;

/// A value to so many decimal places, to the nearest; what is not finite stays.
pub(crate) fn to_places(value: f64, places: i32) -> f64 {
    let scale = 10.0_f64.powi(places);
    let scaled = (value * scale).round();
    // Beyond 2^53 there are no places to round.
    if scaled.is_finite() { scaled / scale + 0.0 } else { value }
}

impl Interval {
    /// Value and ends to so many decimal places.
    #[must_use]
    pub(crate) fn to_places(self, places: i32) -> Self {
        let [value, low, high] = [self.value, self.low, self.high].map(|one| to_places(one, places));
        Self { value, low, high }
    }
}

/// What a figure is of; each has its own last place.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub(crate) enum Precision {
    /// Crank degrees: to 0.01, a tenth of what is shown.
    CrankDegrees,
    /// Crank degrees squared, of a sum of squares: to 0.0001.
    CrankDegreesSquared,
    /// Crank rpm: to 0.1.
    CrankRpm,
    /// kPa: to 0.01.
    Kpa,
    /// A probability or a share: to 0.0001.
    Probability,
    /// Odds, or a difference over its standard deviation: to 0.01.
    Ratio,
}

impl Precision {
    fn places(self) -> i32 {
        match self {
            Self::CrankRpm => 1,
            Self::CrankDegrees | Self::Kpa | Self::Ratio => 2,
            Self::CrankDegreesSquared | Self::Probability => 4,
        }
    }

    /// The figure to its last place, a half away from zero. Never minus zero; infinite and not a number stay so.
    pub(crate) fn of(self, figure: f64) -> f64 {
        to_places(figure, self.places())
    }

    /// The value and both ends likewise.
    pub(crate) fn of_interval(self, Interval { value, low, high }: Interval) -> Interval {
        Interval { value: self.of(value), low: self.of(low), high: self.of(high) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_end_where_their_precision_does() {
        assert_eq!(to_places(169.862_499_999_999_98, 3).to_string(), "169.862");
        assert_eq!(to_places(28.899_993_896_484_375, 3).to_string(), "28.9");
        assert_eq!(to_places(-0.000_4, 3).to_string(), "0");
        assert!(to_places(f64::INFINITY, 3).is_infinite());
    }

    #[test]
    fn a_figure_ends_at_its_last_place_and_prints_so() {
        let printed = |precision: Precision, figure: f64| format!("{}", precision.of(figure));
        assert_eq!(printed(Precision::CrankDegrees, 28.899_993_896_484_375), "28.9");
        assert_eq!(printed(Precision::Kpa, 169.862_499_999_999_98), "169.86");
        assert_eq!(printed(Precision::CrankDegrees, -0.125), "-0.13");
        assert_eq!(printed(Precision::CrankRpm, 1_234.56), "1234.6");
        assert_eq!(printed(Precision::Probability, 0.999_96), "1");
        assert_eq!(printed(Precision::CrankDegrees, -0.001), "0");
        assert_eq!(Precision::Ratio.of(f64::MAX).to_bits(), f64::MAX.to_bits());
        assert!(Precision::Ratio.of(f64::INFINITY).is_infinite() && Precision::Ratio.of(f64::NAN).is_nan());
    }
}
