//! Frames undone by the published definitions alone: COBS of S. Cheshire and M. Baker, "Consistent Overhead Byte Stuffing",
//! IEEE/ACM Transactions on Networking 7 (1999), and CRC-32/ISO-HDLC.

use crate::rows;
use bobweight_wire::{CrankSpeed, Frame, HostMessage, PROTOCOL, Request};

/// CRC-32/ISO-HDLC bit by bit: reflected polynomial edb88320, all ones before and after.
fn crc32(bytes: &[u8]) -> u32 {
    !bytes.iter().fold(u32::MAX, |crc, &byte| {
        (0..8).fold(crc ^ u32::from(byte), |crc, _| if crc & 1 == 1 { crc >> 1 ^ 0xedb8_8320 } else { crc >> 1 })
    })
}

/// A COBS body without its closing zero: each code byte counts itself and the bytes behind it, and stands for the zero after
/// them unless it is 255 or the last.
fn unstuffed(mut stuffed: &[u8]) -> Vec<u8> {
    let mut plain = Vec::new();
    while let Some((&code, rest)) = stuffed.split_first() {
        let (group, rest) = rest.split_at(usize::from(code) - 1);
        plain.extend_from_slice(group);
        if code != 255 && !rest.is_empty() {
            plain.push(0);
        }
        stuffed = rest;
    }
    plain
}

fn bytes(hex: &str) -> Vec<u8> {
    (0..hex.len()).step_by(2).map(|at| u8::from_str_radix(&hex[at..at + 2], 16).unwrap()).collect()
}

/// The check value of the algorithm, 0xCBF43926 for the digits 1 to 9; then Python's `binascii.crc32` and the package `cobs`.
#[test]
fn the_definitions_above_are_the_published_ones() {
    assert_eq!(crc32(b"123456789"), 0xcbf4_3926);
    assert_eq!(unstuffed(&[0x01, 0x01]), [0x00]);
    assert_eq!(unstuffed(&[0x03, 0x11, 0x22, 0x02, 0x33]), [0x11, 0x22, 0x00, 0x33]);
    let mut count = 0;
    for row in rows(include_str!("../reference/vectors/framing.csv")) {
        let payload = bytes(row[0]);
        assert_eq!(format!("{:08x}", crc32(&payload)), row[1], "{}", row[0]);
        assert_eq!(unstuffed(&bytes(row[2])), payload, "{}", row[2]);
        count += 1;
    }
    assert!(count > 20);
}

#[test]
fn a_frame_is_what_the_definitions_say() {
    for rpm in [0, 1, 200, 255, 256, 650, 4_600, 65_536, 1 << 20] {
        let message = Request { sequence: 7, message: HostMessage::Speed(CrankSpeed(rpm)) };
        let frame = Frame::of(&message).unwrap();
        let (&closing, stuffed) = frame.as_bytes().split_last().unwrap();
        assert_eq!(closing, 0);
        assert!(!stuffed.contains(&0), "a zero within the frame of {message:?}");
        let plain = unstuffed(stuffed);
        let (body, checksum) = plain.split_at(plain.len() - 4);
        assert_eq!(body[0], PROTOCOL);
        assert_eq!(checksum, crc32(body).to_le_bytes(), "{message:?}");
    }
}
