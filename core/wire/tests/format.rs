//! Every message, and any bytes, against the postcard format's own crate.

mod common;

use bobweight_wire::*;
use proptest::prelude::*;

/// The body that a frame carries, unstuffed by an independent implementation, without version and checksum.
fn body<M: Message>(message: &M) -> Vec<u8> {
    let frame = Frame::of(message).expect("every message fits");
    let (_, stuffed) = frame.as_bytes().split_last().expect("a zero");
    let checked = cobs::decode_vec(stuffed).expect("well stuffed");
    checked[1..checked.len() - 4].to_vec()
}

/// A frame around any body.
fn framed(body: &[u8]) -> Vec<u8> {
    let mut checked = vec![PROTOCOL];
    checked.extend_from_slice(body);
    checked.extend_from_slice(&crc::Crc::<u32>::new(&crc::CRC_32_ISO_HDLC).checksum(&checked).to_le_bytes());
    let mut frame = cobs::encode_vec(&checked);
    frame.push(0);
    frame
}

fn read<M: Message>(body: &[u8]) -> Result<M, FrameFault> {
    let mut decoder = Decoder::new();
    framed(body).iter().find_map(|&byte| decoder.push(byte)).expect("an answer")
}

/// What the format's crate makes of a body.
fn expected<M: serde::de::DeserializeOwned>(body: &[u8]) -> Result<M, FrameFault> {
    match postcard::take_from_bytes(body) {
        Ok((message, [])) => Ok(message),
        Ok(_) | Err(postcard::Error::DeserializeUnexpectedEnd) => Err(FrameFault::Length),
        Err(_) => Err(FrameFault::UnknownMessage),
    }
}

/// Bytes near a message's: some changed, some missing or added.
fn near(body: Vec<u8>) -> impl Strategy<Value = Vec<u8>> {
    let changes = prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 0..4);
    (changes, 0..3_usize, prop::collection::vec(any::<u8>(), 0..3)).prop_map(move |(changes, cut, added)| {
        let mut bytes = body.clone();
        for (at, byte) in changes {
            let at = at.index(bytes.len());
            bytes[at] = byte;
        }
        bytes.truncate(bytes.len() - cut.min(bytes.len()));
        bytes.extend(added);
        bytes
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(10_000))]

    #[test]
    fn requests_are_written_as_the_format_says(message in common::request()) {
        prop_assert_eq!(body(&message), postcard::to_allocvec(&message).unwrap());
    }

    #[test]
    fn board_messages_are_written_as_the_format_says(message in common::board_message()) {
        prop_assert_eq!(body(&message), postcard::to_allocvec(&message).unwrap());
    }

    #[test]
    fn requests_are_read_as_the_format_says(bytes in common::request().prop_flat_map(|m| near(body(&m)))) {
        prop_assert_eq!(read::<Request>(&bytes), expected(&bytes), "{:02x?}", bytes);
    }

    #[test]
    fn any_bytes_are_read_as_the_format_says(bytes in prop::collection::vec(prop_oneof![any::<u8>(), 0..16_u8], 0..60)) {
        prop_assert_eq!(read::<Request>(&bytes), expected(&bytes), "{:02x?}", bytes);
        // Of a list too long the format's crate may read on before it says so; that it is refused is the same.
        prop_assert_eq!(read::<BoardMessage>(&bytes).ok(), expected(&bytes).ok(), "{:02x?}", bytes);
    }

    #[test]
    fn board_messages_are_read_as_the_format_says(bytes in common::board_message().prop_flat_map(|m| near(body(&m)))) {
        prop_assert_eq!(read::<BoardMessage>(&bytes).ok(), expected(&bytes).ok(), "{:02x?}", bytes);
    }
}
