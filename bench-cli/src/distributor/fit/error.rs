//! Readings from which no curve can be had at all.

use miette::Diagnostic;
use thiserror::Error;

use super::{FEWEST_READINGS, MOST_READINGS, NARROWEST_SURVEY};
use crate::words::number::whole;

/// Why there is no fit.
#[derive(Debug, Clone, PartialEq, Error, Diagnostic)]
#[non_exhaustive]
pub enum FitError {
    /// Fewer readings with the hose off than any curve needs.
    #[error("{name}: {found} readings with the hose off, and a curve needs {FEWEST_READINGS} at the least")]
    #[diagnostic(help("take at least 18, three of them at idle and three at the top where the advance rises no more"))]
    TooFewReadings {
        /// Name of the file.
        name: String,
        /// Readings with the hose off.
        found: usize,
    },
    /// More readings than are fitted in a bearable time.
    #[error(
        "{name}: {found} readings with the hose {hose}, and at most {MOST_READINGS} are fitted: the time grows with their square"
    )]
    #[diagnostic(help(
        "keep the readings of one survey, some tens: more of them make the curve no surer than the light is"
    ))]
    TooManyReadings {
        /// Name of the file.
        name: String,
        /// Readings with the hose so.
        found: usize,
        /// How the hose was.
        hose: &'static str,
    },
    /// All readings within too small a range of speeds.
    #[error(
        "{name}: the readings with the hose off lie between {} and {} crank rpm, and a curve needs at least {} crank rpm \
         between the lowest and the highest",
        whole(*low),
        whole(*high),
        whole(NARROWEST_SURVEY)
    )]
    #[diagnostic(help("read from idle up to the speed where the advance rises no more"))]
    NarrowRange {
        /// Name of the file.
        name: String,
        /// Lowest speed, crank rpm.
        low: f64,
        /// Highest speed, crank rpm.
        high: f64,
    },
    /// A scatter that no light has.
    #[error("a scatter of {0} crank degrees is outside 0.05 to 5 crank degrees")]
    #[diagnostic(help("0.5 crank degrees is what a timing light by eye gives"))]
    Scatter(f64),
}
