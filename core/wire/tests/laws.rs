//! Laws of the wire that hold for every message and for arbitrary bytes.

mod common;

use std::fmt::Debug;

use bobweight_wire::*;
use proptest::prelude::*;

/// Everything that a decoder says to these bytes.
fn decode<M: Message>(decoder: &mut Decoder, bytes: &[u8]) -> Vec<Result<M, FrameFault>> {
    bytes.iter().filter_map(|&byte| decoder.push(byte)).collect()
}

fn bytes_of<M: Message>(message: &M) -> Vec<u8> {
    Frame::of(message).expect("every message fits").as_bytes().to_vec()
}

/// A message comes back, also after garbage and two closing zeros.
fn comes_back<M>(message: &M, garbage: &[u8]) -> Result<(), TestCaseError>
where
    M: Message + PartialEq + Debug + Clone,
{
    let bytes = bytes_of(message);
    prop_assert!(bytes.len() <= LARGEST_FRAME);
    prop_assert_eq!(bytes.iter().position(|&b| b == 0), Some(bytes.len() - 1), "the only zero closes the frame");
    let mut decoder = Decoder::new();
    prop_assert_eq!(decode::<M>(&mut decoder, &bytes), vec![Ok(message.clone())]);
    decode::<M>(&mut decoder, garbage);
    decode::<M>(&mut decoder, &[0, 0]);
    prop_assert_eq!(decode::<M>(&mut decoder, &bytes), vec![Ok(message.clone())]);
    Ok(())
}

/// No frame with one wrong bit, however the next frame mends it, is taken for another message.
fn single_bits<M>(message: &M) -> Result<(), TestCaseError>
where
    M: Message + PartialEq + Debug + Clone,
{
    let bytes = bytes_of(message);
    for at in 0..bytes.len() * 8 {
        let mut spoilt = bytes.clone();
        spoilt[at / 8] ^= 1 << (at % 8);
        let mut decoder = Decoder::new();
        let said = decode::<M>(&mut decoder, &spoilt);
        prop_assert!(said.iter().all(Result::is_err), "bit {} makes {:?}", at, said);
        // Where the closing zero itself was hit the next frame is lost with it; the one after is read.
        decode::<M>(&mut decoder, &bytes);
        prop_assert_eq!(decode::<M>(&mut decoder, &bytes), vec![Ok(message.clone())]);
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2_000))]

    #[test]
    fn requests_to_an_ignition_come_back(
        message in common::ignition_request(), garbage in prop::collection::vec(any::<u8>(), 0..300)
    ) {
        comes_back(&message, &garbage)?;
        single_bits(&message)?;
    }

    #[test]
    fn messages_from_an_ignition_come_back(
        message in common::from_ignition(), garbage in prop::collection::vec(any::<u8>(), 0..300)
    ) {
        comes_back(&message, &garbage)?;
        single_bits(&message)?;
    }

    #[test]
    fn requests_come_back(message in common::request(), garbage in prop::collection::vec(any::<u8>(), 0..300)) {
        comes_back(&message, &garbage)?;
    }

    #[test]
    fn board_messages_come_back(message in common::board_message(), garbage in prop::collection::vec(any::<u8>(), 0..300)) {
        comes_back(&message, &garbage)?;
    }

    /// The decoder takes anything; whatever it accepts by chance is a message that can be sent.
    #[test]
    fn arbitrary_bytes_are_survived(bytes in prop::collection::vec(prop_oneof![3 => any::<u8>(), 1 => Just(0)], 0..1_000)) {
        let mut decoder = Decoder::new();
        for message in decode::<Request>(&mut decoder, &bytes).into_iter().flatten() {
            bytes_of(&message);
        }
        for message in decode::<BoardMessage>(&mut decoder, &bytes).into_iter().flatten() {
            bytes_of(&message);
        }
    }

    /// Arbitrary bodies under a right checksum reach the messages' own reader, which arbitrary bytes hardly ever do.
    #[test]
    fn arbitrary_bodies_are_survived(body in prop::collection::vec(any::<u8>(), 0..120)) {
        let frame = frame_of_body(PROTOCOL, &body);
        for message in decode::<BoardMessage>(&mut Decoder::new(), &frame).into_iter().flatten() {
            prop_assert_eq!(decode(&mut Decoder::new(), &bytes_of(&message)), vec![Ok(message)]);
        }
        prop_assert_eq!(decode::<Request>(&mut Decoder::new(), &frame).len(), 1);
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(500))]

    #[test]
    fn no_single_bit_makes_another_request(message in common::request()) {
        single_bits(&message)?;
    }

    #[test]
    fn no_single_bit_makes_another_board_message(message in common::board_message()) {
        single_bits(&message)?;
    }
}

