//! Which causes explain the errors of the test points: the smallest set that does.
//!
//! A breakpoint that was moved also shifts offset and lag of a regression that knows no breakpoints, so causes are not
//! read off one regression. Every set of up to four of them is tried; a further cause must lower chi-square by more than the
//! extended Bayesian criterion asks (Chen and Chen 2008, from memory): `ln n + 2 ln p` for n points and p causes.

use nalgebra::{DMatrix, DVector};

/// Largest set of causes that is tried.
const MOST: usize = 4;

/// A set whose price and chi-square together lie this near to the best one's explains as well, for all that the run can tell: odds of 150
/// to 1 at twice the logarithm.
const AS_WELL: f64 = 10.0;

/// A cause of the best set.
#[derive(Debug, Clone, PartialEq)]
pub struct Selected {
    /// Its column.
    pub index: usize,
    /// Columns that explain as well in its place.
    pub or: Vec<usize>,
    /// Whether the errors are not explained as well without anything in its place.
    pub needed: bool,
}

/// The columns of the smallest sufficient set, in rising order; `columns` are weighted, `observed` too. Where `signs` is not 0 a column
/// may only count with a factor of that sign.
pub fn select(columns: &DMatrix<f64>, observed: &DVector<f64>, signs: &[f64]) -> Vec<Selected> {
    let (n, p) = columns.shape();
    let normal = columns.transpose() * columns;
    let right = columns.transpose() * observed;
    let all = observed.norm_squared();
    let mut sets: Vec<(f64, Vec<usize>)> = vec![(all, Vec::new())];
    visit(p, &mut Vec::new(), 0, &mut |set| {
        if let Some(explained) = explained(&normal, &right, set, signs) {
            sets.push(((all - explained).max(0.0), set.to_vec()));
        }
    });
    let (n, p) = (count(n), count(p));
    // What even the largest set leaves is taken for scatter that the stated uncertainties do not know.
    let least = sets.iter().map(|(chi_square, _)| *chi_square).fold(f64::INFINITY, f64::min);
    let scale = (least / (n - count(MOST)).max(1.0)).max(1.0);
    let price = n.max(2.0).ln() + 2.0 * p.max(1.0).ln();
    for (chi_square, set) in &mut sets {
        *chi_square = *chi_square / scale + price * count(set.len());
    }
    sets.sort_by(|a, b| a.0.total_cmp(&b.0));
    let Some((best, chosen)) = sets.first().cloned() else { return Vec::new() };
    let as_well = || sets.iter().take_while(|(score, _)| *score <= best + AS_WELL);
    let selected = |&index: &usize| {
        let mut or: Vec<usize> = Vec::new();
        let mut needed = true;
        for (_, other) in as_well().filter(|(_, other)| !other.contains(&index) && other.len() <= chosen.len()) {
            let instead: Vec<usize> = other.iter().copied().filter(|one| !chosen.contains(one)).collect();
            needed &= !instead.is_empty();
            or.extend(instead);
        }
        or.sort_unstable();
        or.dedup();
        Selected { index, or, needed }
    };
    chosen.iter().map(selected).collect()
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

/// By how much a set of columns lowers chi-square; none where its columns cannot be told apart, or one counts with the wrong sign.
fn explained(normal: &DMatrix<f64>, right: &DVector<f64>, set: &[usize], signs: &[f64]) -> Option<f64> {
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
    let factors = cholesky.solve(&side);
    let right = set.iter().zip(&factors).all(|(&column, factor)| signs[column] * factor >= 0.0);
    right.then(|| side.dot(&factors))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_explains_as_well_is_told_beside_it() {
        // The second column is the first but for a hair; the third is another thing.
        let columns = DMatrix::from_fn(40, 3, |i, j| {
            let x = f64::from(u8::try_from(i).unwrap());
            [x, x + if i == 39 { 0.3 } else { 0.0 }, (x / 3.0).sin() * 10.0][j]
        });
        let observed = columns.column(0) * 2.0;
        let found = select(&columns, &observed, &[0.0; 3]);
        assert_eq!(found, [Selected { index: 0, or: vec![1], needed: true }]);
        // A column that may only lower explains nothing that rises.
        assert_eq!(select(&columns, &observed, &[-1.0, 0.0, 0.0])[0].index, 1);
    }

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
            let found: Vec<usize> = select(&columns, &observed, &[0.0; 5]).into_iter().map(|one| one.index).collect();
            assert_eq!(found, set);
        }
    }
}
