//! Offset and lag of the errors that a timing light shows, with their intervals.
//!
//! `error = offset - 6 N lag`, weighted least squares. The scatter of a reading is inverse gamma with a prior of 0.5 crank
//! degrees worth 10 degrees of freedom, so an interval is Student's t with 10 degrees of freedom more than the readings have.

use super::Compared;
use crate::proof::verdict::LeastSquares;
use crate::record::interval::Interval;
use nalgebra::{DMatrix, DVector, RowDVector};
use statrs::distribution::{ContinuousCDF, StudentsT};

/// Standard deviation of a reading by eye, crank degrees, before any is seen.
pub const SCATTER: f64 = 0.5;
/// What that is worth, degrees of freedom.
pub(super) const SCATTER_FREEDOM: f64 = 10.0;
/// A tachometer may be out by so much either way, crank rpm. Common practice, no source.
pub const SPEED_READ_WITHIN: f64 = 25.0;
/// The most that a light whose lag nobody knows is taken to lag by, us. No source: a light that lags more shows every spark
/// later than it is, and the known lag is to be given.
pub const LIGHT_LAG_US: f64 = 50.0;
const COVERAGE: f64 = 0.95;
/// A place is said to depart from the others only beyond this: there are several, and one would soon be accused by chance.
const COVERAGE_OF_DEPARTURE: f64 = 0.99;

/// Crank degrees that the crank turns in so many microseconds: 6 N t (definition).
pub(super) fn degrees_of_lag(crank_rpm: f64, lag_us: f64) -> f64 {
    6e-6 * crank_rpm * lag_us
}

impl Interval {
    pub(super) fn about(value: f64, half_width: f64) -> Self {
        Self { value, low: value - half_width, high: value + half_width }
    }

    /// Whether 0 lies outside.
    pub fn excludes_zero(&self) -> bool {
        self.low > 0.0 || self.high < 0.0
    }

    /// Half of its width.
    pub fn half_width(&self) -> f64 {
        (self.high - self.low) / 2.0
    }

    /// Whether it holds a value.
    pub fn holds(&self, value: f64) -> bool {
        (self.low..=self.high).contains(&value)
    }
}

/// The readings with the hose off, explained.
pub(super) struct Fitted {
    /// Crank degrees, early positive.
    pub(super) offset: Interval,
    /// Microseconds, late positive; that of a light whose lag is not known is among it.
    pub(super) lag_us: Interval,
    /// The same error at every speed, where there were no lag: crank degrees, early positive.
    pub(super) common: Interval,
    /// Standard deviation of a reading, crank degrees.
    pub(super) scatter: f64,
    estimate: DVector<f64>,
    covariance: DMatrix<f64>,
    student: f64,
    student_of_departure: f64,
}

impl Fitted {
    /// None where the readings cannot tell the two apart.
    pub(super) fn new(off: &[&Compared]) -> Option<Self> {
        let uncertainty = DVector::from_iterator(off.len(), off.iter().map(|one| one.standard_uncertainty()));
        let errors = DVector::from_iterator(off.len(), off.iter().map(|one| one.error));
        let columns = DMatrix::from_fn(off.len(), 2, |row, column| row_of(off[row].crank_rpm)[column]);
        let fit = LeastSquares::fit(&columns, &errors, &uncertainty)?;
        #[expect(clippy::cast_precision_loss, reason = "a handful of readings")]
        let own_freedom = fit.degrees_of_freedom as f64;
        let freedom = SCATTER_FREEDOM + own_freedom;
        let scale = (SCATTER_FREEDOM + fit.chi_square) / freedom;
        let covariance = fit.covariance(&uncertainty) * scale;
        let student = student(freedom, COVERAGE)?;
        let interval = |at: usize| Interval::about(fit.estimate[at], student * covariance[(at, at)].sqrt());
        // The mean of all, by the same weights.
        let ones = DMatrix::from_element(off.len(), 1, 1.0);
        let mean = LeastSquares::fit(&ones, &errors, &uncertainty)?;
        let mean_variance = mean.covariance(&uncertainty)[(0, 0)] * scale;
        Some(Self {
            offset: interval(0),
            lag_us: interval(1),
            common: Interval::about(mean.estimate[0], student * mean_variance.sqrt()),
            scatter: SCATTER * scale.sqrt(),
            estimate: fit.estimate,
            covariance,
            student,
            student_of_departure: self::student(freedom, COVERAGE_OF_DEPARTURE)?,
        })
    }

    /// The error at a speed as offset and lag explain it.
    pub(super) fn at(&self, crank_rpm: f64) -> Interval {
        let row = RowDVector::from_row_slice(&row_of(crank_rpm));
        Interval::about((&row * &self.estimate)[0], self.student * self.variance_at(crank_rpm).sqrt())
    }

    /// The mean of some readings at about one speed and depression, with the interval of its own scatter.
    pub(super) fn mean_of(&self, place: &[&Compared]) -> Interval {
        Interval::about(mean_error(place), self.student * self.own_variance(place).sqrt())
    }

    /// By how much the mean of some readings departs from what offset and lag of other readings explain at their speed,
    /// with the interval that holds 99 of 100.
    pub(super) fn departure(&self, place: &[&Compared]) -> Interval {
        let crank_rpm = mean(place, |one| one.crank_rpm);
        let variance = self.own_variance(place) + self.variance_at(crank_rpm);
        Interval::about(mean_error(place) - self.at(crank_rpm).value, self.student_of_departure * variance.sqrt())
    }

    fn variance_at(&self, crank_rpm: f64) -> f64 {
        let row = RowDVector::from_row_slice(&row_of(crank_rpm));
        (&row * &self.covariance * row.transpose())[0]
    }

    fn own_variance(&self, place: &[&Compared]) -> f64 {
        #[expect(clippy::cast_precision_loss, reason = "a handful of readings")]
        let count = place.len() as f64;
        let ratio = self.scatter / SCATTER;
        place.iter().map(|one| (one.standard_uncertainty() * ratio).powi(2)).sum::<f64>() / (count * count)
    }
}

impl Compared {
    /// By eye, and by a tachometer that is out by as much as it may be, evenly distributed.
    pub(super) fn standard_uncertainty(&self) -> f64 {
        SCATTER.hypot(self.by_speed / 3.0_f64.sqrt())
    }
}

pub(super) fn mean(place: &[&Compared], of: impl Fn(&Compared) -> f64) -> f64 {
    #[expect(clippy::cast_precision_loss, reason = "a handful of readings")]
    let count = place.len() as f64;
    place.iter().map(|one| of(one)).sum::<f64>() / count
}

fn mean_error(place: &[&Compared]) -> f64 {
    mean(place, |one| one.error)
}

fn row_of(crank_rpm: f64) -> [f64; 2] {
    [1.0, -degrees_of_lag(crank_rpm, 1.0)]
}

/// Student's t on both sides of the mean, with so many degrees of freedom and so much inside.
pub(crate) fn student(freedom: f64, coverage: f64) -> Option<f64> {
    Some(StudentsT::new(0.0, 1.0, freedom).ok()?.inverse_cdf(0.5 + coverage / 2.0))
}
