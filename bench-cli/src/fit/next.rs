//! The next reading: the one that narrows the band of the curve most, where it is widest.

use super::FitResult;

/// Places of the grid, and candidates.
const PLACES: u32 = 48;

impl FitResult {
    /// Half of the widest 95 % band of the hose-off curve from `low` to `high` crank rpm, crank degrees, and where it is.
    pub fn widest_half_band(&self, low: f64, high: f64) -> (f64, f64) {
        let at = |crank_rpm: f64| {
            let band = self.band_at(crank_rpm);
            (crank_rpm, (band.high - band.low) / 2.0)
        };
        places(low, high).map(at).max_by(|a, b| a.1.total_cmp(&b.1)).unwrap_or((low, f64::INFINITY))
    }

    /// The speed from `low` to `high` crank rpm whose reading leaves least of the band: of all candidates c the one with the
    /// least sum over the grid of `(V_g - cov(f_g, f_c)^2 / (V_c + s^2))^4`, by the draws of the fit.
    pub fn next_speed(&self, low: f64, high: f64) -> f64 {
        let speeds: Vec<f64> = places(low, high).collect();
        let columns: Vec<Vec<f64>> = speeds.iter().map(|&speed| self.centred_draws(speed)).collect();
        let product = |a: &[f64], b: &[f64]| {
            #[expect(clippy::cast_precision_loss, reason = "a few thousand draws")]
            let count = a.len() as f64;
            a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>() / count
        };
        let variance: Vec<f64> = columns.iter().map(|column| product(column, column)).collect();
        let scatter = self.scatter.value * self.scatter.value;
        let left = |at: usize| -> f64 {
            let rest = |g: usize| {
                let covariance = product(&columns[g], &columns[at]);
                (variance[g] - covariance * covariance / (variance[at] + scatter)).max(0.0).powi(4)
            };
            (0..speeds.len()).map(rest).sum()
        };
        let sums: Vec<f64> = (0..speeds.len()).map(left).collect();
        let best = (0..speeds.len()).min_by(|&a, &b| sums[a].total_cmp(&sums[b]));
        best.map_or(low, |at| speeds[at])
    }

    fn centred_draws(&self, crank_rpm: f64) -> Vec<f64> {
        // Every fourth draw tells enough of a covariance, at a quarter of the time.
        let values: Vec<f64> = self.draws.iter().step_by(4).map(|draw| draw.curve.at(crank_rpm)).collect();
        #[expect(clippy::cast_precision_loss, reason = "a few thousand draws")]
        let mean = values.iter().sum::<f64>() / values.len() as f64;
        values.iter().map(|value| value - mean).collect()
    }
}

fn places(low: f64, high: f64) -> impl Iterator<Item = f64> {
    (0..PLACES).map(move |at| low + (high - low) * f64::from(at) / f64::from(PLACES - 1))
}
