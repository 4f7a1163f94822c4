//! Numbers from draws: quantiles and intervals.

/// A value with its 95 % interval, which always holds it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimate {
    /// The value, of the least-squares curve where it belongs to one.
    pub value: f64,
    /// Lower end of the interval.
    pub low: f64,
    /// Upper end of the interval.
    pub high: f64,
}

impl Estimate {
    /// The interval of `draws` between their 2.5 % and 97.5 % quantiles, widened to hold `value`.
    pub(super) fn about(value: f64, draws: impl Iterator<Item = f64>) -> Self {
        let mut draws: Vec<f64> = draws.collect();
        let (low, high) = interval(&mut draws);
        Self { value, low: low.min(value), high: high.max(value) }
    }

    /// The median of `draws` with their interval.
    pub(super) fn median(draws: impl Iterator<Item = f64>) -> Self {
        let mut draws: Vec<f64> = draws.collect();
        let (low, high) = interval(&mut draws);
        Self { value: quantile(&mut draws, 0.5), low, high }
    }

    /// Half the interval's width.
    pub fn half_width(&self) -> f64 {
        (self.high - self.low) / 2.0
    }

    /// Whether the interval holds `value`.
    pub fn holds(&self, value: f64) -> bool {
        (self.low..=self.high).contains(&value)
    }
}

/// The 2.5 % and 97.5 % quantiles.
pub(super) fn interval(draws: &mut [f64]) -> (f64, f64) {
    (quantile(draws, 0.025), quantile(draws, 0.975))
}

/// The quantile `share`, interpolated between neighbours (type 7 of Hyndman and Fan 1996, from memory; the
/// default of `numpy.quantile`). NaN for no values.
#[expect(
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "small counts"
)]
pub(super) fn quantile(values: &mut [f64], share: f64) -> f64 {
    let Some(last) = values.len().checked_sub(1) else {
        return f64::NAN;
    };
    let place = share * last as f64;
    let below = place.floor() as usize;
    let (_, &mut at, above) = values.select_nth_unstable_by(below, f64::total_cmp);
    let next = above.iter().copied().fold(f64::INFINITY, f64::min);
    if next.is_finite() { at + (next - at) * (place - place.floor()) } else { at }
}

/// The share of `draws` for which `holds` is true.
#[expect(clippy::cast_precision_loss, reason = "a few thousand draws")]
pub(super) fn share<T>(draws: &[T], holds: impl Fn(&T) -> bool) -> f64 {
    draws.iter().filter(|draw| holds(draw)).count() as f64 / draws.len() as f64
}
