//! A reluctor's conditioner between the stimulator, whose flanks stand still, and the ignition.

use crate::proof::plan::CRANKING_SPEED_CRANK_RPM;
use crate::quantity::of_core::angle_degrees;

/// Moves a pulse's other flank with the speed.
///
/// The stimulator gives it at its latest angle. How it moves between its two angles goes by pole and threshold; here it moves evenly with
/// the speed, which is a choice.
#[derive(Clone, Copy, Debug)]
pub(super) struct Reluctor {
    /// From a zero crossing to the next pulse's other flank at its latest, crank degrees.
    way: f64,
    /// From its latest to its earliest angle, crank degrees.
    moves: f64,
    /// Where it is at its earliest, crank rpm.
    greatest_crank_rpm: f64,
}

impl Reluctor {
    pub(super) fn of(pickup: &bobweight::Pickup, greatest_crank_rpm: f64) -> Option<Self> {
        let settings = pickup.settings();
        let moving = settings.moving_flank?;
        let spacing = 720.0 / f64::from(settings.pulses_in_two_turns);
        let [earliest, latest, crossing] = [moving.earliest, moving.latest, settings.angle].map(angle_degrees);
        Some(Self { way: spacing - (latest - crossing), moves: earliest - latest, greatest_crank_rpm })
    }

    /// When the ignition sees the flank that the stimulator gives at `at`, after a crossing at `crossing` and a pulse that took `pulse`; all in
    /// ticks, so many a second. Only the flank of a whole pulse is moved: what was added to a pulse stands where it was put.
    pub(super) fn moved(&self, crossing: f64, at: f64, pulse: f64, ticks_a_second: f64) -> f64 {
        let since = at - crossing;
        if since <= 0.75 * pulse || pulse <= 0.0 {
            return at;
        }
        let crank_rpm = self.way / 6.0 / since * ticks_a_second;
        let share = (crank_rpm - CRANKING_SPEED_CRANK_RPM) / (self.greatest_crank_rpm - CRANKING_SPEED_CRANK_RPM);
        at - since * self.moves * share.clamp(0.0, 1.0) / self.way
    }
}

#[cfg(test)]
mod tests {
    use super::Reluctor;

    /// The wanted angles are arithmetic: 6 N t crank degrees in t seconds at N crank rpm.
    #[test]
    fn the_flank_lies_between_its_two_angles_by_the_speed() {
        let reluctor = Reluctor { way: 175.0, moves: 5.0, greatest_crank_rpm: 4_600.0 };
        for (crank_rpm, earlier) in [(150.0, 0.0), (200.0, 0.0), (2_400.0, 2.5), (4_600.0, 5.0), (4_800.0, 5.0)] {
            let ticks = |degrees: f64| degrees / 6.0 / crank_rpm * 2e6;
            let moved = reluctor.moved(1e6, 1e6 + ticks(175.0), ticks(180.0), 2e6);
            assert!((moved - 1e6 - ticks(175.0 - earlier)).abs() < 1e-3, "{crank_rpm}: {moved}");
        }
        // Half a pulse after a crossing there is no flank of a pickup.
        assert_eq!(reluctor.moved(0.0, 9_000.0, 18_000.0, 2e6).to_bits(), 9_000.0_f64.to_bits());
    }
}
