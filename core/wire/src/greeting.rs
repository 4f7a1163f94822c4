//! Who a board is and what it can do.

use serde::{Deserialize, Serialize};

/// A board's answer to [`HostMessage::Identify`](crate::HostMessage::Identify).
///
/// The protocol version is the first byte of the frame that carries it, as of every frame.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Greeting {
    /// Version of the firmware.
    pub firmware: FirmwareVersion,
    /// Ticks in a second by the board's own clock: 1 000 to 200 000 000.
    pub tick_rate_hz: u32,
    /// How far that clock may be out either way, in parts per million.
    pub clock_tolerance_ppm: u32,
    /// What the board is.
    pub role: Role,
}

/// Version of a board's firmware, by semantic versioning.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct FirmwareVersion {
    /// Changes with every incompatible change.
    pub major: u8,
    /// Changes with every addition.
    pub minor: u8,
    /// Changes with every repair.
    pub patch: u8,
}

/// What a board is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Role {
    /// Turns an engine's pickup by wire and watches the coil.
    Stimulator(Abilities),
    /// An ignition.
    Ignition,
}

/// What a stimulator can do.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Abilities {
    /// Shortest time between two flanks that it can make, in ticks. Patterns and speeds that ask for less are refused.
    pub shortest_interval: u32,
    /// Shortest time of a whole pulse at a steady speed, in ticks: likewise.
    pub shortest_pulse: u32,
    /// Likewise at the greatest speed of a ramp, whose flanks take longer to work out.
    pub shortest_pulse_in_ramp: u32,
    /// Likewise at the mean speed of cranking.
    pub shortest_pulse_cranking: u32,
    /// Step of its depression output in 1/256 kPa; 0 where it has no such output.
    pub depression_step: u16,
    /// Whether it has an output that says "throttle closed".
    pub throttle: bool,
}
