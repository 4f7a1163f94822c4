//! Independent draws from the posterior: a cell by its weight, a place in it, a misread, then scatter and levels.

use nalgebra::SVector;
use rand::RngExt;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, Gamma, StandardNormal};

use super::curve::Curve;
use super::grid::{Cell, Grid, ramps_wide_enough};
use super::node::{Marginal, Scratch, log_sum};

/// One curve that the readings allow, as likely as any other draw.
#[derive(Debug, Clone)]
pub(super) struct Draw {
    pub(super) curve: Curve,
    /// Falling less rising on the ramps, crank degrees; 0 where the model has no such column.
    pub(super) up_down: f64,
    /// Standard deviation of a reading, crank degrees.
    pub(super) scatter: f64,
    /// Which point this draw takes for a misread.
    pub(super) left_out: Option<usize>,
}

impl Draw {
    /// What the weights add at a speed in this draw, crank degrees.
    pub(super) fn centrifugal_at(&self, crank_rpm: f64) -> f64 {
        self.curve.at(crank_rpm) - self.curve.breakpoints()[0][1]
    }

    /// By how much a speed that scatters by this part of itself moves the angle, crank degrees (standard deviation): half of
    /// the way that the curve goes between one such deviation to either side.
    pub(super) fn moved_by(&self, crank_rpm: f64, speed_scatter: f64) -> f64 {
        let deviation = crank_rpm * speed_scatter;
        (self.curve.at(crank_rpm + deviation) - self.curve.at(crank_rpm - deviation)).abs() / 2.0
    }

    /// The angle at `x` in this draw, speed `direction` as in the design.
    pub(super) fn at(&self, x: f64, direction: f64) -> f64 {
        let breakpoints = self.curve.breakpoints();
        let on_a_ramp = x > breakpoints[0][0] && x < breakpoints[breakpoints.len() - 1][0];
        let shift = if on_a_ramp { -direction / 2.0 * self.up_down } else { 0.0 };
        self.curve.at(x) + shift
    }
}

/// `count` draws.
pub(super) fn draw<const K: usize, const P: usize>(
    marginal: &Marginal<'_, K, P>,
    grid: &Grid<K>,
    count: usize,
    rng: &mut ChaCha8Rng,
) -> Vec<Draw> {
    let total = log_sum(&grid.log_weights);
    let mut sum = 0.0;
    let cumulative: Vec<f64> = grid
        .log_weights
        .iter()
        .map(|weight| {
            sum += (weight - total).exp();
            sum
        })
        .collect();
    let mut scratch = Scratch::new();
    let mut one = || {
        let wanted = rng.random::<f64>() * sum;
        let index = cumulative.partition_point(|&share| share < wanted).min(cumulative.len() - 1);
        let knots = place_in(&grid.cells[index], rng);
        let left_out = pick_left_out(marginal, &knots, &mut scratch, rng);
        coefficients(marginal, knots, left_out, rng)
    };
    (0..count).filter_map(|_| one()).collect()
}

/// Uniform in the cell, so that the grid's steps do not show.
fn place_in<const K: usize>(cell: &Cell<K>, rng: &mut ChaCha8Rng) -> [f64; K] {
    const TRIES: usize = 10;
    let mut place =
        || std::array::from_fn(|knot| cell.low[knot] + rng.random::<f64>() * (cell.high[knot] - cell.low[knot]));
    (0..TRIES).map(|_| place()).find(ramps_wide_enough).unwrap_or(cell.middle())
}

fn pick_left_out<const K: usize, const P: usize>(
    marginal: &Marginal<'_, K, P>,
    knots: &[f64; K],
    scratch: &mut Scratch<P>,
    rng: &mut ChaCha8Rng,
) -> Option<usize> {
    let total = marginal.log_likelihood(knots, scratch);
    let mut wanted = rng.random::<f64>();
    let readings = marginal.points.len();
    for (index, weight) in scratch.log_weights[..readings].iter().enumerate() {
        wanted -= (weight - total).exp();
        if wanted < 0.0 {
            return Some(index);
        }
    }
    None
}

fn coefficients<const K: usize, const P: usize>(
    marginal: &Marginal<'_, K, P>,
    knots: [f64; K],
    left_out: Option<usize>,
    rng: &mut ChaCha8Rng,
) -> Option<Draw> {
    let conditional = marginal.conditional(&knots, left_out)?;
    let precision = Gamma::new(conditional.shape, 1.0 / conditional.scale).ok()?.sample(rng);
    let scatter = precision.sqrt().recip();
    let normal = SVector::<f64, P>::from_fn(|_, _| StandardNormal.sample(rng));
    let spread = conditional.factor.tr_solve_lower_triangular(&normal)?;
    let values = conditional.coefficients + spread * scatter;
    let levels = std::array::from_fn::<f64, K, _>(|knot| values[knot] + marginal.points.centre);
    let up_down = if P > K { values[P - 1] } else { 0.0 };
    Some(Draw { curve: Curve::new(&knots, &levels), up_down, scatter, left_out })
}
