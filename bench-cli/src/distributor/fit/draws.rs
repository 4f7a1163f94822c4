//! Independent draws from the posterior: a cell by its weight, a place in it, a misread, then scatter and levels.

use nalgebra::SVector;
use rand::RngExt;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, Gamma, StandardNormal};

use super::curve::Curve;
use super::design::row;
use super::grid::{Cell, Grid, ramps_wide_enough};
use super::node::{Marginal, Scratch, log_sum};
use super::ramps::nearest_ramps;

/// One curve that the readings allow, as likely as any other draw.
#[derive(Debug, Clone)]
pub(super) struct Draw {
    /// The ramps that lie nearest to it: where its corners are, and how high.
    pub(super) ramps: Curve,
    /// The curve itself, which may be rounder.
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
        self.curve.at(crank_rpm) - self.ramps.breakpoints()[0][1]
    }

    /// The same on another scale of x, which rises with this one.
    pub(super) fn along(&self, x: impl Fn(f64) -> f64) -> Self {
        Self { ramps: self.ramps.along(&x), curve: self.curve.along(&x), ..self.clone() }
    }

    /// By how much a speed that scatters by this part of itself moves the angle, crank degrees (standard deviation): half of
    /// the way that the curve goes between one such deviation to either side.
    pub(super) fn moved_by(&self, crank_rpm: f64, speed_scatter: f64) -> f64 {
        let deviation = crank_rpm * speed_scatter;
        (self.curve.at(crank_rpm + deviation) - self.curve.at(crank_rpm - deviation)).abs() / 2.0
    }

    /// The angle at `x` in this draw, speed `direction` as in the design.
    pub(super) fn at(&self, x: f64, direction: f64) -> f64 {
        let breakpoints = self.ramps.breakpoints();
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
    marginal.log_likelihood(knots, scratch);
    let mut wanted = rng.random::<f64>() * scratch.total;
    let readings = marginal.points.len();
    for (index, weight) in scratch.weights[..readings].iter().enumerate() {
        wanted -= weight;
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
    let up_down = if P > K { values[K] } else { 0.0 };
    let (ramps, curve) = if marginal.rounding > 0.0 || P > K + 1 {
        let at = |x: f64| marginal.points.centre + row::<K, P>(&knots, marginal.rounding, x, 0.0).dot(&values);
        let curve = traced(marginal.points.range(), &knots, at);
        (nearest_ramps(&curve, marginal.points.range(), knots, levels), curve)
    } else {
        let ramps = Curve::new(&knots, &levels);
        (ramps.clone(), ramps)
    };
    Some(Draw { ramps, curve, up_down, scatter, left_out })
}

/// A curve that is no ramps, in straight lines so short that nobody sees them, over the survey and its corners.
fn traced<const K: usize>((low, high): (f64, f64), knots: &[f64; K], at: impl Fn(f64) -> f64) -> Curve {
    const PIECES: u32 = 96;
    let (low, high) = (low.min(knots[0]), high.max(knots[K - 1]));
    let x: Vec<f64> = (0..=PIECES).map(|piece| low + (high - low) * f64::from(piece) / f64::from(PIECES)).collect();
    let y: Vec<f64> = x.iter().map(|&x| at(x)).collect();
    Curve::new(&x, &y)
}
