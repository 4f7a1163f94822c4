//! A reluctor behind its conditioner: the voltage that a tooth induces, and the two flanks that come of it.
//!
//! The voltage is the speed times a shape over the angle. Here the shape is half a sine that ends at the zero crossing: x crank degrees before
//! the crossing the voltage is `N sin(pi x / W)`, in units of one crank rpm at the top of the wave, for x from 0 to W. The conditioner
//! has one threshold. Its output rises where the voltage passes that, and falls at the zero crossing; a wave that never reaches the threshold
//! gives neither. So the crossing holds its angle, and the rising flank lies at `x = W - W/pi asin(threshold / N)`: between W/2, where the
//! wave just reaches the threshold, and W, for a fast engine. Source: Faraday's law of induction for the speed; the shape is a choice.

use crate::{CYCLE_DEGREES, Edge, Flank, Motion, spacing};
use std::f64::consts::PI;

/// A reluctor with evenly spaced teeth, save for what [`uneven`](Self::uneven) says.
#[derive(Clone, Debug)]
pub struct Reluctor {
    /// Pulses in two crank turns, 1 to 12.
    pub pulses: u32,
    /// The zero crossing, crank degrees before the TDC of its pulse.
    pub crossing: f64,
    /// How long the half wave before it is, crank degrees: less than one pulse.
    pub wave: f64,
    /// The slowest speed whose wave reaches the threshold, crank rpm.
    pub threshold: f64,
    /// How many crank degrees early each pulse of the cycle comes, both flanks alike; negative is late.
    /// Empty for even pulses, else one for each pulse, first that of pulse 0.
    pub uneven: Vec<f64>,
}

impl Reluctor {
    /// Where the moving flank lies at its earliest and its latest, crank degrees before the TDC of its pulse.
    pub fn moving_flank(&self) -> (f64, f64) {
        (self.crossing + self.wave, self.crossing + self.wave / 2.0)
    }

    /// Both flanks of every pulse after 0 s and up to `until` seconds, of a crank that turns forward, in order of time. The moving flank looks
    /// like [`Flank::Second`], the crossing like [`Flank::Timing`]. A crank that stands by then between the two flanks of a pulse has given the first.
    pub fn edges(&self, motion: &Motion, until: f64) -> Vec<Edge> {
        assert!(self.wave > 0.0 && self.wave < spacing(self.pulses) && self.threshold > 0.0);
        let mut edges = Vec::new();
        // A ramp to rest ends there but for rounding.
        let (rests_at, stands) = (motion.angle_at(until), motion.speed_at(until).abs() < 1e-6);
        for slot in 0..self.pulses {
            let early = self.uneven.get(slot as usize).copied().unwrap_or(0.0);
            let offset = f64::from(slot) * spacing(self.pulses) - self.crossing - early;
            let pulse = |index: i64| Some(index * i64::from(self.pulses) + i64::from(slot));
            for passage in motion.passages(offset, CYCLE_DEGREES, until) {
                assert!(passage.forward, "this pickup is turned forward");
                let pulse = pulse(passage.index);
                if let Some(time) = self.rises(motion, motion.angle_at(passage.time), passage.time) {
                    edges.push(Edge { flank: Flank::Second, time, pulse });
                    edges.push(Edge { flank: Flank::Timing, time: passage.time, pulse });
                }
            }
            let to_come = ((rests_at - offset) / CYCLE_DEGREES).floor() as i64 + 1;
            let crossing = offset + to_come as f64 * CYCLE_DEGREES;
            if stands && crossing - rests_at < self.wave {
                let risen = self.rises(motion, crossing, until);
                edges.extend(risen.map(|time| Edge { flank: Flank::Second, time, pulse: pulse(to_come) }));
            }
        }
        edges.sort_by(|a, b| a.time.total_cmp(&b.time));
        edges
    }

