//! From received bytes to messages.

use core::cmp::Ordering;

use crate::PROTOCOL;
use crate::bytes::Reader;
use crate::checksum::{CHECKSUM, checksum};
use crate::codec::Message;
use crate::frame::{FrameFault, LARGEST_FRAME, LARGEST_REQUEST};

/// Collects received bytes of frames up to a largest and gives a message, or a fault, at the end of each frame.
///
/// After any fault it is ready for the next frame: a zero byte ends a frame, whatever came before.
#[derive(Debug, Clone)]
pub struct DecoderOf<const LARGEST: usize> {
    body: [u8; LARGEST],
    length: u8,
    /// Bytes until the next zero of the body, that zero included; 0 before a frame's first byte.
    distance: u8,
    fault: Option<FrameFault>,
}

/// For frames of any length: a host's.
pub type Decoder = DecoderOf<LARGEST_FRAME>;

/// For requests alone: a board's, in a quarter of the memory.
pub type RequestDecoder = DecoderOf<LARGEST_REQUEST>;

impl<const LARGEST: usize> Default for DecoderOf<LARGEST> {
    fn default() -> Self {
        Self::new()
    }
}

impl<const LARGEST: usize> DecoderOf<LARGEST> {
    /// A decoder that waits for a frame.
    pub const fn new() -> Self {
        Self { body: [0; LARGEST], length: 0, distance: 0, fault: None }
    }

    /// Takes one byte; at the end of a frame gives its message or what was wrong with it.
    ///
    /// `M` is [`Request`](crate::Request) on a board and [`BoardMessage`](crate::BoardMessage) on a host.
    pub fn push<M: Message>(&mut self, byte: u8) -> Option<Result<M, FrameFault>> {
        if byte == 0 { self.end() } else { self.collect(byte) }
    }

    fn collect<M>(&mut self, byte: u8) -> Option<Result<M, FrameFault>> {
        match self.distance {
            0 => self.distance = byte,
            1 => {
                self.distance = byte;
                self.append(0);
            }
            _ => {
                self.distance -= 1;
                self.append(byte);
            }
        }
        None
    }

    fn append(&mut self, byte: u8) {
        match self.body.get_mut(usize::from(self.length)) {
            Some(place) => {
                *place = byte;
                self.length += 1;
            }
            None => self.fault = Some(FrameFault::Length),
        }
    }

    fn end<M: Message>(&mut self) -> Option<Result<M, FrameFault>> {
        let (length, distance, fault) = (self.length, self.distance, self.fault.take());
        self.length = 0;
        self.distance = 0;
        match distance {
            // Zeros between frames are allowed: a sender may begin with one to cut off what a reset left behind.
            0 => None,
            _ if fault.is_some() => fault.map(Err),
            1 => Some(read(self.body.get(..usize::from(length)).unwrap_or(&[]))),
            _ => Some(Err(FrameFault::Stuffing)),
        }
    }
}

fn read<M: Message>(body: &[u8]) -> Result<M, FrameFault> {
    let checked = body.len().checked_sub(CHECKSUM).ok_or(FrameFault::Length)?;
    let (checked, sum) = body.split_at_checked(checked).ok_or(FrameFault::Length)?;
    let (&version, message) = checked.split_first().ok_or(FrameFault::Length)?;
    if sum != checksum(checked).to_le_bytes() {
        return Err(FrameFault::Checksum);
    }
    match version.cmp(&PROTOCOL) {
        Ordering::Greater => return Err(FrameFault::NewerProtocol(version)),
        Ordering::Less => return Err(FrameFault::OlderProtocol(version)),
        Ordering::Equal => {}
    }
    let mut reader = Reader::new(message);
    let message = M::read(&mut reader);
    reader.end(message)
}
