//! The one reading that may be misread.

use super::draws::Draw;
use super::summary::share;
use crate::distributor::readings::Reading;

/// Doubtful above this probability.
const DOUBTFUL: f64 = 0.5;
/// Named, and left out of the found curve, above this one.
pub(super) const NAMED: f64 = 0.95;

/// A reading that is probably misread.
#[derive(Debug, Clone, PartialEq)]
pub struct Misread {
    /// Its place among the readings of the file, from 0.
    pub index: usize,
    /// The reading as it stands in the file.
    pub reading: Reading,
    /// What the found curve gives at its speed and vacuum, crank degrees before top dead centre.
    pub expected: f64,
    /// Probability that it is the one misread.
    pub probability: f64,
}

impl Misread {
    /// Whether it is certain enough to be named and left out of the found curve; otherwise it is doubtful.
    pub fn is_named(&self) -> bool {
        self.probability > NAMED
    }
}

/// The point that the draws leave out most often, where that is in more than half of them.
pub(super) struct Suspect {
    place: usize,
    probability: f64,
}

impl Suspect {
    pub(super) fn most_likely(draws: &[Draw], points: usize) -> Option<Self> {
        let of = |place: usize| Self { place, probability: share(draws, |draw| draw.left_out == Some(place)) };
        let suspect = (0..points).map(of).max_by(|one, other| one.probability.total_cmp(&other.probability))?;
        (suspect.probability > DOUBTFUL).then_some(suspect)
    }

    /// One that is certain.
    pub(super) fn certain(place: usize) -> Self {
        Self { place, probability: 1.0 }
    }

    /// The point that is left out most often, where that is often: of two misreads each may be the one in its turn.
    pub(super) fn place_left_out_most(draws: &[Draw], points: usize) -> Option<usize> {
        const OFTEN: f64 = 0.3;
        let mut left_out = vec![0_u32; points];
        draws.iter().filter_map(|draw| draw.left_out).for_each(|place| left_out[place] += 1);
        let (place, &count) = left_out.iter().enumerate().max_by_key(|&(_, count)| count)?;
        let draws = u32::try_from(draws.len()).unwrap_or(u32::MAX);
        (f64::from(count) > OFTEN * f64::from(draws)).then_some(place)
    }

    /// Its place, where it is left out of the found curve.
    pub(super) fn left_out(&self) -> Option<usize> {
        (self.probability > NAMED).then_some(self.place)
    }

    pub(super) fn against(&self, readings: &[(usize, &Reading)], expected: impl Fn(&Reading) -> f64) -> Misread {
        let (index, reading) = readings[self.place];
        Misread { index, reading: reading.clone(), expected: expected(reading), probability: self.probability }
    }
}
