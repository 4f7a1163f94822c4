//! The pickup: the edges that the crank's motion makes, and what can go wrong with them.

use crate::{CYCLE_DEGREES, Motion, spacing};

/// Which flank of a pulse an edge is, as an ignition sees it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Flank {
    /// The flank that times the spark.
    Timing,
    /// A vane's other end, near the cranking advance.
    Second,
}

/// An edge on the pickup's line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Edge {
    /// Which flank it looks like.
    pub flank: Flank,
    /// Seconds from the start of the motion.
    pub time: f64,
    /// The pulse that made it; pulse k has its TDC at `k * P` degrees. `None` for a false edge.
    pub pulse: Option<i64>,
}

/// A pickup with evenly spaced pulses, save for what [`uneven`](Self::uneven) says.
#[derive(Clone, Debug)]
pub struct Pickup {
    /// Pulses in two crank turns, 1 to 12.
    pub pulses: u32,
    /// The timing flank, crank degrees before the TDC of its pulse.
    pub angle: f64,
    /// The second flank, crank degrees before the TDC of its pulse; `None` if nobody listens to it.
    pub second_flank_angle: Option<f64>,
    /// How many crank degrees early each pulse of the cycle comes, both flanks alike; negative is late.
    /// Empty for even pulses, else one for each pulse, first that of pulse 0.
    pub uneven: Vec<f64>,
}

impl Pickup {
    /// An even pickup with one flank.
    pub fn new(pulses: u32, angle: f64) -> Self {
        Self { pulses, angle, second_flank_angle: None, uneven: Vec::new() }
    }

    /// The edges after 0 s and up to `until` seconds, in order of time.
    ///
    /// Turning back, the crank passes a vane's ends the other way, so each looks like the other flank. Without a
    /// second flank every passage of the timing flank counts, either way: the worst that a simple pickup can do.
    pub fn edges(&self, motion: &Motion, until: f64) -> Vec<Edge> {
        let spacing = spacing(self.pulses);
        assert!(
            self.uneven.is_empty() || self.uneven.len() == self.pulses as usize,
            "one unevenness for each of the {} pulses, or none",
            self.pulses
        );
        let mut edges = Vec::new();
        for slot in 0..self.pulses {
            let early = self.uneven.get(slot as usize).copied().unwrap_or(0.0);
            let top = f64::from(slot) * spacing;
            let flanks = [(Flank::Timing, Some(self.angle)), (Flank::Second, self.second_flank_angle)];
            for (flank, angle) in flanks.into_iter().filter_map(|(flank, angle)| Some((flank, angle?))) {
                for passage in motion.passages(top - angle - early, CYCLE_DEGREES, until) {
                    let seen = match (passage.forward, self.second_flank_angle) {
                        (true, _) | (false, None) => flank,
                        (false, Some(_)) if flank == Flank::Timing => Flank::Second,
                        (false, Some(_)) => Flank::Timing,
                    };
                    let pulse = passage.index * i64::from(self.pulses) + i64::from(slot);
                    edges.push(Edge { flank: seen, time: passage.time, pulse: Some(pulse) });
                }
            }
        }
        sort(&mut edges);
        edges
    }
}

/// Takes the edge of this place in the row away and gives it back.
pub fn lose(edges: &mut Vec<Edge>, place: usize) -> Edge {
    edges.remove(place)
}

/// Adds an edge that no pulse made.
pub fn add_false(edges: &mut Vec<Edge>, flank: Flank, time: f64) {
    edges.push(Edge { flank, time, pulse: None });
    sort(edges);
}

/// The edges with false ones at these times.
#[must_use]
pub fn with_false(edges: &[Edge], flank: Flank, times: impl IntoIterator<Item = f64>) -> Vec<Edge> {
    let mut upset = edges.to_vec();
    upset.extend(times.into_iter().map(|time| Edge { flank, time, pulse: None }));
    sort(&mut upset);
    upset
}

/// Moves an edge by some seconds, later if positive.
pub fn shift(edges: &mut [Edge], place: usize, seconds: f64) {
    edges[place].time += seconds;
    sort(edges);
}

fn sort(edges: &mut [Edge]) {
    edges.sort_by(|a, b| a.time.total_cmp(&b.time));
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::period;

    /// Source: arithmetic; m edges in two turns, the first of pulse k at (k P - angle) / 6 N seconds.
    #[test]
    fn every_number_of_pulses_has_its_edges_at_its_angles() {
        for pulses in 1..=12 {
            let motion = Motion::steady(1200.0);
            let edges = Pickup::new(pulses, 25.0).edges(&motion, 0.5);
            for edge in &edges {
                let pulse = edge.pulse.unwrap();
                let exact = (pulse as f64 * spacing(pulses) - 25.0) / 7200.0;
                assert!((edge.time - exact).abs() < 1e-12, "{edge:?}, exact {exact}");
            }
            // Five cycles of 0.1 s; the angle of the last pulse is not reached before their end is.
            assert_eq!(edges.len(), pulses as usize * 5, "{pulses} pulses");
            assert!(edges.windows(2).all(|pair| pair[1].pulse.unwrap() == pair[0].pulse.unwrap() + 1));
        }
    }

    /// Source: arithmetic; one degree at 1 000 crank rpm is 1/6 000 s.
    #[test]
    fn uneven_pulse_is_early_by_its_angle_each_cycle() {
        let mut pickup = Pickup::new(4, 60.0);
        let even = pickup.edges(&Motion::steady(1000.0), 1.0);
        pickup.uneven = vec![0.0, 0.0, 2.0, 0.0];
        let uneven = pickup.edges(&Motion::steady(1000.0), 1.0);
        for (a, b) in even.iter().zip(&uneven) {
            let early = if a.pulse.unwrap() % 4 == 2 { 2.0 / 6000.0 } else { 0.0 };
            assert!((a.time - b.time - early).abs() < 1e-12, "{a:?} {b:?}");
        }
    }

    #[test]
    fn flanks_alternate_forward_and_change_names_backward() {
        let pickup = Pickup { second_flank_angle: Some(8.0), ..Pickup::new(4, 60.0) };
        let forward = pickup.edges(&Motion::steady(200.0), 1.0);
        assert!(forward.windows(2).all(|pair| pair[0].flank != pair[1].flank));
        assert_eq!(forward[0].flank, Flank::Timing);
        // Past both flanks of pulse 1 (at 120 and 172 degrees), then back over both.
        let motion = Motion::steady(120.0).hold(0.24).stop_and_reverse(1200.0, 600.0);
        let back: Vec<_> = pickup.edges(&motion, 2.0).iter().map(|edge| (edge.flank, edge.pulse)).collect();
        assert_eq!(back[..2], [(Flank::Timing, Some(1)), (Flank::Second, Some(1))]);
        assert_eq!(back[2..4], [(Flank::Timing, Some(1)), (Flank::Second, Some(1))]);
    }

    #[test]
    fn disturbances_keep_the_order_of_time() {
        let t = period(4, 1000.0);
        let mut edges = Pickup::new(4, 60.0).edges(&Motion::steady(1000.0), 10.5 * t);
        let count = edges.len();
        let lost = lose(&mut edges, 3);
        assert!((lost.time - edges[2].time - t).abs() < 1e-12);
        add_false(&mut edges, Flank::Timing, lost.time - 0.1 * t);
        assert_eq!((edges[3].pulse, edges.len()), (None, count));
        shift(&mut edges, 3, 1.5 * t);
        assert_eq!(edges[3].pulse, Some(lost.pulse.unwrap() + 1));
        assert_eq!(edges[4].pulse, None);
    }
}
