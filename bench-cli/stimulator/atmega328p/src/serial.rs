//! The serial port at 250 000 Bd.

use crate::hardware::{Shared, UBRR0, UCSR0A, UCSR0B, UCSR0C, UDR0};
use crate::ring::Ring;

static RECEIVED: Shared<Ring<u8, 64>> = Shared::new(Ring::new(0));
static TO_SEND: Shared<Ring<u8, 32>> = Shared::new(Ring::new(0));

/// Receiver, its interrupt, transmitter.
const RUNNING: u8 = 0x98;
/// The interrupt of an empty data register.
const EMPTY: u8 = 0x20;

pub fn set_up() {
    // 16 MHz / (16 * (3 + 1)) is 250 000 exactly.
    UBRR0.write(3);
    UCSR0C.write(0x06);
    UCSR0B.write(RUNNING);
}

pub fn receive() -> Option<u8> {
    RECEIVED.with(Ring::pop)
}

/// Whether a byte waits to be read.
pub fn received() -> bool {
    RECEIVED.with(|ring| !ring.is_empty())
}

/// Whether there is room for many bytes to send.
pub fn takes_bytes() -> bool {
    TO_SEND.with(|ring| ring.is_half_empty())
}

/// False where there was no room.
pub fn send(byte: u8) -> bool {
    TO_SEND.with(|ring| {
        let taken = ring.push(byte);
        UCSR0B.write(RUNNING | EMPTY);
        taken
    })
}

/// `USART_RX`.
#[unsafe(no_mangle)]
unsafe extern "avr-interrupt" fn __vector_18() {
    let _ = UCSR0A.read();
    let byte = UDR0.read();
    // A byte without room spoils its frame, and the checksum says so.
    RECEIVED.with(|ring| ring.push(byte));
}

/// `USART_UDRE`.
#[unsafe(no_mangle)]
unsafe extern "avr-interrupt" fn __vector_19() {
    TO_SEND.with(|ring| match ring.pop() {
        Some(byte) => UDR0.write(byte),
        None => UCSR0B.write(RUNNING),
    });
}
