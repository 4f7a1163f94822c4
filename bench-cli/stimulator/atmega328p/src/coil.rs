//! The coil's signal by input capture, both flanks, and the strobe that flashes at each spark.

use bobweight_stimulator::CoilEdge;

use crate::clock;
use crate::hardware::{CAPTURE, ICR1, MATCH_B, OCR1B, PINB, PORTD, Shared, TCCR1B, TIFR1, TIMSK1};
use crate::ring::Ring;

/// 100 us.
const FLASH_TICKS: u16 = 200;
/// PD7.
const STROBE: u8 = 1 << 7;
/// Capture on the rising edge, in TCCR1B.
const RISING: u8 = 1 << 6;

struct Edges {
    ring: Ring<(bool, u32), 16>,
    lost: u8,
}

static EDGES: Shared<Edges> = Shared::new(Edges { ring: Ring::new((false, 0)), lost: 0 });

/// Looks for the edge that the signal's level makes the next one.
pub fn set_up() {
    let high = PINB.read() & 1 != 0;
    TCCR1B.write(2 | if high { 0 } else { RISING });
}

/// The oldest edge and its time; it stays.
pub fn first() -> Option<(CoilEdge, u32)> {
    let (on, at) = EDGES.with(|edges| edges.ring.first())?;
    Some((if on { CoilEdge::On } else { CoilEdge::Off }, at))
}

/// Whether an edge waits to be taken.
pub fn waits() -> bool {
    EDGES.with(|edges| !edges.ring.is_empty())
}

/// Takes the oldest edge away.
pub fn pop() {
    EDGES.with(|edges| edges.ring.pop());
}

/// Edges for which there was no room since the last call.
pub fn lost() -> u8 {
    EDGES.with(|edges| core::mem::take(&mut edges.lost))
}

/// `TIMER1_CAPT`.
#[unsafe(no_mangle)]
unsafe extern "avr-interrupt" fn __vector_10() {
    let low = ICR1.read();
    let control = TCCR1B.read();
    let on = control & RISING != 0;
    TCCR1B.write(control ^ RISING);
    // Switching the edge can set the flag by itself.
    TIFR1.write(CAPTURE);
    if !on {
        PORTD.write(PORTD.read() | STROBE);
        OCR1B.write(low.wrapping_add(FLASH_TICKS));
        TIMSK1.write(TIMSK1.read() | MATCH_B);
    }
    let at = clock::at(low);
    EDGES.with(|edges| {
        if !edges.ring.push((on, at)) {
            edges.lost = edges.lost.saturating_add(1);
        }
    });
}

/// `TIMER1_COMPB`: the flash is over.
#[unsafe(no_mangle)]
unsafe extern "avr-interrupt" fn __vector_12() {
    PORTD.write(PORTD.read() & !STROBE);
    TIMSK1.write(TIMSK1.read() & !MATCH_B);
}
