//! The columns of the linear model: given its knots, the curve is linear in its levels.

use nalgebra::SVector;

use super::shape::rounded_hinge;

/// Readings as the fit sees them: a place on the axis, how it was reached, an angle.
#[derive(Debug, Clone)]
pub(super) struct Points {
    /// Speed in crank rpm, or depression scaled to it.
    pub(super) x: Vec<f64>,
    /// +1 where the speed was rising, -1 falling, 0 steady.
    pub(super) direction: Vec<f64>,
    /// Crank degrees above `centre`, times the root weight.
    pub(super) y: Vec<f64>,
    /// Root of the weight: 1 for a reading that scatters as the light does, less for one that scatters more.
    pub(super) root_weight: Vec<f64>,
    /// The median angle: the levels' prior is about it.
    pub(super) centre: f64,
}

impl Points {
    /// Points from `(x, direction, y)`, at least one, about their median.
    pub(super) fn about_median(readings: &[(f64, f64, f64)]) -> Self {
        let mut angles: Vec<f64> = readings.iter().map(|reading| reading.2).collect();
        Self::about(super::summary::quantile(&mut angles, 0.5), readings.iter().copied())
    }

    /// Points from `(x, direction, y)` about a centre.
    pub(super) fn about(centre: f64, readings: impl Iterator<Item = (f64, f64, f64)>) -> Self {
        let mut points = Self { x: Vec::new(), direction: Vec::new(), y: Vec::new(), root_weight: Vec::new(), centre };
        for (x, direction, y) in readings {
            points.x.push(x);
            points.direction.push(direction);
            points.y.push(y - centre);
            points.root_weight.push(1.0);
        }
        points
    }

    /// The points, of which each scatters besides by this variance, in units of the light's own; one for each.
    pub(super) fn scattering_besides(mut self, variances: impl Iterator<Item = f64>) -> Self {
        for (index, variance) in variances.enumerate() {
            let root_weight = (1.0 + variance).sqrt().recip();
            self.root_weight[index] *= root_weight;
            self.y[index] *= root_weight;
        }
        self
    }

    /// The row of one point, times its root weight.
    #[inline]
    pub(super) fn row<const K: usize, const P: usize>(
        &self,
        knots: &[f64; K],
        rounding: f64,
        index: usize,
    ) -> SVector<f64, P> {
        row(knots, rounding, self.x[index], self.direction[index]) * self.root_weight[index]
    }

    /// Log of what weighted angles' density has more than that of the angles themselves.
    pub(super) fn log_weights(&self) -> f64 {
        self.root_weight.iter().map(|weight| weight.ln()).sum()
    }

    pub(super) fn len(&self) -> usize {
        self.y.len()
    }

    /// Lowest and highest place.
    pub(super) fn range(&self) -> (f64, f64) {
        let low = self.x.iter().copied().fold(f64::INFINITY, f64::min);
        let high = self.x.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        (low, high)
    }

    /// The points without one of them, about the same centre.
    pub(super) fn without(&self, left_out: Option<usize>) -> Self {
        let keep = |values: &[f64]| {
            let kept = values.iter().enumerate().filter(|&(index, _)| Some(index) != left_out);
            kept.map(|(_, &value)| value).collect()
        };
        Self {
            x: keep(&self.x),
            direction: keep(&self.direction),
            y: keep(&self.y),
            root_weight: keep(&self.root_weight),
            centre: self.centre,
        }
    }
}

/// The row of one point: hat functions with flat ends on `knots`, their corners rounded; where there are more columns than knots,
/// the next holds `-d/2` between the first and the last knot, for the angle by which a falling speed reads above a rising one,
/// and any beyond it how a single ramp bows, in waves.
#[inline]
pub(super) fn row<const K: usize, const P: usize>(
    knots: &[f64; K],
    rounding: f64,
    x: f64,
    direction: f64,
) -> SVector<f64, P> {
    let mut row = SVector::zeros();
    let on_a_ramp = x > knots[0] && x < knots[K - 1];
    if rounding > 0.0 {
        row[0] = 1.0;
        for above in 1..K {
            let risen = rounded_hinge(x - knots[above - 1], rounding) - rounded_hinge(x - knots[above], rounding);
            let share = risen / (knots[above] - knots[above - 1]);
            row[above] += share;
            row[above - 1] -= share;
        }
    } else if !on_a_ramp {
        row[if x <= knots[0] { 0 } else { K - 1 }] = 1.0;
    }
    if on_a_ramp {
        let above = (1..K).find(|&knot| x < knots[knot]).unwrap_or(K - 1);
        let share = (x - knots[above - 1]) / (knots[above] - knots[above - 1]);
        if rounding <= 0.0 {
            row[above - 1] = 1.0 - share;
            row[above] = share;
        }
        if P > K {
            row[K] = -direction / 2.0;
        }
        if P > K + 1 {
            // The bow, then an S, then a bend and its counterpart.
            let turn = std::f64::consts::PI * share;
            for bow in 1..P - K {
                row[K + bow] = (turn * wave(bow)).sin();
            }
        }
    }
    row
}

/// How many half waves a bow has on its ramp.
#[expect(clippy::cast_precision_loss, reason = "three at the most")]
pub(super) fn wave(bow: usize) -> f64 {
    bow as f64
}
