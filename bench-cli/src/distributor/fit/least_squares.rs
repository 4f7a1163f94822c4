//! The curve of least squares: the best levels for given knots, the best knots by a search that starts from a grid.
//!
//! The sum of squares is not smooth where a knot crosses a reading, so the search compares values and asks for no
//! derivatives.

use std::collections::BTreeMap;

use nalgebra::{SMatrix, SVector};

use super::curve::Curve;
use super::design::Points;
use super::grid::{coarse, ramps_wide_enough};
use super::shape::Shape;

/// Keeps a level without a reading at the median instead of nowhere; it moves no other by 1e-8 degrees.
const TINY_PRECISION: f64 = 1e-9;
/// How many of the regions the search starts from, the best first.
const STARTS: usize = 40;
/// The search ends at steps this small, crank rpm.
const SMALLEST_STEP: f64 = 0.01;

/// The curve that leaves the least squares.
pub(super) struct LeastSquares {
    pub(super) curve: Curve,
    /// Falling less rising on the ramps, crank degrees.
    pub(super) up_down: f64,
    /// Residual sum of squares, crank degrees squared.
    pub(super) residual_sum: f64,
}

/// Knots and the residual sum of squares that they leave.
type Place<const K: usize> = ([f64; K], f64);

/// The best curve with `K` knots between the lowest and the highest point; the search starts from a grid of `cells` to a
/// knot.
pub(super) fn least_squares<const K: usize, const P: usize>(points: &Points, cells: u16) -> Option<LeastSquares> {
    let (low, high) = points.range();
    let inside = |knots: [f64; K]| knots.map(|knot| knot.clamp(low, high));
    let mut best_of_region = BTreeMap::new();
    for knots in coarse::<K>((low, high), cells).iter().map(|cell| inside(cell.middle())).filter(ramps_wide_enough) {
        let sum = residual_sum::<K, P>(points, &knots);
        let best = best_of_region.entry(region(points, &knots)).or_insert((knots, sum));
        if sum < best.1 {
            *best = (knots, sum);
        }
    }
    let mut starts: Vec<Place<K>> = best_of_region.into_values().collect();
    starts.sort_by(|one, other| one.1.total_cmp(&other.1));
    let step = (high - low) / f64::from(cells);
    let found = starts.iter().take(STARTS).map(|&start| search::<K, P>(points, start, step));
    let (knots, sum) = found.min_by(|one, other| one.1.total_cmp(&other.1))?;
    let values = solve::<K, P>(points, &knots)?;
    let levels = std::array::from_fn::<f64, K, _>(|knot| values[knot] + points.centre);
    let up_down = if P > K { values[K] } else { 0.0 };
    Some(LeastSquares { curve: Curve::new(&knots, &levels), up_down, residual_sum: sum })
}

/// How many points lie on the flat ends. Where a knot crosses a point the difference between falling and rising speed
/// begins or ends for it, and the sum of squares jumps: every region has a least place of its own.
fn region<const K: usize>(points: &Points, knots: &[f64; K]) -> (usize, usize) {
    let count = |on_flat: &dyn Fn(f64) -> bool| points.x.iter().filter(|&&x| on_flat(x)).count();
    (count(&|x| x <= knots[0]), count(&|x| x >= knots[K - 1]))
}

/// Descends, tries both sides of every reading for the outer knots, and descends again while that helped.
fn search<const K: usize, const P: usize>(points: &Points, start: Place<K>, first_step: f64) -> Place<K> {
    let (low, high) = points.range();
    let mut best = descend::<K, P>(points, start, first_step);
    loop {
        // The sum jumps at a reading, and may be least just on one side of it, where no step of the descent ends.
        let beside = points.x.iter().flat_map(|&x| [x - SMALLEST_STEP, x, x + SMALLEST_STEP]);
        let snapped = beside.flat_map(|x| [0, K - 1].map(|outer| (outer, x))).map(|(outer, x)| {
            let mut knots = best.0;
            knots[outer] = x.clamp(low, high);
            knots
        });
        let Some(place) = least::<K, P>(points, snapped).filter(|place| place.1 < best.1) else { return best };
        best = descend::<K, P>(points, place, first_step);
    }
}

/// Steps to the best neighbour while one is better, then halves the step.
fn descend<const K: usize, const P: usize>(points: &Points, start: Place<K>, first_step: f64) -> Place<K> {
    let (low, high) = points.range();
    let mut best = start;
    let mut step = first_step;
    while step > SMALLEST_STEP {
        let neighbours = (0..3_usize.pow(u32::try_from(K).unwrap_or(0))).map(|direction| {
            let mut rest = direction;
            best.0.map(|knot| {
                let sign = [-1.0, 0.0, 1.0][rest % 3];
                rest /= 3;
                (knot + sign * step).clamp(low, high)
            })
        });
        match least::<K, P>(points, neighbours) {
            Some(place) if place.1 < best.1 => best = place,
            _ => step /= 2.0,
        }
    }
    best
}

/// The place with the least sum of squares among those whose ramps are wide enough.
fn least<const K: usize, const P: usize>(points: &Points, places: impl Iterator<Item = [f64; K]>) -> Option<Place<K>> {
    let sums = places.filter(ramps_wide_enough).map(|knots| (knots, residual_sum::<K, P>(points, &knots)));
    sums.min_by(|one, other| one.1.total_cmp(&other.1))
}

fn solve<const K: usize, const P: usize>(points: &Points, knots: &[f64; K]) -> Option<SVector<f64, P>> {
    let mut matrix = SMatrix::<f64, P, P>::identity() * TINY_PRECISION;
    let mut product = SVector::<f64, P>::zeros();
    for index in 0..points.len() {
        let row = points.row::<K, P>(knots, Shape::SHARP.rounding, index);
        matrix += row * row.transpose();
        product += row * points.y[index];
    }
    Some(matrix.cholesky()?.solve(&product))
}

fn residual_sum<const K: usize, const P: usize>(points: &Points, knots: &[f64; K]) -> f64 {
    let Some(values) = solve::<K, P>(points, knots) else {
        return f64::INFINITY;
    };
    let square = |index: usize| {
        let residual = points.y[index] - points.row::<K, P>(knots, Shape::SHARP.rounding, index).dot(&values);
        residual * residual
    };
    (0..points.len()).map(square).sum()
}
