//! What a meter's maker says of its accuracy: so much of what it shows, and so much besides.

use super::{Dimension, QuantityError, SHARE, parse};

/// The accuracy of one range of a meter.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Accuracy {
    /// Share of what is shown.
    pub share: f64,
    /// Besides, in the unit used inside.
    pub besides: f64,
}

impl Accuracy {
    /// The true figure lies no further from `shown` than this.
    pub fn within(self, shown: f64) -> f64 {
        self.share * shown.abs() + self.besides
    }
}

/// Reads an accuracy, such as `0.8 % + 0.1 ohm`; either part may stand alone.
///
/// # Errors
/// Whatever [`parse`] refuses of either part.
pub fn parse_accuracy(dimension: &'static Dimension, text: &str) -> Result<Accuracy, QuantityError> {
    let (share, besides) = match text.split_once(" + ") {
        Some((share, besides)) => (share, besides),
        None if text.trim_end().ends_with('%') => return Ok(Accuracy { share: parse(&SHARE, text)?, besides: 0.0 }),
        None => return Ok(Accuracy { share: 0.0, besides: parse(dimension, text)? }),
    };
    Ok(Accuracy { share: parse(&SHARE, share)?, besides: parse(dimension, besides)? })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::{RESISTANCE, VOLTAGE};

    #[test]
    fn an_accuracy_is_a_share_and_something_besides() {
        let both = parse_accuracy(&RESISTANCE, "0.8 % + 0.1 ohm").expect("both");
        // Reckoned by hand: 0.8 % of 3 ohm are 0.024.
        assert!((both.within(3.0) - 0.124).abs() < 1e-12);
        assert!((parse_accuracy(&VOLTAGE, "30 mV").expect("alone").within(12.0) - 0.03).abs() < 1e-12);
        assert!((parse_accuracy(&VOLTAGE, "1 %").expect("alone").within(-12.0) - 0.12).abs() < 1e-12);
        for wrong in ["", "0.8", "0.8 % + 0.1", "0.1 ohm + 0.8 %", "0.8 % + 0.1 V", "-1 %", "1 % + 2 digits", "1 % +"] {
            assert!(parse_accuracy(&RESISTANCE, wrong).is_err(), "{wrong}");
        }
    }
}
