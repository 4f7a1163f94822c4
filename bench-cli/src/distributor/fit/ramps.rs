//! The ramps that lie nearest to a curve that is rounder than ramps: corners and levels of least squares over evenly spaced speeds
//! from the lowest to the highest read. Where a curve has no corners, that is what is meant by them.

use nalgebra::{SMatrix, SVector};

use super::curve::Curve;
use super::design::row;
use super::grid::ramps_wide_enough;
use super::shape::Shape;

/// Evenly spaced places that the ramps are held to.
const PLACES: u32 = 64;
/// Steps of the search; it starts so near that more change nothing that is shown.
const STEPS: usize = 6;
/// Keeps a corner that the curve tells nothing of where it was.
const TINY_PRECISION: f64 = 1e-6;
/// Levels and corners of two ramps.
const NUMBERS: usize = 6;

/// The nearest ramps to `curve` from `low` to `high`, sought about `knots` and `levels`.
pub(super) fn nearest_ramps<const K: usize>(
    curve: &Curve,
    (low, high): (f64, f64),
    knots: [f64; K],
    levels: [f64; K],
) -> Curve {
    let place = |at: u32| low + (high - low) * (f64::from(at) + 0.5) / f64::from(PLACES);
    let wanted: Vec<(f64, f64)> = (0..PLACES).map(|at| (place(at), curve.at(place(at)))).collect();
    let mut best = (knots, levels, distance(&wanted, &knots, &levels));
    for _ in 0..STEPS {
        let Some(step) = step(&wanted, &best.0, &best.1) else { break };
        let shorter = [1.0, 0.5, 0.25, 0.1].into_iter().map(|share| {
            let knots = std::array::from_fn(|at| best.0[at] + share * step[K + at]);
            let levels = std::array::from_fn(|at| best.1[at] + share * step[at]);
            (knots, levels)
        });
        let allowed = shorter.filter(|(knots, _)| ramps_wide_enough(knots));
        let judged = allowed.map(|(knots, levels)| (knots, levels, distance(&wanted, &knots, &levels)));
        let Some(better) = judged.into_iter().find(|judged| judged.2 < best.2) else { break };
        let settled = best.2 - better.2 < 1e-4 * best.2;
        best = better;
        if settled {
            break;
        }
    }
    Curve::new(&best.0, &best.1)
}

fn distance<const K: usize>(wanted: &[(f64, f64)], knots: &[f64; K], levels: &[f64; K]) -> f64 {
    let levels = SVector::<f64, K>::from_column_slice(levels);
    wanted.iter().map(|&(x, y)| (y - row::<K, K>(knots, Shape::SHARP.rounding, x, 0.0).dot(&levels)).powi(2)).sum()
}

/// A Gauss-Newton step of levels, then corners.
fn step<const K: usize>(wanted: &[(f64, f64)], knots: &[f64; K], levels: &[f64; K]) -> Option<SVector<f64, NUMBERS>> {
    let slope = |at: usize| (levels[at + 1] - levels[at]) / (knots[at + 1] - knots[at]);
    let level_column = SVector::<f64, K>::from_column_slice(levels);
    let mut matrix = SMatrix::<f64, NUMBERS, NUMBERS>::identity() * TINY_PRECISION;
    let mut product = SVector::<f64, NUMBERS>::zeros();
    for &(x, y) in wanted {
        let hats = row::<K, K>(knots, Shape::SHARP.rounding, x, 0.0);
        let mut columns = SVector::<f64, NUMBERS>::zeros();
        let on = (1..K).find(|&above| x > knots[above - 1] && x < knots[above]);
        for at in 0..K {
            columns[at] = hats[at];
            columns[K + at] = on.map_or(0.0, |above| -slope(above - 1) * hats[at]);
        }
        matrix.syger(1.0, &columns, &columns, 1.0);
        product.axpy(y - hats.dot(&level_column), &columns, 1.0);
    }
    matrix.fill_upper_triangle_with_lower_triangle();
    Some(matrix.cholesky()?.solve(&product))
}
