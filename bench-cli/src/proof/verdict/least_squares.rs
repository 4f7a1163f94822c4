//! Weighted linear least squares.

use nalgebra::{DMatrix, DVector};

/// A column of which less than this share stands out of those before it is made up of them. A share of its length.
const MADE_UP: f64 = 1e-5;

/// Which columns can be told from those before them: one that the others make up has no line of its own.
pub fn told_apart(columns: impl Iterator<Item = DVector<f64>>) -> Vec<bool> {
    let mut basis: Vec<DVector<f64>> = Vec::new();
    columns
        .map(|column| {
            let length = column.norm();
            // Twice, since the first pass leaves what rounding left.
            let left = (0..2).fold(column, |left, _| basis.iter().fold(left, |left, one| &left - one * one.dot(&left)));
            let told = left.norm() > MADE_UP * length;
            if told {
                basis.push(left.normalize());
            }
            told
        })
        .collect()
}

/// A fit `observed = columns * estimate`.
#[derive(Debug, Clone)]
pub struct LeastSquares {
    /// One value a column.
    pub estimate: DVector<f64>,
    /// What each observation adds to each estimate: `estimate = operator * observed`. Every uncertainty of the
    /// observations, random or systematic, reaches the estimates through it.
    pub operator: DMatrix<f64>,
    /// Observed minus fitted.
    pub residuals: DVector<f64>,
    /// Sum of the squares of residual over standard uncertainty.
    pub chi_square: f64,
    /// Observations less columns.
    pub degrees_of_freedom: usize,
}

impl LeastSquares {
    /// Fits by the QR decomposition of the weighted columns. None where the columns cannot be told apart, an
    /// uncertainty is not above 0, or there are no more observations than columns.
    pub fn fit(columns: &DMatrix<f64>, observed: &DVector<f64>, standard_uncertainty: &DVector<f64>) -> Option<Self> {
        let (n, p) = columns.shape();
        if n <= p || standard_uncertainty.iter().any(|&u| !(u > 0.0 && u.is_finite())) {
            return None;
        }
        let root_weight = standard_uncertainty.map(f64::recip);
        let weighted = DMatrix::from_fn(n, p, |i, j| columns[(i, j)] * root_weight[i]);
        // Columns of one length, so that the test for dependence does not hang on their units.
        let length = DVector::from_iterator(p, weighted.column_iter().map(|column| column.norm()));
        if length.iter().any(|&length| length < f64::MIN_POSITIVE) {
            return None;
        }
        let scaled = DMatrix::from_fn(n, p, |i, j| weighted[(i, j)] / length[j]);
        let qr = scaled.qr();
        let r = qr.r();
        if r.diagonal().iter().any(|d| d.abs() < 1e-9) {
            return None;
        }
        let inverse = r.solve_upper_triangular(&qr.q().transpose())?;
        let operator = DMatrix::from_fn(p, n, |i, j| inverse[(i, j)] * root_weight[j] / length[i]);
        let estimate = &operator * observed;
        let residuals = observed - columns * &estimate;
        let chi_square = residuals.component_mul(&root_weight).norm_squared();
        Some(Self { estimate, operator, residuals, chi_square, degrees_of_freedom: n - p })
    }

    /// Covariance of the estimates for independent observations of these standard uncertainties.
    pub fn covariance(&self, standard_uncertainty: &DVector<f64>) -> DMatrix<f64> {
        // A diagonal matrix of all observations would take the square of their number in memory.
        let mut spread = self.operator.clone();
        for (mut column, u) in spread.column_iter_mut().zip(standard_uncertainty) {
            column *= u * u;
        }
        spread * self.operator.transpose()
    }

    /// Chi-square over its degrees of freedom: 1 where the stated uncertainties explain the residuals.
    #[expect(clippy::cast_precision_loss, reason = "counts of test points")]
    pub fn reduced_chi_square(&self) -> f64 {
        self.chi_square / self.degrees_of_freedom as f64
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The standard error of a mean of n observations of uncertainty u is u over the root of n (GUM, 4.2.3), with as many as
    /// a square matrix of them would take 320 GB.
    #[test]
    fn a_covariance_takes_no_more_memory_than_its_observations() {
        let many = 200_000;
        let ones = DMatrix::from_element(many, 1, 1.0);
        let uncertainty = DVector::from_element(many, 0.5);
        let fit = LeastSquares::fit(&ones, &DVector::from_element(many, 2.0), &uncertainty).expect("a mean");
        let expected = 0.25 / 200_000.0;
        assert!((fit.covariance(&uncertainty)[(0, 0)] / expected - 1.0).abs() < 1e-9);
    }

    #[test]
    fn a_column_that_the_others_make_up_is_told() {
        let of = |values: [f64; 3]| DVector::from_row_slice(&values);
        let columns = [of([1.0, 1.0, 1.0]), of([1.0, 2.0, 3.0]), of([3.0, 5.0, 7.0]), of([0.0, 0.0, 1.0])];
        assert_eq!(told_apart(columns.into_iter()), [true, true, false, true]);
    }

    #[test]
    fn columns_that_cannot_be_told_apart_give_no_fit() {
        let columns = DMatrix::from_row_slice(4, 2, &[1.0, 2.0, 2.0, 4.0, 3.0, 6.0, 4.0, 8.0]);
        let ones = DVector::from_element(4, 1.0);
        assert!(LeastSquares::fit(&columns, &ones, &ones).is_none());
    }
}
