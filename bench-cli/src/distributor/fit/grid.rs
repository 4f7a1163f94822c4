//! The ordered grids of knots: a coarse pass over everything, a fine one over what carries weight.

use super::node::{Marginal, Scratch, log_sum};

/// Narrowest ramp, crank rpm.
pub(super) const NARROWEST: f64 = 200.0;
/// What the cell beyond either end of the readings is worth, crank rpm.
pub(super) const END_CELL: f64 = 300.0;
/// The fine pass covers what lies within so many log units of the best.
const COVERED_LOG_UNITS: f64 = 12.0;

/// A box of the grid: each knot lies between its low and its high end.
#[derive(Debug, Clone, Copy)]
pub(super) struct Cell<const K: usize> {
    pub(super) low: [f64; K],
    pub(super) high: [f64; K],
}

impl<const K: usize> Cell<K> {
    pub(super) fn middle(&self) -> [f64; K] {
        std::array::from_fn(|knot| f64::midpoint(self.low[knot], self.high[knot]))
    }

    fn log_volume(&self) -> f64 {
        (0..K).map(|knot| (self.high[knot] - self.low[knot]).ln()).sum()
    }
}

/// Whether every ramp is wide enough.
pub(super) fn ramps_wide_enough<const K: usize>(knots: &[f64; K]) -> bool {
    knots.windows(2).all(|pair| pair[1] - pair[0] >= NARROWEST)
}

/// The posterior of the knots on a grid.
pub(super) struct Grid<const K: usize> {
    pub(super) cells: Vec<Cell<K>>,
    /// Log of the posterior weight of each cell, not normalised.
    pub(super) log_weights: Vec<f64>,
    /// Log of the evidence for this number of knots.
    pub(super) log_evidence: f64,
}

/// All ordered cells: `count` to a knot between the ends of the readings, and one beyond either end. There are more
/// where a cell would otherwise be wider than the narrowest ramp, for no two knots share a cell.
pub(super) fn coarse<const K: usize>((low, high): (f64, f64), count: u16) -> Vec<Cell<K>> {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "at most 20 000 rpm by 200")]
    let count = count.max(((high - low) / NARROWEST).ceil() as u16);
    let width = (high - low) / f64::from(count);
    let mut edges = vec![low - END_CELL];
    edges.extend((0..=count).map(|edge| low + width * f64::from(edge)));
    edges.push(high + END_CELL);
    let last = edges.len() - 2;
    let mut cells = Vec::new();
    let mut chosen: [usize; K] = std::array::from_fn(|knot| knot);
    loop {
        let cell = Cell { low: chosen.map(|at| edges[at]), high: chosen.map(|at| edges[at + 1]) };
        if (1..K).all(|knot| cell.high[knot] - cell.low[knot - 1] > NARROWEST) {
            cells.push(cell);
        }
        // The next choice in rising order.
        let Some(knot) = (0..K).rev().find(|&knot| chosen[knot] < last - (K - 1 - knot)) else {
            return cells;
        };
        chosen[knot] += 1;
        for after in knot + 1..K {
            chosen[after] = chosen[after - 1] + 1;
        }
    }
}

/// The second pass: each cell that carries weight beside the heaviest, split into `split` parts a knot.
pub(super) fn finer<const K: usize, const P: usize>(
    marginal: &Marginal<'_, K, P>,
    first: &Grid<K>,
    heaviest: f64,
    split: u16,
) -> Grid<K> {
    let range = marginal.points.range();
    let heavy = heavy_cells(first, heaviest);
    let fine =
        heavy.iter().flat_map(|cell| split_cell(cell, range, split)).filter(|cell| ramps_wide_enough(&cell.middle()));
    evaluate(marginal, fine.collect(), range)
}

/// The cells of a grid that carry weight beside the heaviest there is.
pub(super) fn heavy_cells<const K: usize>(grid: &Grid<K>, heaviest: f64) -> Vec<Cell<K>> {
    let weighed = grid.cells.iter().zip(&grid.log_weights);
    weighed.filter(|&(_, &weight)| weight > heaviest - COVERED_LOG_UNITS).map(|(cell, _)| *cell).collect()
}

impl<const K: usize> Grid<K> {
    /// Log of the weight of the heaviest cell.
    pub(super) fn heaviest(&self) -> f64 {
        self.log_weights.iter().copied().fold(f64::NEG_INFINITY, f64::max)
    }
}

/// The posterior on `cells`.
pub(super) fn evaluate<const K: usize, const P: usize>(
    marginal: &Marginal<'_, K, P>,
    cells: Vec<Cell<K>>,
    range: (f64, f64),
) -> Grid<K> {
    let mut scratch = Scratch::new();
    let weight = |cell: &Cell<K>| cell.log_volume() + marginal.log_likelihood(&cell.middle(), &mut scratch);
    let log_weights: Vec<f64> = cells.iter().map(weight).collect();
    let log_evidence = log_sum(&log_weights) - log_prior_volume::<K>(range);
    Grid { cells, log_weights, log_evidence }
}

/// Volume of the ordered places of `K` knots with ramps wide enough: a simplex.
fn log_prior_volume<const K: usize>((low, high): (f64, f64)) -> f64 {
    let mut room = high - low + 2.0 * END_CELL;
    let mut log_orders = 0.0;
    let mut factor = 1.0_f64;
    for _ in 1..K {
        room -= NARROWEST;
        factor += 1.0;
        log_orders += factor.ln();
    }
    factor * room.ln() - log_orders
}

/// A cell beyond the ends of the readings is never split: no reading can tell its parts apart.
fn split_cell<const K: usize>(cell: &Cell<K>, (low, high): (f64, f64), split: u16) -> Vec<Cell<K>> {
    let mut parts = vec![*cell];
    for knot in 0..K {
        if cell.high[knot] <= low || cell.low[knot] >= high {
            continue;
        }
        let width = (cell.high[knot] - cell.low[knot]) / f64::from(split);
        let halves = |part: Cell<K>| {
            (0..split).map(move |index| {
                let mut smaller = part;
                smaller.low[knot] = part.low[knot] + width * f64::from(index);
                smaller.high[knot] = smaller.low[knot] + width;
                smaller
            })
        };
        parts = parts.into_iter().flat_map(halves).collect();
    }
    parts
}
