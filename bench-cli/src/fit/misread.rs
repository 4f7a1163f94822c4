//! The one reading that may be misread.

use super::draws::Draw;
use super::summary::share;
use crate::readings::Reading;

/// Doubtful above this probability.
const DOUBTFUL: f64 = 0.5;
/// Named, and left out of the found curve, above this one.
const NAMED: f64 = 0.95;

/// A reading that is probably misread.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Misread {
    /// Its place among the readings of the file, from 0.
    pub index: usize,
    /// Its line of the file.
    pub line: usize,
    /// Probability that it is the one misread.
    pub probability: f64,
}

impl Misread {
    /// Whether it is certain enough to be named and left out of the found curve; otherwise it is doubtful.
    pub fn is_named(&self) -> bool {
        self.probability > NAMED
    }

    /// The reading that the draws leave out most often, where that is above one half.
    pub(super) fn most_likely(draws: &[Draw], readings: &[(usize, &Reading)]) -> Option<Self> {
        let candidates = readings.iter().enumerate().map(|(place, (index, reading))| Self {
            index: *index,
            line: reading.line,
            probability: share(draws, |draw| draw.left_out == Some(place)),
        });
        candidates
            .max_by(|one, other| one.probability.total_cmp(&other.probability))
            .filter(|misread| misread.probability > DOUBTFUL)
    }
}
