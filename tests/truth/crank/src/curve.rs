//! A piecewise linear curve with flat ends.

/// Breakpoints joined by straight lines; before the first and after the last the curve is flat.
#[derive(Clone, Debug, PartialEq)]
pub struct Curve {
    breakpoints: Vec<(f64, f64)>,
}

impl Curve {
    /// A curve through `(x, y)` breakpoints; x must rise strictly. One breakpoint is a constant. Panics otherwise.
    pub fn new(breakpoints: &[(f64, f64)]) -> Self {
        assert!(!breakpoints.is_empty(), "a curve needs a breakpoint");
        assert!(breakpoints.windows(2).all(|pair| pair[0].0 < pair[1].0), "breakpoints must rise: {breakpoints:?}");
        Self { breakpoints: breakpoints.to_vec() }
    }

    /// The same value everywhere.
    pub fn constant(value: f64) -> Self {
        Self::new(&[(0.0, value)])
    }

    /// The value at x.
    pub fn at(&self, x: f64) -> f64 {
        let (first, last) = (self.breakpoints[0], self.breakpoints[self.breakpoints.len() - 1]);
        if x <= first.0 {
            return first.1;
        }
        for pair in self.breakpoints.windows(2) {
            let ((x0, y0), (x1, y1)) = (pair[0], pair[1]);
            if x <= x1 {
                return y0 + (y1 - y0) * (x - x0) / (x1 - x0);
            }
        }
        last.1
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: arithmetic.
    #[test]
    fn lines_between_breakpoints_and_flat_ends() {
        let curve = Curve::new(&[(1000.0, 0.0), (2000.0, 10.0), (4000.0, 14.0)]);
        for (x, y) in
            [(-5.0, 0.0), (1000.0, 0.0), (1250.0, 2.5), (2000.0, 10.0), (3500.0, 13.0), (4000.0, 14.0), (9e9, 14.0)]
        {
            assert!((curve.at(x) - y).abs() < 1e-12, "at {x}: {}", curve.at(x));
        }
        assert!((Curve::constant(7.0).at(-3.0) - 7.0).abs() < 1e-12);
    }

    /// Source: `numpy.interp`, by the vectors of `tests/truth/reference`.
    #[test]
    fn agrees_with_numpy() {
        let numbers = |cell: &str| -> Vec<f64> { cell.split(' ').map(|number| number.parse().unwrap()).collect() };
        let rows = include_str!("../../reference/vectors/interpolation.csv").lines().skip(1);
        let mut count = 0;
        for row in rows {
            let cells: Vec<&str> = row.split(',').collect();
            let (xs, ys) = (numbers(cells[2]), numbers(cells[3]));
            let curve = Curve::new(&xs.into_iter().zip(ys).collect::<Vec<_>>());
            let (x, y) = (numbers(cells[4])[0], numbers(cells[5])[0]);
            assert!((curve.at(x) - y).abs() < 1e-12, "{row}: {}", curve.at(x));
            count += 1;
        }
        assert!(count > 1000);
    }
}