/// A frame built from outside: CRC-32/ISO-HDLC by its table-driven form, stuffing by an independent implementation.
fn frame_of_body(version: u8, body: &[u8]) -> Vec<u8> {
    let mut checked = vec![version];
    checked.extend_from_slice(body);
    let sum = crc::Crc::<u32>::new(&crc::CRC_32_ISO_HDLC).checksum(&checked);
    checked.extend_from_slice(&sum.to_le_bytes());
    let mut frame = cobs::encode_vec(&checked);
    frame.push(0);
    frame
}

#[test]
fn each_fault_has_its_own_reason() {
    let one = |bytes: &[u8]| decode::<Request>(&mut Decoder::new(), bytes);
    let good = bytes_of(&Request { sequence: 7, message: HostMessage::KeepAlive });

    assert_eq!(one(&[1, 1, 1, 0]), vec![Err(FrameFault::Length)], "shorter than a checksum");
    assert_eq!(one(&[[1; 200].as_slice(), &[0]].concat()), vec![Err(FrameFault::Length)], "longer than a frame");
    assert_eq!(one(&frame_of_body(PROTOCOL, &[7, 1, 0])), vec![Err(FrameFault::Length)], "a byte after the message");
    assert_eq!(one(&frame_of_body(PROTOCOL, &[7])), vec![Err(FrameFault::Length)], "a message cut short");
    assert_eq!(one(&[0x09, 0x11, 0x22, 0]), vec![Err(FrameFault::Stuffing)]);
    assert_eq!(one(&frame_of_body(PROTOCOL, &[7, 99])), vec![Err(FrameFault::UnknownMessage)]);
    assert_eq!(one(&frame_of_body(PROTOCOL + 1, &[7, 99])), vec![Err(FrameFault::NewerProtocol(PROTOCOL + 1))]);
    assert_eq!(one(&frame_of_body(PROTOCOL - 1, &[7, 99])), vec![Err(FrameFault::OlderProtocol(PROTOCOL - 1))]);
    let mut spoilt = good.clone();
    spoilt[1] ^= 0x40;
    assert_eq!(one(&spoilt), vec![Err(FrameFault::Checksum)]);
    assert_eq!(one(&[0, 0, 0]), vec![], "zeros between frames are nothing");
}

#[test]
fn the_largest_messages_fit() {
    let event = Event { kind: EventKind::Begun(255), ticks: u32::MAX };
    let batch = Batch { number: 255, lost: 255, start: u32::MAX, events: [event; LARGEST_BATCH].into_iter().collect() };
    let length = bytes_of(&BoardMessage::Events(batch)).len();
    // Sixteen events of seven bytes, ten bytes before them, checksum, overhead and closing zero.
    assert_eq!(length, 1 + 1 + 1 + 1 + 5 + 1 + 16 * 7 + 4 + 2);
    assert!(length <= LARGEST_FRAME);
}

#[test]
fn every_reason_reads_differently() {
    let mut texts: Vec<String> = common::REFUSALS.iter().map(ToString::to_string).collect();
    texts.sort();
    texts.dedup();
    assert_eq!(texts.len(), common::REFUSALS.len());
}
