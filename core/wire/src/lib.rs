#![no_std]
#![forbid(unsafe_code)]
#![doc = include_str!("../README.md")]

mod bytes;
mod checksum;
mod codec;
mod decoder;
mod event;
mod frame;
mod greeting;
mod ignition;
mod message;
mod quantity;
mod refusal;

pub use codec::Message;
pub use decoder::{Decoder, DecoderOf, RequestDecoder};
pub use event::{Batch, Event, EventKind, LARGEST_BATCH};
pub use frame::{Frame, FrameFault, LARGEST_FRAME, LARGEST_REQUEST};
pub use greeting::{Abilities, FirmwareVersion, Greeting, Role};
pub use ignition::{
    FromIgnition, IgnitionAnswer, IgnitionMessage, IgnitionRefusal, IgnitionReply, IgnitionRequest, LARGEST_PIECE,
    Piece, Standing, StoredImage,
};
pub use message::{
    Answer, BoardMessage, CrankPattern, Disturbance, FromBoard, Halt, HostMessage, Intake, PickupPattern, Ramp, Reply,
    Request, RunLength, TimingEdge, Upset,
};
pub use quantity::{Acceleration, CrankAngle, CrankSpeed, Depression, SpeedRatio};
pub use refusal::Refusal;

/// Protocol version of this crate: the first byte of every frame.
///
/// Any change of a byte that a released version sends makes a new version.
pub const PROTOCOL: u8 = 1;
