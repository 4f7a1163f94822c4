//! The bench plan: which speeds, depressions and disturbances an ignition is driven through, and in which order.
//!
//! Settled test points come first because everything else is read against them: speeds up, then down, at no, middle and
//! full depression. Cranking, ramps and disturbed pulses follow.

use crate::quantity::of_core::speed;
use crate::record::bench::Direction;
use bobweight::throttle_counts_as_closed;

/// The plan has at least this many speeds; more only where the curve has more than six breakpoints in reach.
pub const SPEEDS: usize = 13;
/// Cranking is driven at this mean speed, in crank rpm.
pub const CRANKING_SPEED_CRANK_RPM: f64 = 200.0;
/// Greatest over least speed within a pulse while an engine cranks over its compressions.
pub const CRANKING_SWING: f64 = 3.0;
/// Pulses are lost and added while cranking, at idle and at this speed, in crank rpm, or at the greatest speed where that is lower.
pub const DISTURBED_SPEED_CRANK_RPM: f64 = 2000.0;
/// Ramps run at this share of the sheet's greatest acceleration.
pub const RAMP_SHARE: f64 = 1.0 / 3.0;
/// Speeds nearer than this, in crank rpm, are one speed.
const SAME_SPEED_CRANK_RPM: f64 = 1.0;

/// Where the vacuum unit takes its depression.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum VacuumSource {
    /// Below the throttle plate: present at idle.
    Manifold,
    /// Above the closed throttle plate: nothing at idle.
    Ported,
    /// The engine has no vacuum unit.
    None,
}

/// What the plan is made from.
#[derive(Debug, Clone, PartialEq)]
pub struct PlanInput {
    /// Idle speed, crank rpm, greater than 0.
    pub idle_crank_rpm: f64,
    /// Greatest speed of the engine, crank rpm, above idle.
    pub greatest_speed_crank_rpm: f64,
    /// Speeds of the centrifugal breakpoints, crank rpm, strictly rising.
    pub centrifugal_crank_rpm: Vec<f64>,
    /// Where vacuum advance comes from.
    pub vacuum: VacuumSource,
    /// Depressions of the vacuum breakpoints, kPa, strictly rising; not looked at without a vacuum unit.
    pub vacuum_kpa: Vec<f64>,
    /// Greatest acceleration of the sheet, crank rpm per second, greater than 0.
    pub greatest_acceleration_crank_rpm_per_s: f64,
}

/// One settled test point: steady speed and depression.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TestPoint {
    /// Steady speed, crank rpm.
    pub speed_crank_rpm: f64,
    /// Depression, kPa below the atmosphere.
    pub depression_kpa: f64,
    /// From which side the speed was reached.
    pub direction: Direction,
    /// Whether the throttle is closed, by the core's rule for a speed alone.
    pub throttle_closed: bool,
}

/// One thing to drive.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Step {
    /// Steady speed and depression.
    Settled(TestPoint),
    /// Cranking: `swing` is greatest over least speed within each pulse, 1 for a steady speed.
    Cranking {
        /// Mean speed, crank rpm.
        speed_crank_rpm: f64,
        /// Greatest over least speed within a pulse.
        swing: f64,
    },
    /// Constant acceleration in time from one speed to the other, at no depression.
    Ramp {
        /// Speed at its start, crank rpm.
        from_crank_rpm: f64,
        /// Speed at its end, crank rpm.
        to_crank_rpm: f64,
        /// Size of the acceleration, crank rpm per second, positive both ways.
        acceleration_crank_rpm_per_s: f64,
    },
    /// One pulse left out at steady speed.
    LostPulse {
        /// Steady speed, crank rpm.
        speed_crank_rpm: f64,
    },
    /// One pulse too many at steady speed.
    FalsePulse {
        /// Steady speed, crank rpm.
        speed_crank_rpm: f64,
    },
}

