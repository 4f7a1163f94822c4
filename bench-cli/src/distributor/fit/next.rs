//! The next reading: the one that narrows the band of the curve most, where it is widest.

use super::{FitResult, direction};
use crate::distributor::readings::SpeedWas;

/// Places of the grid, and candidates.
const PLACES: u32 = 48;

impl FitResult {
    /// Half of the widest 95 % band of the hose-off curve from `low` to `high` crank rpm, crank degrees, and where it is.
    pub fn widest_half_band(&self, low: f64, high: f64) -> (f64, f64) {
        let at = |crank_rpm: f64| {
            let band = self.band_as_shown(crank_rpm);
            (crank_rpm, (band.high - band.low) / 2.0)
        };
        places(low, high).map(at).max_by(|a, b| a.1.total_cmp(&b.1)).unwrap_or((low, f64::INFINITY))
    }

    /// The reading from `low` to `high` crank rpm, with the speed rising or falling, that leaves least of the band: of all
    /// candidates c the one with the least sum over the grid of `(V_g - cov(f_g, f_c)^2 / (V_c + s^2))^4`, by the draws of
    /// the fit.
    pub fn next_reading(&self, low: f64, high: f64) -> (f64, SpeedWas) {
        let speeds: Vec<f64> = places(low, high).collect();
        let grid: Vec<Vec<f64>> = speeds.iter().map(|&speed| self.centred_draws(speed, 0.0)).collect();
        let variance: Vec<f64> = grid.iter().map(|column| product(column, column)).collect();
        let scatter = self.scatter.value * self.scatter.value;
        let left = |speed: f64, way: SpeedWas| -> f64 {
            let candidate = self.centred_draws(speed, direction(way));
            let own = product(&candidate, &candidate) + scatter;
            let rest = |g: usize| {
                let covariance = product(&grid[g], &candidate);
                (variance[g] - covariance * covariance / own).max(0.0).powi(4)
            };
            (0..speeds.len()).map(rest).sum()
        };
        let candidates = speeds.iter().flat_map(|&speed| [SpeedWas::Rising, SpeedWas::Falling].map(|way| (speed, way)));
        let judged = candidates.map(|(speed, way)| ((speed, way), left(speed, way)));
        judged.min_by(|a, b| a.1.total_cmp(&b.1)).map_or((low, SpeedWas::Rising), |(best, _)| best)
    }

    fn centred_draws(&self, crank_rpm: f64, direction: f64) -> Vec<f64> {
        // Every other draw tells enough of a covariance, at half of the time.
        let values: Vec<f64> = self.draws.iter().step_by(2).map(|draw| draw.at(crank_rpm, direction)).collect();
        let mean = values.iter().sum::<f64>() / count(&values);
        values.iter().map(|value| value - mean).collect()
    }
}

fn product(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>() / count(a)
}

#[expect(clippy::cast_precision_loss, reason = "a few thousand draws")]
fn count(values: &[f64]) -> f64 {
    values.len() as f64
}

fn places(low: f64, high: f64) -> impl Iterator<Item = f64> {
    (0..PLACES).map(move |at| low + (high - low) * f64::from(at) / f64::from(PLACES - 1))
}
