//! The ramps that lie nearest to a curve that is none: least squares over evenly spaced speeds, free of scatter. That is what a
//! corner of a round curve means here. Shares nothing with the tool's own search.

use nalgebra::{DMatrix, DVector};

/// Evenly spaced places from one end to the other.
const PLACES: u32 = 160;
/// Cells to a corner of the first search.
const CELLS: u32 = 26;
/// The narrowest ramp that is looked at, as the tool has it, in units of x.
const NARROWEST: f64 = 200.0;

/// Corners and levels of the best ramps, flat beyond them.
#[derive(Debug, Clone)]
pub struct Ramps {
    /// Places of the corners.
    pub knots: Vec<f64>,
    /// Levels there.
    pub levels: Vec<f64>,
    /// Mean of the squared distances.
    pub mean_square: f64,
}

/// The share of each corner's level in the value at `x`.
pub fn hats(knots: &[f64], x: f64) -> Vec<f64> {
    let last = knots.len() - 1;
    let mut hats = vec![0.0; knots.len()];
    if x <= knots[0] {
        hats[0] = 1.0;
    } else if x >= knots[last] {
        hats[last] = 1.0;
    } else {
        let above = (1..=last).find(|&at| x < knots[at]).unwrap_or(last);
        let share = (x - knots[above - 1]) / (knots[above] - knots[above - 1]);
        hats[above - 1] = 1.0 - share;
        hats[above] = share;
    }
    hats
}

/// The best `ramps` ramps through `curve` from `low` to `high`.
///
/// # Panics
/// Where there is no room for so many ramps.
pub fn best_ramps(curve: impl Fn(f64) -> f64, (low, high): (f64, f64), ramps: usize) -> Ramps {
    let places: Vec<f64> =
        (0..PLACES).map(|at| low + (high - low) * (f64::from(at) + 0.5) / f64::from(PLACES)).collect();
    let values: Vec<f64> = places.iter().map(|&x| curve(x)).collect();
    let judged = |knots: &[f64]| -> Option<Ramps> {
        let apart = knots.windows(2).all(|pair| pair[1] - pair[0] >= NARROWEST);
        (apart && knots[0] >= low && knots[knots.len() - 1] <= high).then(|| levels(knots, &places, &values))?
    };
    let mut choices: Vec<Vec<f64>> = vec![Vec::new()];
    for _ in 0..=ramps {
        let next = |chosen: Vec<f64>| {
            let from = chosen.last().copied().unwrap_or(f64::NEG_INFINITY);
            let cells = (0..=CELLS).map(|at| low + (high - low) * f64::from(at) / f64::from(CELLS));
            cells
                .filter(move |&cell| cell >= from + NARROWEST)
                .map(move |cell| [chosen.clone(), vec![cell]].concat())
                .collect::<Vec<_>>()
        };
        choices = choices.into_iter().flat_map(next).collect();
    }
    let least = |found: Vec<Ramps>| found.into_iter().min_by(|a, b| a.mean_square.total_cmp(&b.mean_square));
    let mut best = least(choices.iter().filter_map(|knots| judged(knots)).collect()).expect("room for the ramps");
    let mut step = (high - low) / f64::from(CELLS) / 2.0;
    while step > 0.5 {
        let moved = (0..best.knots.len()).flat_map(|knot| [(knot, -step), (knot, step)]);
        let tried = moved.filter_map(|(knot, by)| {
            let mut knots = best.knots.clone();
            knots[knot] += by;
            judged(&knots)
        });
        match least(tried.collect()) {
            Some(better) if better.mean_square < best.mean_square => best = better,
            _ => step /= 2.0,
        }
    }
    best
}

fn levels(knots: &[f64], places: &[f64], values: &[f64]) -> Option<Ramps> {
    let count = knots.len();
    let mut matrix = DMatrix::identity(count, count) * 1e-9;
    let mut product = DVector::zeros(count);
    for (&x, &value) in places.iter().zip(values) {
        let row = DVector::from_vec(hats(knots, x));
        matrix += &row * row.transpose();
        product += row * value;
    }
    let levels: Vec<f64> = matrix.cholesky()?.solve(&product).iter().copied().collect();
    let square = |(&x, value): (&f64, &f64)| {
        let fitted: f64 = hats(knots, x).iter().zip(&levels).map(|(hat, level)| hat * level).sum();
        (value - fitted).powi(2)
    };
    let mean_square = places.iter().zip(values).map(square).sum::<f64>() / f64::from(PLACES);
    Some(Ramps { knots: knots.to_vec(), levels, mean_square })
}
