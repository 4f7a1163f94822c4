//! Quantities as they cross the wire: whole numbers in a stated unit.

use serde::{Deserialize, Serialize};

/// A crank angle in 1/256 crank degree. As a position it counts before top dead centre (BTDC).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default, Serialize, Deserialize)]
pub struct CrankAngle(pub i32);

impl CrankAngle {
    /// Steps in one crank degree.
    pub const PER_DEGREE: i32 = 256;
    /// Two crank turns, one cycle of a four-stroke engine.
    pub const TWO_TURNS: Self = Self(720 * Self::PER_DEGREE);
    /// Two flanks of one pickup lie at least this far apart: one crank degree.
    pub const LEAST_BETWEEN_FLANKS: Self = Self(Self::PER_DEGREE);
}

/// A crank speed in 1/256 crank rpm.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default, Serialize, Deserialize)]
pub struct CrankSpeed(pub u32);

impl CrankSpeed {
    /// Steps in one crank rpm.
    pub const PER_RPM: u32 = 256;
    /// The slowest speed that turns at all: 20 crank rpm.
    pub const LEAST: Self = Self(20 * Self::PER_RPM);
    /// The greatest speed: 20 000 crank rpm.
    pub const GREATEST: Self = Self(20_000 * Self::PER_RPM);
    /// The greatest mean speed of cranking: 2 000 crank rpm.
    pub const GREATEST_CRANKING: Self = Self(2_000 * Self::PER_RPM);
}

/// A change of crank speed in 1/256 crank rpm per second; the direction follows from where it leads.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default, Serialize, Deserialize)]
pub struct Acceleration(pub u32);

impl Acceleration {
    /// Steps in one crank rpm per second.
    pub const PER_RPM_PER_SECOND: u32 = 256;
    /// The least: 1 crank rpm per second.
    pub const LEAST: Self = Self(Self::PER_RPM_PER_SECOND);
    /// The greatest: 60 000 crank rpm per second.
    pub const GREATEST: Self = Self(60_000 * Self::PER_RPM_PER_SECOND);
}

/// Greatest over least speed within one pulse, in 1/256: 256 is even turning, 768 a swing of 3 to 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct SpeedRatio(pub u16);

impl SpeedRatio {
    /// Steps in a ratio of one.
    pub const PER_ONE: u16 = 256;
    /// Even turning.
    pub const EVEN: Self = Self(Self::PER_ONE);
    /// The greatest swing: 8 to 1.
    pub const GREATEST: Self = Self(8 * Self::PER_ONE);
}

/// Manifold depression below the atmosphere in 1/256 kPa.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default, Serialize, Deserialize)]
pub struct Depression(pub u16);

impl Depression {
    /// Steps in one kPa.
    pub const PER_KPA: u16 = 256;
    /// The greatest: 110 kPa.
    pub const GREATEST: Self = Self(110 * Self::PER_KPA);
}
