//! The time in ticks of 0.5 us: timer 1 with its overflows counted. Wraps after 35 minutes.

use crate::register::{ICR1, OCR1B, Quiet, Shared, TCCR1B, TCNT1, TIFR1, TIMSK1};

const TOV1: u8 = 1 << 0;
/// Clock by 8: 2 MHz.
const CS11: u8 = 1 << 1;

static OVERFLOWS: Shared<u16> = Shared::new(0);

const TOIE1: u8 = 1 << 0;
const OCIE1A: u8 = 1 << 1;
const OCIE1B: u8 = 1 << 2;

/// Starts the timer in its normal mode. Its second compare unit moves no pin: it calls halfway between two overflows.
pub fn start(quiet: Quiet) {
    TCCR1B.write(CS11);
    OCR1B.write(0x8000, quiet);
    TIMSK1.write(TOIE1 | OCIE1A | OCIE1B);
}

/// The overflow interrupt.
pub fn overflow(quiet: Quiet) {
    OVERFLOWS.with(quiet, |count| *count = count.wrapping_add(1));
}

/// The time now.
pub fn now(quiet: Quiet) -> u32 {
    // The counter first: an overflow that is not flagged yet cannot be in it.
    let low = TCNT1.read(quiet);
    with_overflows(low, quiet)
}

/// The time of the last captured edge, which is not long ago.
pub fn captured(quiet: Quiet) -> u32 {
    with_overflows(ICR1.read(quiet), quiet)
}

fn with_overflows(low: u16, quiet: Quiet) -> u32 {
    let overflowed = TIFR1.read() & TOV1 != 0 && low < 0x8000;
    let high = OVERFLOWS.with(quiet, |count| count.wrapping_add(u16::from(overflowed)));
    u32::from(high) << 16 | u32::from(low)
}

/// Clears flags of the timer: a one clears its flag, and a zero leaves it.
pub fn clear_flags(flags: u8) {
    TIFR1.write(flags);
}
