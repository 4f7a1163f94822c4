//! What is believed before a reading is seen.

use nalgebra::SMatrix;

use super::design::wave;

/// The levels' standard deviation about the median reading, in units of the stated scatter.
const LEVEL_PER_SCATTER: f64 = 40.0;
/// The standard deviation of the difference between falling and rising speed, in units of the scatter.
const UP_DOWN_PER_SCATTER: f64 = 4.0;
/// How many readings the stated scatter is worth.
const SCATTER_WORTH: i32 = 6;
/// How many where the readings scatter otherwise than was stated. Held down by six, a scatter of 1 or 2 crank degrees that nobody
/// stated was covered in 70 of 100 surveys; of a scatter as stated, two would make every interval of 18 readings a quarter wider.
const SCATTER_WORTH_OTHERWISE: i32 = 2;
/// A misread is as likely to be any of so many degrees out.
const MISREAD_SPAN_DEGREES: f64 = 20.0;

/// Normal levels and inverse gamma scatter, conjugate to readings with normal scatter.
#[derive(Debug, Clone, Copy)]
pub(super) struct Prior {
    /// Shape of the inverse gamma distribution of the squared scatter.
    pub(super) shape: f64,
    /// Twice the shape: so many readings it is worth.
    pub(super) worth: i32,
    /// Scale of it, degrees squared.
    pub(super) scale: f64,
    /// Standard deviation of the bows, in units of the scatter; where there are any.
    bow: f64,
    /// Standard deviation of the first level, in units of the scatter.
    first_level: f64,
}

impl Prior {
    /// The prior for a scatter in crank degrees (standard deviation).
    pub(super) fn new(scatter: f64) -> Self {
        Self::worth(SCATTER_WORTH, scatter, LEVEL_PER_SCATTER)
    }

    /// The same where the readings scatter otherwise.
    pub(super) fn otherwise(scatter: f64) -> Self {
        Self::worth(SCATTER_WORTH_OTHERWISE, scatter, LEVEL_PER_SCATTER)
    }

    /// The prior for vacuum readings that scatter otherwise than those with the hose off.
    pub(super) fn of_vacuum_otherwise(scatter: f64) -> Self {
        Self::worth(SCATTER_WORTH_OTHERWISE, scatter, 1.0)
    }

    /// The prior for vacuum readings: the scatter is worth what the `readings` with the hose off told of it, and the
    /// first level lies at 0, as near as one reading tells, for a vacuum unit gives nothing below its start.
    pub(super) fn of_vacuum(scatter: f64, readings: usize) -> Self {
        let known = i32::try_from(readings).unwrap_or(i32::MAX / 2);
        Self::worth(SCATTER_WORTH + known, scatter, 1.0)
    }

    fn worth(worth: i32, scatter: f64, first_level: f64) -> Self {
        let shape = f64::from(worth) / 2.0;
        Self { worth, shape, scale: shape * scatter * scatter, bow: 0.0, first_level }
    }

    /// The same where ramps have bows.
    pub(super) fn with_bow(self, bow: f64) -> Self {
        Self { bow, ..self }
    }

    /// How many of `K` levels may lie anywhere. Where readings scatter otherwise, the levels' spread is so many times the stated scatter,
    /// and not the scatter that is found: else levels that lie near together would make the scatter small.
    pub(super) fn free_levels<const K: usize>(&self) -> i32 {
        let levels = i32::try_from(K).unwrap_or(i32::MAX);
        match (self.worth == SCATTER_WORTH_OTHERWISE, self.first_level < LEVEL_PER_SCATTER) {
            (false, _) => 0,
            (true, true) => levels - 1,
            (true, false) => levels,
        }
    }

    /// Precision of the coefficients, in units of 1 / scatter squared: `K` levels, then up against down, then the bows.
    pub(super) fn precision<const K: usize, const P: usize>(&self) -> SMatrix<f64, P, P> {
        let mut precision = SMatrix::zeros();
        for column in 0..P {
            let width = match column {
                0 => self.first_level,
                _ if column < K => LEVEL_PER_SCATTER,
                _ if column == K => UP_DOWN_PER_SCATTER,
                // The finer the waves, the less of them.
                _ => self.bow / wave(column - K),
            };
            precision[(column, column)] = 1.0 / (width * width);
        }
        precision
    }

    /// Log of what it costs to take one of `readings` readings for a misread.
    #[expect(clippy::cast_precision_loss, reason = "a survey has far fewer than 2^52 readings")]
    pub(super) fn misread_cost(readings: usize) -> f64 {
        (readings as f64).ln() + MISREAD_SPAN_DEGREES.ln()
    }
}
