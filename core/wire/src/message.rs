//! Messages from the host to a board and back.

use serde::{Deserialize, Serialize};

use crate::{Acceleration, Batch, CrankAngle, CrankSpeed, Depression, FrameFault, Greeting, Refusal, SpeedRatio};

/// What a host sends: a message under a number that its reply repeats.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Request {
    /// Counts the host's messages, wrapping.
    pub sequence: u8,
    /// The message.
    pub message: HostMessage,
}

/// A message to a board.
///
/// A change of motion takes effect at the next timing flank that is not yet on its way to the output, and an event
/// [`Begun`](crate::EventKind::Begun) names that flank. One such message may wait at a time.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum HostMessage {
    /// Asks for the greeting.
    Identify,
    /// Says that the host is there. Every other message says so as well.
    KeepAlive,
    /// Stops the crank at once and puts every output to rest.
    Stop,
    /// Sets the pickup. Only while the crank stands still.
    Pattern(PickupPattern),
    /// Turns at a steady speed.
    Speed(CrankSpeed),
    /// Turns at a speed that changes evenly in time.
    Ramp(Ramp),
    /// Turns as a starter does, with a speed that swings within each pulse.
    Crank(CrankPattern),
    /// Counts sparks or whole cycles and reports when they are reached; the crank turns on.
    Run(RunLength),
    /// Upsets one pulse.
    Upset(Upset),
    /// Lets a cranking engine stop, and perhaps kick back.
    Halt(Halt),
    /// Sets the depression and the throttle.
    Intake(Intake),
}

/// An engine's pickup: evenly spaced pulses.
///
/// A pulse is one pair of flanks. Its top dead centre lies `timing` after its timing flank.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct PickupPattern {
    /// Pulses in two crank turns, 1 to 12.
    pub pulses_in_two_turns: u8,
    /// Where the timing flank lies, BTDC: -360 to 720 crank degrees.
    pub timing: CrankAngle,
    /// Where the second flank lies, BTDC, same range; taken to the next such place after the timing flank, at least one crank
    /// degree from either. Without one the pickup returns half a pulse after its timing flank, and that is no event.
    pub second: Option<CrankAngle>,
    /// Sense of the timing flank at the pickup's wire.
    pub timing_edge: TimingEdge,
}

/// Sense of a flank at the pickup's wire.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum TimingEdge {
    /// From low to high.
    Rising,
    /// From high to low.
    Falling,
}

/// A change of speed at a constant rate in time.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Ramp {
    /// The exact speed at the flank at which the ramp begins.
    pub from: CrankSpeed,
    /// The speed at which it ends and which is then kept.
    pub to: CrankSpeed,
    /// How fast the speed changes, in either direction.
    pub rate: Acceleration,
}

/// Cranking: the speed is least at each pulse's top dead centre and greatest halfway between two of them. In between it changes
/// at a constant rate in time, so `mean` is the mean of the least and the greatest speed as well as the mean over a pulse.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct CrankPattern {
    /// Mean speed, 20 to 2 000 crank rpm.
    pub mean: CrankSpeed,
    /// Greatest over least speed.
    pub ratio: SpeedRatio,
}

/// When a run is over.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum RunLength {
    /// After so many sparks from now on, 1 or more.
    Sparks(u32),
    /// After so many cycles of two crank turns, 1 or more, counted from the timing flank named by `Begun`.
    Cycles(u32),
}

/// An upset of one pulse.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Upset {
    /// How many timing flanks come before it, beginning with the next one that is not yet on its way.
    pub after_pulses: u16,
    /// What is done to the pulse.
    pub disturbance: Disturbance,
}

/// What is done to one pulse.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Disturbance {
    /// Neither of its flanks appears.
    Lose,
    /// The wire changes its level one crank degree long, so far after the nominal timing flank. Both ends must lie clear of the pulse's flanks.
    Add(CrankAngle),
    /// Both of its flanks come this much early (positive) or late (negative). Both must stay clear of their neighbours.
    Shift(CrankAngle),
}

/// The end of cranking: from a timing flank on the crank slows down at a constant rate in time.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Halt {
    /// How far after the timing flank the crank comes to rest: 1 crank degree to one pulse.
    pub after: CrankAngle,
    /// How far it then goes back, at the same acceleration, until it stands: 0 to one pulse.
    pub back: CrankAngle,
}

/// What the carburettor's side of the engine tells the ignition.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Intake {
    /// Manifold depression.
    pub depression: Depression,
    /// Whether the throttle is closed.
    pub throttle_closed: bool,
}

impl Intake {
    /// Atmosphere in the manifold, throttle closed.
    pub const AT_REST: Self = Self { depression: Depression(0), throttle_closed: true };
}

/// What a board sends.
// A batch is the whole of what most frames carry; a box would need an allocator.
#[allow(clippy::large_enum_variant)]
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub enum BoardMessage {
    /// The reply to one message.
    Reply(Reply),
    /// Events.
    Events(Batch),
    /// A frame arrived that could not be read, so its number is unknown.
    Unreadable(FrameFault),
}

/// A [`BoardMessage`] whose parts lie elsewhere: what a board sends, which has no room for them twice.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FromBoard<'a> {
    /// The reply to one message.
    Reply(&'a Reply),
    /// Events.
    Events(&'a Batch),
    /// A frame arrived that could not be read.
    Unreadable(FrameFault),
}

impl BoardMessage {
    /// The same message, where it lies.
    pub fn lent(&self) -> FromBoard<'_> {
        match self {
            Self::Reply(reply) => FromBoard::Reply(reply),
            Self::Events(batch) => FromBoard::Events(batch),
            Self::Unreadable(fault) => FromBoard::Unreadable(*fault),
        }
    }
}

/// The reply to one message.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Reply {
    /// The number of the message replied to.
    pub sequence: u8,
    /// The answer.
    pub answer: Answer,
}

/// An answer to a message.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Answer {
    /// Accepted.
    Accepted,
    /// Not done, for this reason. A stimulator stops and puts its outputs to rest, as at [`HostMessage::Stop`].
    Refused(Refusal),
    /// The greeting.
    Greeting(Greeting),
}
