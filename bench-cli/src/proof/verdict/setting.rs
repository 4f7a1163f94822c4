//! What the verdict knows of the sheet, and the systematic bound of a test point.

use crate::record::bench::{Bound, Direction};

/// The core's advance lies this near to the exact one, crank degrees.
pub const CORE_BOUND: f64 = 0.02;

/// The sheet's figures and the bench's.
#[derive(Debug, Clone, PartialEq)]
pub struct Setting {
    /// Evenly spaced pulses in two crank turns, 1 to 12.
    pub pulses_in_two_turns: usize,
    /// Angle of the pulse's other flank less that of the timing flank, crank degrees BTDC: where every spark would go by,
    /// were it timed by the wrong flank; the least and the greatest, which differ where that flank moves. None where the sheet gives no
    /// other flank.
    pub flank_distance: Option<[f64; 2]>,
    /// The delay from the timing flank to a spark without centrifugal and vacuum advance, crank degrees: the pickup's angle less the
    /// initial timing.
    pub delay_at_no_advance: f64,
    /// Chosen centrifugal breakpoints: crank rpm, crank degrees.
    pub centrifugal: Vec<[f64; 2]>,
    /// Chosen vacuum breakpoints: kPa depression, crank degrees; empty without a vacuum unit.
    pub vacuum: Vec<[f64; 2]>,
    /// Tick of the stimulator, seconds.
    pub tick_bench_s: f64,
    /// Tick of the ignition, seconds.
    pub tick_ignition_s: f64,
    /// By what share the two clocks may differ: both tolerances together, 0.005 for 0.5 %.
    pub clock_tolerance: f64,
    /// Step of the vacuum output and of the sensor together, kPa.
    pub vacuum_step_kpa: f64,
    /// `bench` of the sheet's tolerances, crank degrees.
    pub tolerance: f64,
    /// `bench_ramp` of the sheet's tolerances, crank degrees.
    pub tolerance_ramp: f64,
}

/// Under which conditions a test point was measured.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Conditions {
    /// Speed, crank rpm.
    pub speed_crank_rpm: f64,
    /// Depression, kPa.
    pub depression_kpa: f64,
    /// From which side the speed was reached.
    pub direction: Direction,
    /// Vacuum advance that the model gives here, crank degrees.
    pub vacuum_advance: f64,
}

impl Conditions {
    /// Speed and depression, whatever the direction.
    pub fn place(&self) -> (u64, u64) {
        (self.speed_crank_rpm.to_bits(), self.depression_kpa.to_bits())
    }
}

impl Setting {
    /// What the chosen centrifugal curve gives at a speed, crank degrees.
    pub fn centrifugal_at(&self, crank_rpm: f64) -> f64 {
        along(&self.centrifugal, crank_rpm)
    }

    /// What the chosen vacuum curve gives at a depression, crank degrees.
    pub fn vacuum_at(&self, depression_kpa: f64) -> f64 {
        along(&self.vacuum, depression_kpa)
    }

    /// The systematic bound at a test point.
    pub fn bound(&self, conditions: &Conditions) -> Bound {
        let speed = conditions.speed_crank_rpm;
        Bound {
            core_crank_degrees: CORE_BOUND,
            tick_bench_crank_degrees: 6.0 * speed * self.tick_bench_s / 2.0,
            tick_ignition_crank_degrees: 6.0 * speed * self.tick_ignition_s / 2.0,
            clocks_crank_degrees: self.clock_slope(conditions).abs() * self.clock_tolerance,
            vacuum_step_crank_degrees: self.vacuum_slope(conditions).abs() * self.vacuum_step_kpa / 2.0,
        }
    }

    /// Slope of the centrifugal curve times speed, crank degrees: what a clock wrong by its whole self would cost.
    pub fn clock_slope(&self, conditions: &Conditions) -> f64 {
        let speed = conditions.speed_crank_rpm;
        steepest(&self.centrifugal, speed, speed * self.clock_tolerance) * speed
    }

    /// Slope of the vacuum curve, crank degrees a kPa; 0 where vacuum is not let through.
    pub fn vacuum_slope(&self, conditions: &Conditions) -> f64 {
        if self.throttle_keeps_vacuum_away(conditions) {
            0.0
        } else {
            steepest(&self.vacuum, conditions.depression_kpa, self.vacuum_step_kpa / 2.0)
        }
    }

    /// A closed throttle keeps ported vacuum away from the sensor, whatever the curve would give.
    pub fn throttle_keeps_vacuum_away(&self, conditions: &Conditions) -> bool {
        conditions.vacuum_advance <= 0.0 && conditions.depression_kpa > self.vacuum_start_kpa()
    }

