//! What is believed before a reading is seen.

use nalgebra::SMatrix;

/// The levels' standard deviation about the median reading, in units of the scatter.
const LEVEL_PER_SCATTER: f64 = 40.0;
/// The standard deviation of the difference between falling and rising speed, in units of the scatter.
const UP_DOWN_PER_SCATTER: f64 = 4.0;
/// How many readings the stated scatter is worth: so few that readings which scatter otherwise say so. At six, a scatter of 1 or 2
/// that nobody stated was covered in 70 of 100 surveys; at two the clean ones were no wider.
const SCATTER_WORTH: i32 = 2;
/// A misread is as likely to be any of so many degrees out.
const MISREAD_SPAN_DEGREES: f64 = 20.0;

/// Before a reading is seen, the odds that a survey has no misread. At even odds readings that scatter by 2 crank degrees were left
/// out now and then that were read right, and the scatter came out too small.
const ODDS_AGAINST_A_MISREAD: f64 = 5.0;

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

    /// Precision of the coefficients, in units of 1 / scatter squared: `K` levels, then up against down, then the bows.
    pub(super) fn precision<const K: usize, const P: usize>(&self) -> SMatrix<f64, P, P> {
        let mut precision = SMatrix::zeros();
        for column in 0..P {
            let width = match column {
                0 => self.first_level,
                _ if column < K => LEVEL_PER_SCATTER,
                _ if column == K => UP_DOWN_PER_SCATTER,
                _ => self.bow / harmonic::<K>(column - K),
            };
            precision[(column, column)] = 1.0 / (width * width);
        }
        precision
    }

    /// Log of what it costs to take one of `readings` readings for a misread.
    #[expect(clippy::cast_precision_loss, reason = "a survey has far fewer than 2^52 readings")]
    pub(super) fn misread_cost(readings: usize) -> f64 {
        (readings as f64).ln() + MISREAD_SPAN_DEGREES.ln() + ODDS_AGAINST_A_MISREAD.ln()
    }
}

/// The finer a bow's waves, the less of it.
#[expect(clippy::cast_precision_loss, reason = "three at the most")]
fn harmonic<const K: usize>(bow: usize) -> f64 {
    if K == 2 { bow as f64 } else { 1.0 }
}
