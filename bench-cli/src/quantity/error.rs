//! Why a text is not the quantity that was asked for, and what to write instead.

use super::Dimension;
use thiserror::Error;

/// A text that does not say a quantity, or says it in a way that could be read twice.
#[derive(Clone, Debug, Error, PartialEq)]
#[non_exhaustive]
pub enum QuantityError {
    /// Nothing was written.
    #[error("{} is missing", dimension.name)]
    Empty {
        /// What was asked for.
        dimension: &'static Dimension,
    },
    /// The text does not begin with a number.
    #[error("`{written}` does not begin with a number")]
    NoNumber {
        /// What was asked for.
        dimension: &'static Dimension,
        /// The text.
        written: String,
    },
    /// NaN stands for no number at all.
    #[error("`{written}` is not a number")]
    NotANumber {
        /// What was asked for.
        dimension: &'static Dimension,
        /// The text.
        written: String,
    },
    /// Infinite, or too great for a number of this program.
    #[error("`{written}` is without end")]
    Infinite {
        /// What was asked for.
        dimension: &'static Dimension,
        /// The text.
        written: String,
    },
    /// A comma where the point belongs.
    #[error("`{written}` has a decimal comma")]
    DecimalComma {
        /// The text.
        written: String,
        /// The text with a decimal point.
        remedy: String,
    },
    /// A number alone.
    #[error("`{written}` has no unit")]
    MissingUnit {
        /// What was asked for.
        dimension: &'static Dimension,
        /// The number as written.
        written: String,
    },
    /// A unit of something else, or of nothing.
    #[error("`{unit}` is no unit of {}", dimension.name)]
    UnknownUnit {
        /// What was asked for.
        dimension: &'static Dimension,
        /// The unit as written.
        unit: String,
    },
    /// Which shaft is meant is not said.
    #[error("`{unit}` says neither crank nor distributor")]
    CrankOrDistributor {
        /// The number as written; empty for a column's unit.
        written: String,
        /// The unit as written.
        unit: String,
    },
    /// Which side of the atmosphere is meant is not said.
    #[error("`{unit}` says neither depression nor absolute")]
    BareVacuum {
        /// The number; none for a column's unit.
        number: Option<f64>,
        /// The unit as written.
        unit: String,
        /// The unit in full.
        spelt: String,
        /// The standard atmosphere in that unit.
        atmosphere: f64,
    },
    /// Less than nothing, of something that cannot be.
    #[error("`{written}` is below zero")]
    Negative {
        /// What was asked for.
        dimension: &'static Dimension,
        /// The text.
        written: String,
    },
    /// No supply that engines were built with.
    #[error("`{written}` is no supply that is known here")]
    Supply {
        /// The text.
        written: String,
    },
}

impl QuantityError {
    /// What to write instead.
    pub fn help(&self) -> String {
        match self {
            Self::Empty { dimension } => {
                format!("write {}, such as `{}`", dimension.name, dimension.example)
            }
            Self::NoNumber { dimension, .. } => {
                format!("write the number first and then its unit, such as `{}`", dimension.example)
            }
            Self::NotANumber { dimension, .. } => format!(
                "a reading that failed is left out; otherwise write what was measured, such as `{}`",
                dimension.example
            ),
            Self::Infinite { dimension, .. } => {
                format!("write the greatest value that is meant, such as `{}`", dimension.example)
            }
            Self::DecimalComma { remedy, .. } => format!("write a decimal point: `{remedy}`"),
            Self::MissingUnit { dimension, written } => {
                format!("write {written} and its unit: {}", dimension.unit_list())
            }
            Self::UnknownUnit { dimension, .. } => {
                format!("write {}: `{}`", dimension.unit_list(), dimension.example)
            }
            Self::CrankOrDistributor { written, unit } => format!(
                "write `{0}` or `{1}`; the distributor turns once for two turns of the crank",
                format!("{written} crank {unit}").trim_start(),
                format!("{written} distributor {unit}").trim_start(),
            ),
            Self::BareVacuum { number: Some(number), spelt, atmosphere, .. } => format!(
                "write `{number} {spelt} depression`, below the atmosphere, or, for the same vacuum as the pressure that \
                 is left in the manifold at sea level, `{:.0} {spelt} absolute`",
                atmosphere - number
            ),
            Self::BareVacuum { number: None, spelt, .. } => {
                format!("write `{spelt} depression`, below the atmosphere, or `{spelt} absolute`, above nothing")
            }
            Self::Negative { dimension, .. } if dimension.name == "a speed" => {
                "write the speed without its sign; which way a shaft turns is said by `rotation`".to_owned()
            }
            Self::Negative { dimension, .. } if dimension.name == "a depression" => {
                "pressure above the atmosphere is not served: there is no advance to add for it".to_owned()
            }
            Self::Negative { dimension, .. } => {
                format!("write it without its sign, such as `{}`", dimension.example)
            }
            Self::Supply { .. } => {
                "write `6 V`, `12 V` or `24 V`, and `negative earth` or `positive earth` behind it; an \
                                    engine with a magneto has none: leave `supply` out"
                    .to_owned()
            }
        }
    }
}