    fn vacuum_start_kpa(&self) -> f64 {
        self.vacuum.first().map_or(f64::INFINITY, |breakpoint| breakpoint[0])
    }

    /// Greatest vacuum advance of the curve, crank degrees.
    pub fn greatest_vacuum_advance(&self) -> f64 {
        self.vacuum.iter().map(|breakpoint| breakpoint[1]).fold(0.0, f64::max)
    }

    /// Whether a speed lies inside the ramps: strictly between the first and the last centrifugal breakpoint.
    pub fn inside_ramps(&self, speed_crank_rpm: f64) -> bool {
        match (self.centrifugal.first(), self.centrifugal.last()) {
            (Some(first), Some(last)) => speed_crank_rpm > first[0] && speed_crank_rpm < last[0],
            _ => false,
        }
    }

    /// What departs from what, where it starts to matter, crank degrees: a quarter of the tolerance.
    pub fn matters(&self) -> f64 {
        self.tolerance / 4.0
    }
}

/// A piecewise linear curve with flat ends; 0 without breakpoints.
fn along(curve: &[[f64; 2]], x: f64) -> f64 {
    let after = curve.partition_point(|breakpoint| breakpoint[0] <= x);
    match (after.checked_sub(1).and_then(|before| curve.get(before)), curve.get(after)) {
        (Some(before), Some(after)) => before[1] + (after[1] - before[1]) * (x - before[0]) / (after[0] - before[0]),
        (Some(end), None) | (None, Some(end)) => end[1],
        (None, None) => 0.0,
    }
}

/// The steepest slope that a piecewise linear curve with flat ends has within `reach` of `x`, both ends included.
fn steepest(curve: &[[f64; 2]], x: f64, reach: f64) -> f64 {
    curve
        .windows(2)
        .filter(|ramp| ramp[0][0] <= x + reach && x - reach <= ramp[1][0])
        .map(|ramp| (ramp[1][1] - ramp[0][1]) / (ramp[1][0] - ramp[0][0]))
        .fold(0.0, |steepest: f64, slope| if slope.abs() > steepest.abs() { slope } else { steepest })
}

#[cfg(test)]
mod tests {
    use super::*;

    pub(crate) fn setting() -> Setting {
        Setting {
            pulses_in_two_turns: 4,
            delay_at_no_advance: 52.0,
            flank_distance: Some([-52.0; 2]),
            centrifugal: vec![[1000.0, 0.0], [2000.0, 10.0]],
            vacuum: vec![[17.0, 0.0], [41.0, 10.0]],
            tick_bench_s: 0.5e-6,
            tick_ignition_s: 4e-6,
            clock_tolerance: 0.005,
            vacuum_step_kpa: 0.48,
            tolerance: 0.5,
            tolerance_ramp: 2.0,
        }
    }

    fn at(speed_crank_rpm: f64, depression_kpa: f64, vacuum_advance: f64) -> Conditions {
        Conditions { speed_crank_rpm, depression_kpa, direction: Direction::Rising, vacuum_advance }
    }

    #[test]
    fn the_bound_adds_core_ticks_clocks_and_vacuum_step() {
        let bound = setting().bound(&at(1500.0, 29.0, 5.0));
        // 6 N t: half of 0.5 us and of 4 us at 1 500 crank rpm; 0.01 degrees/rpm * 1 500 * 0.5 %; 10/24 * 0.24.
        assert!((bound.tick_bench_crank_degrees - 0.002_25).abs() < 1e-12);
        assert!((bound.tick_ignition_crank_degrees - 0.018).abs() < 1e-12);
        assert!((bound.clocks_crank_degrees - 0.075).abs() < 1e-12);
        assert!((bound.vacuum_step_crank_degrees - 0.1).abs() < 1e-12);
        assert!((bound.total() - (0.02 + 0.002_25 + 0.018 + 0.075 + 0.1)).abs() < 1e-12);
    }

    #[test]
    fn a_slope_counts_on_the_flat_as_far_as_the_clock_may_reach_it() {
        assert!(setting().bound(&at(996.0, 0.0, 0.0)).clocks_crank_degrees > 0.04);
        assert!(setting().bound(&at(990.0, 0.0, 0.0)).clocks_crank_degrees == 0.0);
    }

    #[test]
    fn a_closed_throttle_leaves_no_slope_of_vacuum() {
        assert!(setting().bound(&at(650.0, 29.0, 0.0)).vacuum_step_crank_degrees == 0.0);
    }
}
