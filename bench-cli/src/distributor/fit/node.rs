//! One place of the knots: how well it explains the readings, with all of them and without each in turn.
//!
//! Levels and scatter are integrated out in closed form (normal inverse gamma model, as in any text on Bayesian linear
//! regression). With A = X'X + V^-1, S = y'y - b'A b and leverage l = x'A^-1 x, leaving out a reading with residual e
//! divides |A| by 1 / (1 - l) and takes e^2 / (1 - l) from S.

use nalgebra::{SMatrix, SVector};

use super::design::Points;
use super::prior::Prior;
use super::shape::Shape;

/// Smaller parts are no numbers any more; a reading so far out has all of the weight anyway.
const SMALLEST: f64 = 1e-280;

/// What is the same at every node: readings, prior, constants.
pub(super) struct Marginal<'a, const K: usize, const P: usize> {
    pub(super) points: &'a Points,
    pub(super) rounding: f64,
    prior: Prior,
    precision: SMatrix<f64, P, P>,
    squares: f64,
    /// Log of everything that does not depend on the knots, with all readings and with one left out.
    constant_all: f64,
    constant_one_out: f64,
}

/// Room for the rows and log weights of a node, used again and again.
pub(super) struct Scratch<const P: usize> {
    rows: Vec<SVector<f64, P>>,
    /// Weight of each reading being left out beside that of none, which comes last and is 1.
    pub(super) weights: Vec<f64>,
    /// Their sum.
    pub(super) total: f64,
}

impl<const P: usize> Scratch<P> {
    pub(super) fn new() -> Self {
        Self { rows: Vec::new(), weights: Vec::new(), total: 0.0 }
    }
}

/// Coefficients and scatter at one place of the knots, given which reading is left out.
pub(super) struct Conditional<const P: usize> {
    pub(super) coefficients: SVector<f64, P>,
    /// Lower triangle of A.
    pub(super) factor: SMatrix<f64, P, P>,
    pub(super) shape: f64,
    pub(super) scale: f64,
}

impl<'a, const K: usize, const P: usize> Marginal<'a, K, P> {
    #[expect(clippy::cast_precision_loss, reason = "a survey has far fewer than 2^52 readings")]
    pub(super) fn new(points: &'a Points, prior: Prior) -> Self {
        let precision = prior.precision::<K, P>();
        let log_precision: f64 = precision.diagonal().iter().map(|value| value.ln()).sum();
        let constant = |readings: f64| {
            0.5 * log_precision - 0.5 * readings * std::f64::consts::TAU.ln() + prior.shape * prior.scale.ln()
                - libm::lgamma(prior.shape)
                + libm::lgamma(prior.shape + 0.5 * (readings - f64::from(prior.free_levels::<K>())))
                - 0.5 * f64::from(prior.free_levels::<K>()) * (prior.scale / prior.shape).ln()
        };
        let readings = points.len() as f64;
        Self {
            points,
            rounding: Shape::SHARP.rounding,
            prior,
            precision,
            squares: points.y.iter().map(|y| y * y).sum(),
            constant_all: constant(readings),
            constant_one_out: constant(readings - 1.0) - Prior::misread_cost(points.len()),
        }
    }

    /// Shape of the squared scatter's distribution given so many readings: levels that may lie anywhere tell nothing of it.
    #[expect(clippy::cast_precision_loss, reason = "a survey has far fewer than 2^52 readings")]
    fn shape(&self, readings: usize) -> f64 {
        self.prior.shape + 0.5 * (readings as f64 - f64::from(self.prior.free_levels::<K>()))
    }

    /// The same for curves of a shape.
    pub(super) fn shaped(points: &'a Points, prior: Prior, shape: Shape) -> Self {
        Self { rounding: shape.rounding, ..Self::new(points, prior.with_bow(shape.bow)) }
    }

    /// Log of the marginal likelihood at `knots`; the weights of its parts stay in `scratch`.
    pub(super) fn log_likelihood(&self, knots: &[f64; K], scratch: &mut Scratch<P>) -> f64 {
        let mut matrix = self.precision;
        let mut product = SVector::<f64, P>::zeros();
        scratch.rows.clear();
        scratch.weights.clear();
        let points = self.points;
        for index in 0..points.len() {
            let row = points.row::<K, P>(knots, self.rounding, index);
            matrix.syger(1.0, &row, &row, 1.0);
            product.axpy(points.y[index], &row, 1.0);
            scratch.rows.push(row);
        }
        matrix.fill_upper_triangle_with_lower_triangle();
        let Some(factor) = matrix.cholesky() else {
            return f64::NEG_INFINITY;
        };
        let log_determinant = 2.0 * factor.l_dirty().diagonal().iter().map(|value| value.ln()).sum::<f64>();
        let inverse = factor.inverse();
        let coefficients = inverse * product;
        let sum = self.squares - product.dot(&coefficients);
        let shape = self.shape(points.len());
        let scale = self.prior.scale + 0.5 * sum;
        let log_all = -0.5 * log_determinant - shape * scale.ln();
        let left_out = (self.constant_one_out - self.constant_all).exp() * scale.sqrt();
        // A logarithm for each reading at each node would take most of the time of a fit.
        let power =
            i32::try_from(points.len()).unwrap_or(i32::MAX / 2) + self.prior.worth - self.prior.free_levels::<K>() - 1;
        let mut total = 1.0;
        for (index, row) in scratch.rows.iter().enumerate() {
            let residual = points.y[index] - row.dot(&coefficients);
            let rest = 1.0 - row.dot(&(inverse * row));
            let share = 1.0 - 0.5 * residual * residual / rest / scale;
            // A weighted angle's density is the angle's own divided by the root weight, which one left out does not share.
            let weight =
                left_out / points.root_weight[index] / (rest.sqrt() * share.max(0.0).sqrt().powi(power).max(SMALLEST));
            scratch.weights.push(weight);
            total += weight;
        }
        scratch.weights.push(1.0);
        scratch.total = total;
        self.constant_all + log_all + total.ln()
    }

    /// The distribution of coefficients and scatter at `knots` with `left_out` left out.
    pub(super) fn conditional(&self, knots: &[f64; K], left_out: Option<usize>) -> Option<Conditional<P>> {
        let points = self.points;
        let mut matrix = self.precision;
        let mut product = SVector::<f64, P>::zeros();
        let mut squares = 0.0;
        let mut readings = 0;
        for index in (0..points.len()).filter(|&index| Some(index) != left_out) {
            let row = points.row::<K, P>(knots, self.rounding, index);
            matrix += row * row.transpose();
            product += row * points.y[index];
            squares += points.y[index] * points.y[index];
            readings += 1;
        }
        let factor = matrix.cholesky()?;
        let coefficients = factor.solve(&product);
        let shape = self.shape(readings);
        let scale = self.prior.scale + 0.5 * (squares - product.dot(&coefficients));
        Some(Conditional { coefficients, factor: factor.l(), shape, scale })
    }
}

/// Log of the sum of exponentials, without overflow.
pub(super) fn log_sum(logs: &[f64]) -> f64 {
    let greatest = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    if greatest == f64::NEG_INFINITY {
        return greatest;
    }
    greatest + logs.iter().map(|log| (log - greatest).exp()).sum::<f64>().ln()
}
