//! Bytes on the wire.

use bobweight_wire::{
    BoardMessage, Decoder, Frame, FrameFault, FromIgnition, HostMessage, IgnitionRequest, Message, PROTOCOL, Request,
};
use std::fmt::Debug;

/// What a decoder makes of bytes: no panic, and parse, emit and parse agree.
///
/// The bytes are taken twice: as they come off a line, and as the inside of a frame whose checksum and stuffing are right,
/// for chance finds no 32-bit checksum.
pub fn wire_frames(bytes: &[u8]) {
    stream::<Request>(bytes);
    stream::<BoardMessage>(bytes);
    stream::<IgnitionRequest>(bytes);
    stream::<FromIgnition>(bytes);
    let framed = frame_around(bytes);
    for decoded in decode::<Request>(&framed).into_iter().flatten() {
        same_after_emitting(&decoded);
    }
    for decoded in decode::<BoardMessage>(&framed).into_iter().flatten() {
        same_after_emitting(&decoded);
    }
    for decoded in decode::<IgnitionRequest>(&framed).into_iter().flatten() {
        same_after_emitting(&decoded);
    }
    for decoded in decode::<FromIgnition>(&framed).into_iter().flatten() {
        same_after_emitting(&decoded);
    }
}

/// After whatever came, a decoder reads the next good frame.
fn stream<M: Message + PartialEq + Debug>(bytes: &[u8]) {
    let mut decoder = Decoder::new();
    for &byte in bytes {
        if let Some(Ok(message)) = decoder.push::<M>(byte) {
            same_after_emitting(&message);
        }
    }
    // The zero ends what a broken line left behind.
    let _ = decoder.push::<M>(0);
    let request = Request { sequence: 7, message: HostMessage::Identify };
    let frame = Frame::of(&request).expect("a request fits its frame");
    let answers: Vec<_> = frame.as_bytes().iter().filter_map(|&byte| decoder.push::<Request>(byte)).collect();
    assert_eq!(answers, [Ok(request)], "the decoder has not recovered");
}

fn decode<M: Message>(bytes: &[u8]) -> Vec<Result<M, FrameFault>> {
    let mut decoder = Decoder::new();
    bytes.iter().filter_map(|&byte| decoder.push(byte)).collect()
}

fn same_after_emitting<M: Message + PartialEq + Debug>(message: &M) {
    let frame = Frame::of(message).expect("a decoded message fits a frame");
    let (last, inside) = frame.as_bytes().split_last().expect("a frame has bytes");
    assert!(*last == 0 && !inside.contains(&0), "a zero inside a frame: {:02x?}", frame.as_bytes());
    let again = decode::<M>(frame.as_bytes());
    assert_eq!(again.len(), 1, "{message:?} came back as {again:?}");
    assert_eq!(again[0].as_ref(), Ok(message));
}

/// A frame of our protocol around these bytes, by other implementations of checksum and stuffing.
fn frame_around(bytes: &[u8]) -> Vec<u8> {
    let mut body = vec![PROTOCOL];
    body.extend_from_slice(bytes);
    body.extend_from_slice(&crc32fast::hash(&body).to_le_bytes());
    let mut frame = cobs::encode_vec(&body);
    frame.push(0);
    frame
}
