//! The serial line: what came and what is to go, byte by byte, by interrupts so short that no spark waits for them.

use crate::register::{Quiet, Shared, UBRR0, UCSR0B, UDR0};
use bobweight_wire::Frame;

const RECEIVE_INTERRUPT: u8 = 1 << 7;
const EMPTY_INTERRUPT: u8 = 1 << 5;
const RECEIVER: u8 = 1 << 4;
const TRANSMITTER: u8 = 1 << 3;
/// 16 MHz / 16 / (25 + 1) is 38 462 Bd, 0.16 % fast. After a reset the line has 8 data bits, no parity, 1 stop bit.
const DIVIDER: u16 = 25;
const _: () = assert!(bobweight_ignition_port::BAUD == 38_400);

/// A host waits for its answer, so no more than one frame is ever under way.
const ROOM: usize = 64;

struct Line {
    received: [u8; ROOM],
    first: usize,
    count: usize,
    answer: Frame,
    sent: usize,
}

static LINE: Shared<Line> =
    Shared::new(Line { received: [0; ROOM], first: 0, count: 0, answer: Frame::new(), sent: usize::MAX });

/// Opens it.
pub fn start(quiet: Quiet) {
    UBRR0.write(DIVIDER, quiet);
    UCSR0B.write(RECEIVE_INTERRUPT | RECEIVER | TRANSMITTER);
}

/// The receive interrupt. What finds no room is lost, and the frame's checksum tells.
pub fn received(quiet: Quiet) {
    let byte = UDR0.read();
    LINE.with(quiet, |line| {
        let end = line.first.wrapping_add(line.count) % ROOM;
        if line.count < ROOM
            && let Some(place) = line.received.get_mut(end)
        {
            *place = byte;
            line.count += 1;
        }
    });
}

/// The interrupt of an empty data register.
pub fn emptied(quiet: Quiet) {
    LINE.with(quiet, |line| match line.answer.as_bytes().get(line.sent) {
        Some(&byte) => {
            UDR0.write(byte);
            line.sent += 1;
        }
        None => UCSR0B.clear(EMPTY_INTERRUPT),
    });
}

/// Whether a byte waits, and the answer to those before it has gone.
pub fn has_byte(quiet: Quiet) -> bool {
    UCSR0B.read() & EMPTY_INTERRUPT == 0 && LINE.with(quiet, |line| line.count > 0)
}

/// The oldest byte that waits.
pub fn next(quiet: Quiet) -> Option<u8> {
    if !has_byte(quiet) {
        return None;
    }
    LINE.with(quiet, |line| {
        let byte = line.received.get(line.first).copied();
        line.first = (line.first + 1) % ROOM;
        line.count -= 1;
        byte
    })
}

/// Begins to send an answer.
pub fn send(answer: &Frame, quiet: Quiet) {
    LINE.with(quiet, |line| {
        line.answer = answer.clone();
        line.sent = 0;
    });
    UCSR0B.set(EMPTY_INTERRUPT);
}
