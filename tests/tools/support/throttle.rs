//! How a driver's foot moves an engine.

use bobweight_crank::Motion;

use crate::numbers::Numbers;
use crate::plain::Plain;

/// The throttle opened and closed at random at up to the greatest acceleration.
#[must_use]
pub fn throttle(plain: &Plain, numbers: &mut Numbers) -> Motion {
    let a = plain.acceleration;
    let mut motion = Motion::steady(numbers.between(500.0, 4600.0)).hold(8.0 * plain.period(500.0));
    for _ in 0..12 {
        let share = numbers.one_of(&[1.0, 1.0, 0.0, numbers.clone().between(0.05, 1.0)]);
        if share == 0.0 {
            motion = motion.hold(numbers.between(0.0, 0.05));
        } else {
            let there = (motion.end_speed() + numbers.between(-1.0, 1.0).powi(3) * 4000.0).clamp(480.0, 4650.0);
            motion = motion.ramp_to(there, a * share);
        }
    }
    motion
}
