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
}
