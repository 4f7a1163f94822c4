//! What an engine's electric system has: its nominal volts, and which pole of the battery is on the engine's metal.

use super::{QuantityError, squeeze};
use serde::Serialize;

/// A supply.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Supply {
    /// Nominal volts: 6, 12 or 24.
    #[serde(rename = "supply_volts")]
    pub volts: f64,
    /// Whether the positive pole is on earth. Left out of what is saved where it is not, as from the first version on.
    #[serde(rename = "supply_positive_earth", skip_serializing_if = "std::ops::Not::not")]
    pub positive_earth: bool,
}

/// The supply that the drive circuits are made for.
pub const DRIVEN: Supply = Supply { volts: 12.0, positive_earth: false };

/// Nominal volts of the systems that engines were built with.
const NOMINAL_VOLTS: [f64; 3] = [6.0, 12.0, 24.0];

impl Supply {
    /// The lowest and the highest battery voltage to reckon with: from a battery that the starter pulls down to a regulator that
    /// fails high. 6 to 16 V and 10 to 32 V are the widest ranges that ISO 16750-2 gives for 12 V and 24 V (from memory); that of
    /// 6 V is common practice, no source.
    pub fn battery_volts(self) -> (f64, f64) {
        match self.volts {
            volts if volts < 9.0 => (4.0, 8.0),
            volts if volts < 18.0 => (6.0, 16.0),
            _ => (10.0, 32.0),
        }
    }

    /// How it is written: `12 V negative earth`.
    pub fn in_words(self) -> String {
        format!("{} V {} earth", self.volts, if self.positive_earth { "positive" } else { "negative" })
    }
}

/// Reads a supply, such as `6 V positive earth`.
///
/// # Errors
/// [`QuantityError::Supply`] for what is none.
pub fn parse_supply(text: &str) -> Result<Supply, QuantityError> {
    let text = squeeze(text);
    let each = NOMINAL_VOLTS
        .into_iter()
        .flat_map(|volts| [false, true].map(|positive_earth| Supply { volts, positive_earth }));
    each.into_iter().find(|supply| supply.in_words() == text).ok_or(QuantityError::Supply { written: text })
}
