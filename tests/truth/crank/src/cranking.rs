//! How an engine turns on its starter, and how it catches.

use crate::{Motion, spacing};
use std::f64::consts::TAU;

/// Cranking speed that swings with each compression. By angle A it is
/// `c (1 - e cos(2 pi (A - s) / P))`, slowest at the angles s + k P.
#[derive(Clone, Copy, Debug)]
pub struct Swing {
    /// Pulses in two crank turns, one compression for each.
    pub pulses: u32,
    /// Crank rpm averaged over time: a pulse takes `120 / (pulses * mean)` seconds.
    pub mean_rpm: f64,
    /// Greatest over least speed within a pulse, at least 1; 3 is an engine in good compression.
    pub ratio: f64,
    /// Where the crank is slowest, crank degrees before the TDC of each pulse.
    pub slowest_btdc: f64,
}

/// An engine that begins to fire. Each fired pulse adds the same energy to the flywheel, in the half spacing after its TDC,
/// smoothly; starter, friction and compression go on as before. With inertia J energy is `J w^2 / 2`, so each
/// fired pulse adds the same to the square of the speed.
#[derive(Clone, Copy, Debug)]
pub struct FirstFire {
    /// The motion before the first fired pulse.
    pub cranking: Swing,
    /// The first pulse that fires; pulse k has its TDC at `k * P` degrees.
    pub first_fired: i64,
    /// How many pulses fire.
    pub fired: u32,
    /// Crank rpm once they have fired: root mean square by angle, where `cranking` has its own root mean square.
    pub reached_rpm: f64,
}

impl Swing {
    fn eccentricity(&self) -> f64 {
        assert!(self.ratio >= 1.0 && self.mean_rpm > 0.0);
        (self.ratio - 1.0) / (self.ratio + 1.0)
    }

    /// The mean of the speed by angle, c: the mean of `1 / (1 - e cos)` is `1 / sqrt(1 - e^2)`, so the mean by
    /// time is `c sqrt(1 - e^2)`.
    fn mean_by_angle(&self) -> f64 {
        self.mean_rpm / (1.0 - self.eccentricity().powi(2)).sqrt()
    }

    /// Crank rpm at an angle.
    pub fn speed(&self, angle: f64) -> f64 {
        let phase = TAU * (angle + self.slowest_btdc) / spacing(self.pulses);
        self.mean_by_angle() * (1.0 - self.eccentricity() * phase.cos())
    }

    /// The fastest speed, crank rpm.
    pub fn fastest(&self) -> f64 {
        self.mean_by_angle() * (1.0 + self.eccentricity())
    }

    /// Cranks for this many degrees.
    #[must_use]
    pub fn append_to(self, motion: Motion, degrees: f64) -> Motion {
        motion.by_angle(degrees, move |angle| self.speed(angle))
    }
}

impl FirstFire {
    /// Crank rpm at an angle.
    pub fn speed(&self, angle: f64) -> f64 {
        let spacing = spacing(self.cranking.pulses);
        let e = self.cranking.eccentricity();
        let cranking_mean_square = self.cranking.mean_by_angle().powi(2) * (1.0 + e * e / 2.0);
        let gain = (self.reached_rpm.powi(2) - cranking_mean_square) / f64::from(self.fired);
        assert!(gain >= 0.0, "the engine must reach more than its cranking speed");
        let burnt: f64 = (0..self.fired)
            .map(|pulse| {
                let top = (self.first_fired + i64::from(pulse)) as f64 * spacing;
                let share = ((angle - top) / (spacing / 2.0)).clamp(0.0, 1.0);
                (1.0 - (share * TAU / 2.0).cos()) / 2.0
            })
            .sum();
        (self.cranking.speed(angle).powi(2) + gain * burnt).sqrt()
    }