impl Step {
    /// The settled test point that it is.
    pub fn settled(&self) -> Option<&TestPoint> {
        if let Self::Settled(point) = self { Some(point) } else { None }
    }

    /// Whether it loses or adds a pulse at a speed of at least this, crank rpm.
    pub fn upsets_at_least(&self, crank_rpm: f64) -> bool {
        matches!(self, Self::LostPulse { speed_crank_rpm } | Self::FalsePulse { speed_crank_rpm } if *speed_crank_rpm >= crank_rpm)
    }
}

/// Why no plan can be made.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum PlanError {
    /// A speed is not a positive number, or the greatest is not above idle.
    #[error(
        "idle is {idle} crank rpm and greatest_speed {greatest} crank rpm: greatest_speed must be above idle, and idle above 0"
    )]
    Speeds {
        /// Idle, crank rpm.
        idle: f64,
        /// Greatest speed, crank rpm.
        greatest: f64,
    },
    /// Breakpoints that do not rise, or are not numbers.
    #[error("breakpoint {index} of the {curve} curve, at {value}, does not lie above the one before it")]
    NotRising {
        /// `centrifugal` or `vacuum`.
        curve: &'static str,
        /// Which breakpoint, from 1.
        index: usize,
        /// Its speed in crank rpm or depression in kPa.
        value: f64,
    },
    /// A vacuum unit without breakpoints.
    #[error(
        "the vacuum curve has {0} breakpoints and needs at least 2; an engine without a vacuum unit says source = \"none\""
    )]
    VacuumBreakpoints(usize),
    /// An acceleration that is not above 0.
    #[error("greatest_acceleration is {0} crank rpm per s and must be above 0")]
    Acceleration(f64),
}

/// The whole plan, in the order in which it is driven.
///
/// With a vacuum unit and up to six breakpoints in reach there are 13 speeds, up and down, at three depressions: 78
/// settled test points. Without a vacuum unit there is one depression, 26 test points. More breakpoints give more speeds.
pub fn plan(input: &PlanInput) -> Result<Vec<Step>, PlanError> {
    check(input)?;
    let speeds = speeds(input);
    let mut steps = vec![
        Step::Cranking { speed_crank_rpm: CRANKING_SPEED_CRANK_RPM, swing: 1.0 },
        Step::Cranking { speed_crank_rpm: CRANKING_SPEED_CRANK_RPM, swing: CRANKING_SWING },
    ];
    for depression_kpa in depressions(input) {
        let up = speeds.iter().map(|&speed| (speed, Direction::Rising));
        let down = speeds.iter().rev().map(|&speed| (speed, Direction::Falling));
        steps.extend(up.chain(down).map(|(speed_crank_rpm, direction)| {
            Step::Settled(TestPoint {
                speed_crank_rpm,
                depression_kpa,
                direction,
                throttle_closed: throttle_counts_as_closed(speed(speed_crank_rpm), speed(input.idle_crank_rpm)),
            })
        }));
    }
    let (idle, top) = (input.idle_crank_rpm, input.greatest_speed_crank_rpm);
    let acceleration_crank_rpm_per_s = input.greatest_acceleration_crank_rpm_per_s * RAMP_SHARE;
    steps.push(Step::Ramp { from_crank_rpm: idle, to_crank_rpm: top, acceleration_crank_rpm_per_s });
    steps.push(Step::Ramp { from_crank_rpm: top, to_crank_rpm: idle, acceleration_crank_rpm_per_s });
    // Slow engines are the ones that a false pulse moves: at 2 000 crank rpm one of four pulses is immune.
    for speed_crank_rpm in [DISTURBED_SPEED_CRANK_RPM.min(top), idle, CRANKING_SPEED_CRANK_RPM] {
        steps.push(Step::LostPulse { speed_crank_rpm });
        steps.push(Step::FalsePulse { speed_crank_rpm });
    }
    Ok(steps)
}