    /// When the wave that ends at an absolute angle and time first passes the threshold.
    fn rises(&self, motion: &Motion, crossing: f64, ends: f64) -> Option<f64> {
        let above = |x: f64| {
            let Some(time) = motion.time_of_angle(crossing - x, 0.0) else { return false };
            time <= ends && motion.speed_at(time) * (PI * x / self.wave).sin() >= self.threshold
        };
        // The first step that is above, then halved.
        let steps = 400;
        let at = |step: i32| self.wave * (1.0 - f64::from(step) / f64::from(steps));
        let step = (0..steps).find(|&step| above(at(step)))?;
        let (mut above_at, mut below_at) = (at(step), at(step - 1));
        for _ in 0..50 {
            let middle = f64::midpoint(above_at, below_at);
            if above(middle) { above_at = middle } else { below_at = middle }
        }
        motion.time_of_angle(crossing - above_at, 0.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn reluctor() -> Reluctor {
        Reluctor { pulses: 4, crossing: 8.0, wave: 20.0, threshold: 60.0, uneven: Vec::new() }
    }

    /// Closed form at a steady speed: the moving flank lies at `W - W/pi asin(threshold / N)` before the crossing.
    #[test]
    fn the_crossing_holds_its_angle_and_the_other_flank_moves_with_the_speed() {
        for rpm in [61.0, 120.0, 500.0, 5000.0] {
            let motion = Motion::steady(rpm);
            let before_top = |edge: &Edge| edge.pulse.unwrap() as f64 * 180.0 - motion.angle_at(edge.time);
            let edges = reluctor().edges(&motion, 2.0);
            assert!(edges.len() >= 2, "{rpm} crank rpm");
            let moving = 8.0 + 20.0 - 20.0 / PI * (60.0_f64 / rpm).asin();
            for pair in edges.windows(2).filter(|pair| pair[0].pulse == pair[1].pulse) {
                assert_eq!((pair[0].flank, pair[1].flank), (Flank::Second, Flank::Timing));
                assert!((before_top(&pair[1]) - 8.0).abs() < 1e-6, "{rpm} crank rpm: {}", before_top(&pair[1]));
                assert!((before_top(&pair[0]) - moving).abs() < 1e-6, "{rpm}: {}, not {moving}", before_top(&pair[0]));
                let (earliest, latest) = reluctor().moving_flank();
                assert!((latest..=earliest).contains(&before_top(&pair[0])));
            }
        }
    }

    #[test]
    fn a_wave_below_the_threshold_gives_no_flank() {
        assert!(reluctor().edges(&Motion::steady(59.0), 3.0).is_empty());
    }

    /// It stands 5 crank degrees before the crossing of pulse 1, having slowed from 300 crank rpm over 10.
    #[test]
    fn a_crank_that_rests_between_the_flanks_gives_the_first() {
        let deceleration = 300.0_f64.powi(2) * 6.0 / (2.0 * 10.0);
        let before = (180.0 - 8.0 - 15.0) / 1800.0;
        let motion = Motion::steady(300.0).hold(before).ramp_to(0.0, deceleration).hold(0.5);
        let edges = reluctor().edges(&motion, motion.end_time());
        assert_eq!(edges.len(), 1, "{edges:?}");
        assert_eq!((edges[0].flank, edges[0].pulse), (Flank::Second, Some(1)));
        let at = 180.0 - motion.angle_at(edges[0].time);
        let (earliest, latest) = reluctor().moving_flank();
        assert!((latest..=earliest).contains(&at), "{at}");
        // Turned on to the crossing, it gives both.
        assert_eq!(reluctor().edges(&Motion::steady(300.0).hold(before), before + 16.0 / 1800.0).len(), 2);
    }

    #[test]
    fn an_uneven_pulse_is_early_by_its_angle_with_both_flanks() {
        let even = reluctor().edges(&Motion::steady(1000.0), 1.0);
        let uneven = Reluctor { uneven: vec![0.0, 2.0, 0.0, 0.0], ..reluctor() };
        for (a, b) in even.iter().zip(uneven.edges(&Motion::steady(1000.0), 1.0)) {
            let early = if a.pulse.unwrap() % 4 == 1 { 2.0 / 6000.0 } else { 0.0 };
            assert!((a.time - b.time - early).abs() < 1e-9, "{a:?} {b:?}");
        }
    }

    #[test]
    fn a_crank_that_gathers_speed_from_rest_gives_its_pulses_once_it_is_fast_enough() {
        let motion = Motion::starting(0.0, 0.0).accelerate(400.0, 1.0);
        let edges = reluctor().edges(&motion, 1.0);
        let first = edges.first().unwrap();
        assert!(motion.speed_at(first.time) >= 60.0 && edges.len() >= 8, "{edges:?}");
    }
}
