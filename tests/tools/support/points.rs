//! Points as a trigger: where they close, and how they bounce.

use bobweight_crank::{Edge, Flank, Motion, Pickup, pickup};

use crate::numbers::Numbers;
use crate::plain::Plain;

/// The openings with the closings of points that are open for a third of each pulse: edges of the other flank.
#[must_use]
pub fn with_closings(plain: &Plain, wheel: &Pickup, motion: &Motion, openings: &[Edge]) -> Vec<Edge> {
    let wheel = Pickup { angle: plain.pickup_angle - plain.spacing() / 3.0, ..wheel.clone() };
    let closings = wheel.edges(motion, motion.end_time()).into_iter();
    let mut edges: Vec<Edge> =
        openings.iter().copied().chain(closings.map(|edge| Edge { flank: Flank::Second, ..edge })).collect();
    edges.sort_by(|a, b| a.time.total_cmp(&b.time));
    edges
}

/// The same edges with up to `most` bounces after each true one: pairs of the other flank and this one, over before the time that the
/// settings state.
#[must_use]
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // A few bounces.
pub fn bounced(plain: &Plain, clean: &[Edge], numbers: &mut Numbers, most: u32) -> Vec<Edge> {
    let (mut these, mut others) = (Vec::new(), Vec::new());
    for edge in clean.iter().filter(|edge| edge.pulse.is_some()) {
        let bounces = numbers.between(0.0, f64::from(most) + 0.999).floor();
        let mut times: Vec<f64> =
            (0..2 * bounces as u32).map(|_| edge.time + numbers.between(5e-6, 0.98 * plain.bounce)).collect();
        times.sort_by(f64::total_cmp);
        for pair in times.chunks_exact(2) {
            let (first, second) =
                if edge.flank == Flank::Timing { (&mut others, &mut these) } else { (&mut these, &mut others) };
            first.push(pair[0]);
            second.push(pair[1]);
        }
    }
    let with_these = pickup::with_false(clean, Flank::Timing, these);
    pickup::with_false(&with_these, Flank::Second, others)
}
