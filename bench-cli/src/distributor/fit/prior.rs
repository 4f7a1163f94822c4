//! What is believed before a reading is seen.

use nalgebra::SMatrix;

/// The levels' standard deviation about the median reading, in units of the scatter.
const LEVEL_PER_SCATTER: f64 = 40.0;
/// The standard deviation of the difference between falling and rising speed, in units of the scatter.
const UP_DOWN_PER_SCATTER: f64 = 4.0;
/// How many readings the stated scatter is worth.
const SCATTER_WORTH: f64 = 6.0;
/// A misread is as likely to be any of so many degrees out.
const MISREAD_SPAN_DEGREES: f64 = 20.0;

/// Normal levels and inverse gamma scatter, conjugate to readings with normal scatter.
#[derive(Debug, Clone, Copy)]
pub(super) struct Prior {
    /// Shape of the inverse gamma distribution of the squared scatter.
    pub(super) shape: f64,
    /// Scale of it, degrees squared.
    pub(super) scale: f64,
    /// Standard deviation of the first level, in units of the scatter.
    first_level: f64,
}

impl Prior {
    /// The prior for a scatter in crank degrees (standard deviation).
    pub(super) fn new(scatter: f64) -> Self {
        Self {
            shape: SCATTER_WORTH / 2.0,
            scale: SCATTER_WORTH / 2.0 * scatter * scatter,
            first_level: LEVEL_PER_SCATTER,
        }
    }

    /// The prior for vacuum readings: the scatter is worth what the `readings` with the hose off told of it, and the
    /// first level lies at 0, as near as one reading tells, for a vacuum unit gives nothing below its start.
    #[expect(clippy::cast_precision_loss, reason = "a survey has far fewer than 2^52 readings")]
    pub(super) fn of_vacuum(scatter: f64, readings: usize) -> Self {
        let shape = f64::midpoint(SCATTER_WORTH, readings as f64);
        Self { shape, scale: shape * scatter * scatter, first_level: 1.0 }
    }

    /// Precision of the coefficients, in units of 1 / scatter squared: `K` levels, then up against down.
    pub(super) fn precision<const K: usize, const P: usize>(&self) -> SMatrix<f64, P, P> {
        let mut precision = SMatrix::zeros();
        for column in 0..P {
            let width = match column {
                0 => self.first_level,
                _ if column < K => LEVEL_PER_SCATTER,
                _ => UP_DOWN_PER_SCATTER,
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
