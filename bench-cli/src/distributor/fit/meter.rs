//! A tachometer or a vacuum gauge that shows too much or too little, the same way at every reading.
//!
//! Readings cannot tell it: the curve merely stands at other speeds. So what the maker states is carried through to every figure, by draws, and
//! more readings make no less of it. Within what is stated any error is as likely as any other (JCGM 101:2008, 6.4.2, from memory).

use rand::RngExt;
use rand_chacha::ChaCha8Rng;

use super::draws::Draw;
use super::summary::Estimate;
use crate::quantity::Accuracy;

/// What an interval is made of where the meter may be out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ByMeter {
    /// The place as the meter shows it, with its 95 % interval by the readings alone.
    pub as_shown: Estimate,
    /// The meter may be out there by so much either way.
    pub within: f64,
}

impl ByMeter {
    /// Of a place that the readings tell so; `accuracy` in the unit of the place.
    pub(super) fn new(as_shown: Estimate, accuracy: Accuracy) -> Self {
        Self { as_shown, within: accuracy.within(as_shown.value) }
    }
}

/// The draws on the true scale: each as likely as before, by a meter that is out by some of what it may be. `accuracy` in the unit of
/// the draws' axis.
pub(super) fn on_the_true_scale(draws: &[Draw], accuracy: Accuracy, rng: &mut ChaCha8Rng) -> Vec<Draw> {
    let mut part = |most: f64| most * (2.0 * rng.random::<f64>() - 1.0);
    let mut moved = |draw: &Draw| {
        let (share, besides) = (part(accuracy.share), part(accuracy.besides));
        draw.along(|shown| shown * (1.0 + share) + besides)
    };
    draws.iter().map(&mut moved).collect()
}
