//! Messages to an ignition and back: how it stands, the image that it keeps, and a new one.
//!
//! A set of its own, so that an ignition's firmware has no code for what only a stimulator does. The first message and the
//! answer to it are those of every board: a host learns from either which it has in front of it.

use crate::{FrameFault, Greeting};
use core::fmt;

/// Most bytes of an image in one message.
pub const LARGEST_PIECE: usize = 16;

/// What a host sends to an ignition: a message under a number that its reply repeats.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct IgnitionRequest {
    /// Counts the host's messages, wrapping.
    pub sequence: u8,
    /// The message.
    pub message: IgnitionMessage,
}

/// A message to an ignition. Every number that a stimulator's message has is left to it, but for Identify.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum IgnitionMessage {
    /// Asks for the greeting.
    Identify,
    /// Asks how the ignition stands.
    Stand,
    /// Asks for a piece of the image in use, from this place on.
    Read(u16),
    /// Gives a piece of a new image, which goes into the slot that is not in use. Only while the engine stands.
    Write(Piece),
    /// Makes the new image the one in use from the next key-on. Only while the engine stands.
    Commit,
}

/// Some bytes of an image.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Piece {
    /// The place of the first in the image.
    pub at: u16,
    /// How many there are, 0 to 16.
    pub length: u8,
    /// The bytes; what lies behind the last is 0 and is not sent.
    pub bytes: [u8; LARGEST_PIECE],
}

impl Piece {
    /// The first bytes of a slice, as many as fit, as the piece at this place.
    pub fn of(at: u16, from: &[u8]) -> Self {
        let mut piece = Self { at, length: 0, bytes: [0; LARGEST_PIECE] };
        for (place, &byte) in piece.bytes.iter_mut().zip(from) {
            *place = byte;
            piece.length = piece.length.saturating_add(1);
        }
        piece
    }

    /// The bytes.
    pub fn as_slice(&self) -> &[u8] {
        self.bytes.get(..usize::from(self.length)).unwrap_or(&self.bytes)
    }
}

/// What an ignition sends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FromIgnition {
    /// The reply to one message.
    Reply(IgnitionReply),
    /// A frame arrived that could not be read, so its number is unknown.
    Unreadable(FrameFault),
}

/// The reply to one message.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct IgnitionReply {
    /// The number of the message replied to.
    pub sequence: u8,
    /// The answer.
    pub answer: IgnitionAnswer,
}

/// An answer to a message.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum IgnitionAnswer {
    /// Done.
    Accepted,
    /// Not done, for this reason. The image in use is still the one that was.
    Refused(IgnitionRefusal),
    /// The greeting.
    Greeting(Greeting),
    /// How it stands.
    Standing(Standing),
    /// A piece of the image in use; none of its bytes beyond its end.
    Piece(Piece),
}

/// How an ignition stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Standing {
    /// Whether the engine turns, or has turned in the last second.
    pub turns: bool,
    /// The newest version of an image that this firmware reads.
    pub newest_version: u8,
    /// The image that the next key-on takes; none in a store that holds none.
    pub stored: Option<StoredImage>,
    /// Checksum of the image by which it works since key-on; none where there was none then.
    pub works_by: Option<u32>,
}

/// An image in a store.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct StoredImage {
    /// Bytes of it.
    pub length: u16,
    /// The checksum at its end.
    pub checksum: u32,
    /// How many images were written before it, wrapping.
    pub generation: u16,
}

/// Why an ignition did not do what a message asked. Displayed in the host's terms: what is wrong and what to do.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum IgnitionRefusal {
    /// The engine turns.
    Turns,
    /// Its store does not keep what is written to it.
    NotKept,
    /// A piece lies outside the room for an image.
    Outside,
    /// What was written is no whole image.
    NoImage,
    /// What was written is of a version that this firmware does not read.
    Version,
    /// What was written makes no curve, pickup, dwell or sensor, or sparks that this board cannot time.
    Settings,
    /// There is no image to read.
    NothingStored,
}

impl IgnitionRefusal {
    /// The reason in words.
    pub const fn text(self) -> &'static str {
        match self {
            Self::Turns => "the engine turns: stop it, and write again; the old curve is in use still",
            Self::NotKept => "its memory does not keep what is written: it is worn, and the board needs another chip",
            Self::Outside => {
                "the image is longer than its memory; update the program and the firmware to fit each other"
            }
            Self::NoImage => "what arrived is no whole image: look for a loose plug, and write again",
            Self::Version => "its firmware does not read images of this version: update the firmware",
            Self::Settings => {
                "its firmware cannot work by these settings: compare tick and latency in the sheet with the board's own"
            }
            Self::NothingStored => "it holds no curve: write one first",
        }
    }
}

impl fmt::Display for IgnitionRefusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.text())
    }
}

impl core::error::Error for IgnitionRefusal {}
