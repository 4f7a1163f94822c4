//! Plain numbers to the core's quantities and back, each rounded to the nearest step and kept to the quantity's range.

use bobweight::quantity::{Advance, AdvanceRate, CrankAngle, CrankSpeed, Depression, Duration, OutOfRange, Voltage};

/// Crank degrees a second of a rate.
pub fn degrees_a_second(rate: AdvanceRate) -> f64 {
    f64::from(rate.bits()) / f64::from(AdvanceRate::STEP)
}

/// Crank degrees of an advance.
pub fn crank_degrees(advance: Advance) -> f64 {
    f64::from(advance.bits()) / f64::from(Advance::STEP)
}

/// Crank degrees of an angle.
pub fn angle_degrees(angle: CrankAngle) -> f64 {
    f64::from(angle.bits()) / f64::from(CrankAngle::STEP)
}

/// Crank rpm of a speed.
pub fn rpm_of(speed: CrankSpeed) -> f64 {
    f64::from(speed.bits()) / f64::from(CrankSpeed::STEP)
}

/// kPa of a depression.
pub fn kpa_of(depression: Depression) -> f64 {
    f64::from(depression.bits()) / f64::from(Depression::STEP)
}

/// Seconds of a length of time.
pub fn seconds(time: Duration) -> f64 {
    f64::from(time.bits()) * 1e-9
}

/// A speed in crank rpm.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "the cast saturates, and so does the quantity"
)]
pub fn speed(crank_rpm: f64) -> CrankSpeed {
    CrankSpeed::saturating_from_bits((crank_rpm * f64::from(CrankSpeed::STEP)).round() as u32)
}

/// A depression in kPa.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "the cast saturates, and so does the quantity"
)]
pub fn depression(kpa: f64) -> Depression {
    Depression::saturating_from_bits((kpa * f64::from(Depression::STEP)).round() as u32)
}

/// An advance of this many crank degrees.
///
/// # Errors
/// Outside -30 to 90 crank degrees.
#[expect(clippy::cast_possible_truncation, reason = "the cast saturates, and the ends are out of range")]
pub fn advance(crank_degrees: f64) -> Result<Advance, OutOfRange> {
    Advance::from_bits((crank_degrees * f64::from(Advance::STEP)).round() as i32)
}

/// A voltage in volts.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "the cast saturates, and so does the quantity"
)]
pub fn voltage(volts: f64) -> Voltage {
    Voltage::saturating_from_bits((volts * f64::from(Voltage::STEP)).round() as u16)
}
