//! From a message to the bytes of a frame.

use core::fmt;

use serde::{Deserialize, Serialize};

use crate::bytes::Writer;
use crate::checksum::{CHECKSUM, checksum};
use crate::codec::Message;
use crate::{FromBoard, PROTOCOL};

/// Most bytes in a frame, its closing zero included.
pub const LARGEST_FRAME: usize = 128;

/// Most bytes in a frame to a board, its closing zero included.
pub const LARGEST_REQUEST: usize = 32;

/// One place beyond the overhead byte, and the closing zero, are not the message's.
const BODY: usize = LARGEST_FRAME - 2;

/// The bytes of one frame, ready to send.
#[derive(Debug, Clone)]
pub struct Frame {
    bytes: [u8; LARGEST_FRAME],
    length: usize,
}

impl Default for Frame {
    fn default() -> Self {
        Self::new()
    }
}

impl Frame {
    /// An empty frame: no bytes.
    pub const fn new() -> Self {
        Self { bytes: [0; LARGEST_FRAME], length: 0 }
    }

    /// Puts a message into a frame.
    ///
    /// `Err` if it does not fit, which no [`Request`](crate::Request) and no [`BoardMessage`](crate::BoardMessage) ever is.
    pub fn of<M: Message>(message: &M) -> Result<Self, FrameFault> {
        let mut frame = Self::new();
        frame.fill(|to| message.write(to))?;
        Ok(frame)
    }

    /// Puts a board's message into this frame, in the place of what it held; errors as those of [`of`](Self::of), and then the
    /// frame is empty.
    pub fn put(&mut self, message: &FromBoard<'_>) -> Result<(), FrameFault> {
        self.fill(|to| message.write(to))
    }

    fn fill(&mut self, message: impl FnOnce(&mut Writer<'_>)) -> Result<(), FrameFault> {
        self.length = 0;
        let (_, body) = self.bytes.split_first_mut().ok_or(FrameFault::Length)?;
        let (version, rest) = body.split_first_mut().ok_or(FrameFault::Length)?;
        *version = PROTOCOL;
        let mut writer = Writer::new(rest);
        message(&mut writer);
        let message_length = writer.length().ok_or(FrameFault::Length)?;
        self.close(message_length + 1)
    }

    /// Checksum, stuffing and the closing zero behind a body that stands after the overhead byte.
    #[inline(never)]
    fn close(&mut self, checked: usize) -> Result<(), FrameFault> {
        let (_, body) = self.bytes.split_first_mut().ok_or(FrameFault::Length)?;
        let sum = checksum(body.get(..checked).ok_or(FrameFault::Length)?);
        let length = checked + CHECKSUM;
        if length > BODY {
            return Err(FrameFault::Length);
        }
        let place = body.get_mut(checked..length).ok_or(FrameFault::Length)?;
        for (byte, value) in place.iter_mut().zip(sum.to_le_bytes()) {
            *byte = value;
        }
        stuff(self.bytes.get_mut(..=length).ok_or(FrameFault::Length)?);
        *self.bytes.get_mut(length + 1).ok_or(FrameFault::Length)? = 0;
        self.length = length + 2;
        Ok(())
    }

    /// The bytes to send, closing zero included.
    pub fn as_bytes(&self) -> &[u8] {
        self.bytes.get(..self.length).unwrap_or(&[])
    }
}

/// Consistent overhead byte stuffing in place. The first byte is the overhead; a body this short needs no other.
fn stuff(bytes: &mut [u8]) {
    let mut distance = 1;
    for byte in bytes.iter_mut().skip(1).rev() {
        if *byte == 0 {
            *byte = distance;
            distance = 0;
        }
        // A frame has fewer bytes than a distance can count.
        distance += 1;
    }
    if let Some(first) = bytes.first_mut() {
        *first = distance;
    }
}

/// Why bytes were not accepted as a frame.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum FrameFault {
    /// More or fewer bytes than a frame, or its message, can have.
    Length,
    /// The byte stuffing leads beyond the end of the frame.
    Stuffing,
    /// The checksum differs.
    Checksum,
    /// A message, or a part of one, that this version does not know.
    UnknownMessage,
    /// The sender's protocol is newer: it is this version.
    NewerProtocol(u8),
    /// The sender's protocol is older: it is this version.
    OlderProtocol(u8),
}

impl FrameFault {
    /// The fault in words.
    pub const fn text(self) -> &'static str {
        match self {
            Self::Length => "a frame of the wrong length",
            Self::Stuffing => "a frame whose byte stuffing is broken",
            Self::Checksum => "a frame whose checksum differs",
            Self::UnknownMessage => "a message that this version does not know",
            Self::NewerProtocol(_) => "a frame of a newer protocol; update the receiver",
            Self::OlderProtocol(_) => "a frame of an older protocol; update the sender",
        }
    }
}

impl fmt::Display for FrameFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.text())
    }
}

impl core::error::Error for FrameFault {}

#[cfg(test)]
mod tests {
    extern crate std;
    use std::vec::Vec;

    use proptest::prelude::*;

    use super::*;

    fn stuffed(body: &[u8]) -> Vec<u8> {
        let mut bytes = std::vec![0];
        bytes.extend_from_slice(body);
        stuff(&mut bytes);
        bytes
    }

    /// Examples of S. Cheshire and M. Baker, "Consistent Overhead Byte Stuffing", IEEE/ACM Transactions on Networking 7 (1999),
    /// as commonly tabled (from memory); the property below holds ours to an independent implementation.
    #[test]
    fn stuffing_of_known_vectors() {
        let vectors: [(&[u8], &[u8]); 5] = [
            (&[0x00], &[0x01, 0x01]),
            (&[0x00, 0x00], &[0x01, 0x01, 0x01]),
            (&[0x11, 0x22, 0x00, 0x33], &[0x03, 0x11, 0x22, 0x02, 0x33]),
            (&[0x11, 0x22, 0x33, 0x44], &[0x05, 0x11, 0x22, 0x33, 0x44]),
            (&[0x11, 0x00, 0x00, 0x00], &[0x02, 0x11, 0x01, 0x01, 0x01]),
        ];
        for (body, expected) in vectors {
            assert_eq!(stuffed(body), expected, "body {body:02x?}");
        }
    }

    proptest! {
        #[test]
        fn stuffing_agrees_with_an_independent_implementation(body in prop::collection::vec(prop_oneof![Just(0u8), any::<u8>()], 0..BODY)) {
            prop_assert_eq!(stuffed(&body), cobs::encode_vec(&body));
        }
    }
}
