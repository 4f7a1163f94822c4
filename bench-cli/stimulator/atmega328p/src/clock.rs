//! Timer 1 as a clock of 32 bits: 0.5 us a tick, overflows counted.

use crate::hardware::{OVERFLOW, Shared, TCCR0B, TCNT1, TIFR1, TIMSK0};

static OVERFLOWS: Shared<u16> = Shared::new(0);

/// Wakes the program every 16.4 ms: batches grow old, the host falls silent, and a flank comes near enough to be armed.
pub fn set_up() {
    // 16 MHz / 1 024 / 256.
    TCCR0B.write(5);
    TIMSK0.write(1);
}

static TICKED: Shared<bool> = Shared::new(false);

/// Whether that time has passed since the last call that said so.
pub fn ticked() -> bool {
    TICKED.with(core::mem::take)
}

/// `TIMER0_OVF`.
#[unsafe(no_mangle)]
extern "avr-interrupt" fn __vector_16() {
    TICKED.with(|ticked| *ticked = true);
}

/// The time of a reading of timer 1 that was taken a moment ago. Only without interrupts.
#[inline(always)]
fn extend(low: u16, overflows: u16) -> u32 {
    // An overflow that waits counts for readings from after it.
    let waits = TIFR1.read() & OVERFLOW != 0 && low < 0x8000;
    (u32::from(overflows.wrapping_add(u16::from(waits))) << 16) | u32::from(low)
}

/// Now.
#[inline(always)]
pub fn now() -> u32 {
    OVERFLOWS.with(|overflows| extend(TCNT1.read(), *overflows))
}

/// The time of a capture or a match of a moment ago.
#[inline(always)]
pub fn at(low: u16) -> u32 {
    OVERFLOWS.with(|overflows| extend(low, *overflows))
}

/// `TIMER1_OVF`.
#[unsafe(no_mangle)]
unsafe extern "avr-interrupt" fn __vector_13() {
    OVERFLOWS.with(|overflows| *overflows = overflows.wrapping_add(1));
}
