//! A piecewise linear curve with flat ends, in `f64`, for what the host fits and draws.

/// Breakpoints in rising order of x; flat before the first and after the last.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    breakpoints: Vec<[f64; 2]>,
}

impl Curve {
    /// A curve through `(x, y)` with `x` rising; at least one breakpoint.
    pub(super) fn new(x: &[f64], y: &[f64]) -> Self {
        Self { breakpoints: x.iter().zip(y).map(|(&x, &y)| [x, y]).collect() }
    }

    /// A curve through breakpoints in rising order of x; at least one.
    pub fn through(breakpoints: &[[f64; 2]]) -> Self {
        Self { breakpoints: breakpoints.to_vec() }
    }

    /// The same curve on another scale of x, which rises with this one.
    pub(super) fn along(&self, x: impl Fn(f64) -> f64) -> Self {
        Self { breakpoints: self.breakpoints.iter().map(|&[at, y]| [x(at), y]).collect() }
    }

    /// The breakpoints `[x, y]`.
    pub fn breakpoints(&self) -> &[[f64; 2]] {
        &self.breakpoints
    }

    /// The value at `x`.
    pub fn at(&self, x: f64) -> f64 {
        let above = self.breakpoints.partition_point(|breakpoint| breakpoint[0] < x);
        match (above.checked_sub(1).map(|below| self.breakpoints[below]), self.breakpoints.get(above)) {
            (Some([x0, y0]), Some(&[x1, y1])) => y0 + (y1 - y0) * (x - x0) / (x1 - x0),
            (Some([_, y]), None) | (None, Some(&[_, y])) => y,
            (None, None) => f64::NAN,
        }
    }

    /// Change of slope at breakpoint `index`, positive where the curve turns upwards.
    pub fn change_of_slope(&self, index: usize) -> f64 {
        let slope = |pair: &[[f64; 2]]| (pair[1][1] - pair[0][1]) / (pair[1][0] - pair[0][0]);
        let before = if index == 0 { 0.0 } else { slope(&self.breakpoints[index - 1..=index]) };
        let after = if index + 1 < self.breakpoints.len() { slope(&self.breakpoints[index..index + 2]) } else { 0.0 };
        after - before
    }
}
