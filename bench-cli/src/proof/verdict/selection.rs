//! Which causes explain the errors of the test points: the smallest set that does.
//!
//! A breakpoint that was moved also shifts offset and lag of a regression that knows no breakpoints, so causes are not
//! read off one regression. Every set of up to four of them is tried; a further cause must lower chi-square by more than the
//! extended Bayesian criterion asks (Chen and Chen 2008, from memory): `ln n + 2 ln p` for n points and p causes.

use nalgebra::{DMatrix, DVector};

/// Largest set of causes that is tried.
const MOST: usize = 4;

/// The columns of the smallest sufficient set, in rising order; `columns` are weighted, `observed` too.
pub fn select(columns: &DMatrix<f64>, observed: &DVector<f64>) -> Vec<usize> {
    let (n, p) = columns.shape();
    let normal = columns.transpose() * columns;
    let right = columns.transpose() * observed;
    let all = observed.norm_squared();
    let mut best: [(f64, Vec<usize>); MOST + 1] = core::array::from_fn(|_| (f64::INFINITY, Vec::new()));
    best[0].0 = all;
    visit(p, &mut Vec::new(), 0, &mut |set| {
        if let Some(explained) = explained(&normal, &right, set) {
            let chi_square = (all - explained).max(0.0);
            let best = &mut best[set.len()];
            if chi_square < best.0 {
                *best = (chi_square, set.to_vec());
            }
        }
    });
    let (n, p) = (count(n), count(p));
    // What even the largest set leaves is taken for scatter that the stated uncertainties do not know.
    let least = best.iter().map(|(chi_square, _)| *chi_square).fold(f64::INFINITY, f64::min);
    let scale = (least / (n - count(MOST)).max(1.0)).max(1.0);
    let price = n.max(2.0).ln() + 2.0 * p.max(1.0).ln();
    best.into_iter()
        .map(|(chi_square, set)| (chi_square / scale + price * count(set.len()), set))
        .min_by(|a, b| a.0.total_cmp(&b.0))
        .map_or_else(Vec::new, |(_, set)| set)
}

#[expect(clippy::cast_precision_loss, reason = "counts of test points and causes")]
fn count(of: usize) -> f64 {
    of as f64
}

fn visit(p: usize, set: &mut Vec<usize>, from: usize, look: &mut dyn FnMut(&[usize])) {
    for column in from..p {
        set.push(column);
        look(set);
        if set.len() < MOST {
            visit(p, set, column + 1, look);
        }
        set.pop();
    }
}

/// By how much a set of columns lowers chi-square; none where its columns cannot be told apart.
fn explained(normal: &DMatrix<f64>, right: &DVector<f64>, set: &[usize]) -> Option<f64> {
    let k = set.len();
    // Scaled to a unit diagonal, so that the test for dependence does not hang on units.
    let length: Vec<f64> = set.iter().map(|&column| normal[(column, column)].sqrt()).collect();
    if length.iter().any(|&length| length < f64::MIN_POSITIVE) {
        return None;
    }
    let part = DMatrix::from_fn(k, k, |i, j| normal[(set[i], set[j])] / (length[i] * length[j]));
    let side = DVector::from_fn(k, |i, _| right[set[i]] / length[i]);
    let cholesky = part.cholesky()?;
    if cholesky.l_dirty().diagonal().iter().any(|d| *d < 1e-4) {
        return None;
    }
    Some(side.dot(&cholesky.solve(&side)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_set_that_made_the_data_is_found_and_nothing_more() {
        let n = 40;
        let columns = DMatrix::from_fn(n, 5, |i, j| {
            0.1_f64.mul_add(f64::from(u8::try_from(i).unwrap()), 0.1).powi(i32::try_from(j).unwrap())
        });
        let noise = DVector::from_fn(n, |i, _| if i % 2 == 0 { 0.5 } else { -0.5 });
        for set in [vec![], vec![2], vec![0, 3], vec![1, 2, 4]] {
            let mut observed = noise.clone();
            for &column in &set {
                observed += columns.column(column) * 20.0;
            }
            assert_eq!(select(&columns, &observed), set);
        }
    }
}