    /// Cranks and fires for this many degrees.
    #[must_use]
    pub fn append_to(self, motion: Motion, degrees: f64) -> Motion {
        motion.by_angle(degrees, move |angle| self.speed(angle))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{DEGREES_PER_SECOND_PER_RPM, period};

    fn swing(pulses: u32) -> Swing {
        Swing { pulses, mean_rpm: 200.0, ratio: 3.0, slowest_btdc: 20.0 }
    }

    /// Source: definition of the mean speed and of the ratio.
    #[test]
    fn a_pulse_takes_its_mean_time_and_swings_by_the_ratio() {
        for pulses in 1..=12 {
            let motion = swing(pulses).append_to(Motion::steady(200.0), 1440.0);
            let pulse = period(pulses, 200.0);
            for k in 0..pulses * 2 {
                let at = motion.time_of_angle(f64::from(k) * spacing(pulses), 0.0).unwrap();
                assert!((at - f64::from(k) * pulse).abs() < 1e-11, "pulse {k} of {pulses}: {at}");
            }
            let slowest = swing(pulses).speed(-20.0);
            assert!((swing(pulses).fastest() / slowest - 3.0).abs() < 1e-12);
        }
    }

    /// Closed form: the integral of 1 / (1 - e cos x) is
    /// 2 / sqrt(1 - e^2) atan(sqrt((1 + e) / (1 - e)) tan(x / 2)) for x within half a turn.
    #[test]
    fn time_within_a_pulse_has_its_closed_form() {
        let swing = Swing { slowest_btdc: 0.0, ..swing(4) };
        let spacing = spacing(4);
        let motion = swing.append_to(Motion::starting(-spacing / 2.0, 200.0), spacing);
        let e: f64 = 0.5;
        for step in -17..=17 {
            let x = f64::from(step) * TAU / 36.0;
            let share = (((1.0 + e) / (1.0 - e)).sqrt() * (x / 2.0).tan()).atan() / (TAU / 2.0);
            let exact = (share + 0.5) * period(4, 200.0);
            let found = motion.time_of_angle(x / TAU * spacing, 0.0).unwrap();
            assert!((found - exact).abs() < 1e-11, "{x}: {found}, closed form {exact}");
            assert!((motion.angle_at(found) - x / TAU * spacing).abs() < 1e-9);
        }
    }

    /// The same engine integrated in time from its torque, by the classical Runge-Kutta rule: acceleration is torque over inertia,
    /// that is w dw/dA. Source: Newton's second law.
    #[test]
    fn first_fire_agrees_with_torque_integrated_in_time() {
        let fire = FirstFire { cranking: swing(4), first_fired: 2, fired: 3, reached_rpm: 560.0 };
        let motion = fire.append_to(Motion::steady(200.0), 1440.0);
        let step_angle = 1e-4;
        let acceleration = |angle: f64| {
            let slope =
                (fire.speed(angle + step_angle).powi(2) - fire.speed(angle - step_angle).powi(2)) / (4.0 * step_angle);
            slope * DEGREES_PER_SECOND_PER_RPM.powi(2)
        };
        let (mut angle, mut speed) = (0.0, fire.speed(0.0) * DEGREES_PER_SECOND_PER_RPM);
        let step = 2e-5;
        for k in 0..30_000 {
            if k % 1000 == 0 {
                let time = f64::from(k) * step;
                assert!(
                    (motion.angle_at(time) - angle).abs() < 1e-3,
                    "{time} s: {} against {angle}",
                    motion.angle_at(time)
                );
            }
            let (k1, l1) = (speed, acceleration(angle));
            let (k2, l2) = (speed + l1 * step / 2.0, acceleration(angle + k1 * step / 2.0));
            let (k3, l3) = (speed + l2 * step / 2.0, acceleration(angle + k2 * step / 2.0));
            let (k4, l4) = (speed + l3 * step, acceleration(angle + k3 * step));
            angle += step * (k1 + 2.0 * k2 + 2.0 * k3 + k4) / 6.0;
            speed += step * (l1 + 2.0 * l2 + 2.0 * l3 + l4) / 6.0;
        }
        assert!(angle > 810.0, "the test must have gone past the last fired pulse, to {angle}");
    }

    /// Source: definition of `reached_rpm`.
    #[test]
    fn fired_pulses_bring_the_engine_to_its_speed() {
        let fire = FirstFire { cranking: swing(4), first_fired: 2, fired: 2, reached_rpm: 560.0 };
        let mean_square = (0..180).map(|a| fire.speed(f64::from(a) + 900.0).powi(2)).sum::<f64>() / 180.0;
        assert!((mean_square.sqrt() - 560.0).abs() < 1e-6, "{}", mean_square.sqrt());
        assert!((fire.speed(300.0) - swing(4).speed(300.0)).abs() < 1e-9);
    }
}