fn check(input: &PlanInput) -> Result<(), PlanError> {
    let (idle, greatest) = (input.idle_crank_rpm, input.greatest_speed_crank_rpm);
    if !(idle > 0.0 && greatest > idle && greatest.is_finite()) {
        return Err(PlanError::Speeds { idle, greatest });
    }
    let acceleration = input.greatest_acceleration_crank_rpm_per_s;
    if !(acceleration > 0.0 && acceleration.is_finite()) {
        return Err(PlanError::Acceleration(acceleration));
    }
    rising("centrifugal", &input.centrifugal_crank_rpm)?;
    if input.vacuum == VacuumSource::None {
        return Ok(());
    }
    if input.vacuum_kpa.len() < 2 {
        return Err(PlanError::VacuumBreakpoints(input.vacuum_kpa.len()));
    }
    rising("vacuum", &input.vacuum_kpa)
}

fn rising(curve: &'static str, values: &[f64]) -> Result<(), PlanError> {
    let mut last = f64::NEG_INFINITY;
    for (index, &value) in values.iter().enumerate() {
        if !(value.is_finite() && value > last) {
            return Err(PlanError::NotRising { curve, index: index + 1, value });
        }
        last = value;
    }
    Ok(())
}

/// The speeds of the settled test points, crank rpm, rising.
///
/// Idle, every breakpoint that the engine reaches, the middle of each ramp (of the part above idle and below the
/// greatest speed) and the greatest speed always are among them. What is left of 13 divides the widest gaps into equal
/// parts. With b breakpoints in reach the first group has at most 2 b + 3 speeds, so 13 are enough up to five; beyond
/// that none is dropped and the plan grows.
pub fn speeds(input: &PlanInput) -> Vec<f64> {
    let (idle, top) = (input.idle_crank_rpm, input.greatest_speed_crank_rpm);
    let mut named = vec![idle, top];
    named.extend(input.centrifugal_crank_rpm.iter().filter(|&&speed| speed > idle && speed < top));
    for ramp in input.centrifugal_crank_rpm.windows(2) {
        let (from, to) = (ramp[0].max(idle), ramp[1].min(top));
        if from < to {
            named.push(f64::midpoint(from, to));
        }
    }
    named.sort_by(f64::total_cmp);
    named.dedup_by(|later, earlier| *later - *earlier < SAME_SPEED_CRANK_RPM);
    if let Some(last) = named.last_mut() {
        // A breakpoint just below the greatest speed may have taken its place.
        *last = top;
    }
    let mut parts = vec![1_usize; named.len() - 1];
    #[expect(clippy::cast_precision_loss, reason = "a handful of parts")]
    let width = |gap: usize, parts: &[usize]| (named[gap + 1] - named[gap]) / parts[gap] as f64;
    for _ in named.len()..SPEEDS {
        let widest = (0..parts.len()).max_by(|&a, &b| width(a, &parts).total_cmp(&width(b, &parts)).then(b.cmp(&a)));
        if let Some(gap) = widest {
            parts[gap] += 1;
        }
    }
    let mut speeds = Vec::new();
    for (gap, &count) in parts.iter().enumerate() {
        #[expect(clippy::cast_precision_loss, reason = "a handful of parts")]
        speeds.extend((0..count).map(|part| named[gap] + part as f64 * width(gap, &parts)));
    }
    speeds.push(top);
    speeds
}

/// The depressions of the settled test points, kPa: none, halfway between the first and the last breakpoint, the last.
pub fn depressions(input: &PlanInput) -> Vec<f64> {
    match (input.vacuum, input.vacuum_kpa.first(), input.vacuum_kpa.last()) {
        (VacuumSource::None, ..) => vec![0.0],
        (_, Some(&first), Some(&last)) => vec![0.0, f64::midpoint(first, last), last],
        _ => vec![0.0],
    }
}

#[cfg(test)]
mod tests;
