//! The pickup's flanks by the compare unit A of timer 1: the pin moves at the match, whatever the program does then.

use crate::clock;
use crate::hardware::{MATCH_A, OCR1A, Shared, TCCR1A, TCNT1, TIFR1, TIMSK1};
use crate::ring::Ring;

/// An order is armed when its time is nearer than this; the counter wraps at 65 536, and would match a lap early.
const HORIZON: u32 = 0xc000;
/// An order nearer than this comes too late to be made by the match it asks for.
const LEAST_TICKS: u32 = 7;
/// Clear and set on match, in TCCR1A. A match that comes again sets what is set already.
const CLEAR: u8 = 2 << 6;
const SET: u8 = 3 << 6;

#[derive(Clone, Copy)]
pub struct Order {
    pub at: u32,
    /// The level from then on.
    pub high: bool,
}

struct Pickup {
    orders: Ring<Order, 2>,
    armed: bool,
    high: bool,
    passed: u8,
    late: u8,
}

static PICKUP: Shared<Pickup> = Shared::new(Pickup {
    orders: Ring::new(Order { at: 0, high: false }),
    armed: false,
    high: false,
    passed: 0,
    late: 0,
});

impl Pickup {
    /// Puts the next order into the compare unit once it is near enough. Only without interrupts.
    #[inline(always)]
    fn arm(&mut self) {
        if self.armed {
            return;
        }
        let Some(order) = self.orders.first() else { return };
        let ahead = order.at.wrapping_sub(clock::now());
        if (HORIZON..1 << 31).contains(&ahead) {
            return;
        }
        let [a, b, ..] = order.at.to_le_bytes();
        // The pin moves with the tick after the one in which counter and compare register are equal.
        let mut low = u16::from_le_bytes([a, b]).wrapping_sub(1);
        if !(LEAST_TICKS..HORIZON).contains(&ahead) {
            low = TCNT1.read().wrapping_add(8);
            self.late = self.late.saturating_add(1);
        }
        OCR1A.write(low);
        TCCR1A.write(if order.high { SET } else { CLEAR });
        TIFR1.write(MATCH_A);
        TIMSK1.write(TIMSK1.read() | MATCH_A);
        self.armed = true;
    }
}

/// Puts an order behind those that wait, of which there is one at most.
pub fn order(order: Order) {
    PICKUP.with(|pickup| {
        pickup.orders.push(order);
        pickup.arm();
    });
}

/// Arms what has come near; whether an order is still too far to arm.
pub fn look() {
    PICKUP.with(Pickup::arm);
}

/// Whether a flank has come since the last call of `passed`.
pub fn has_passed() -> bool {
    PICKUP.with(|pickup| pickup.passed > 0)
}

/// Flanks that have come since the last call, and how many of them were late.
pub fn passed() -> (u8, u8) {
    PICKUP.with(|pickup| (core::mem::take(&mut pickup.passed), core::mem::take(&mut pickup.late)))
}

/// Takes every order away; the pin keeps its level. Flanks that came all the same are left for `passed`.
pub fn recall() {
    PICKUP.with(|pickup| {
        if pickup.armed {
            // Away from the counter first: a match before this is flagged, and none follows.
            OCR1A.write(TCNT1.read().wrapping_sub(16));
            if TIFR1.read() & MATCH_A != 0 {
                if let Some(order) = pickup.orders.first() {
                    pickup.high = order.high;
                }
                pickup.passed += 1;
            }
            TCCR1A.write(if pickup.high { SET } else { CLEAR });
            TIMSK1.write(TIMSK1.read() & !MATCH_A);
            TIFR1.write(MATCH_A);
        }
        pickup.armed = false;
        pickup.orders = Ring::new(Order { at: 0, high: false });
    });
}

/// Brings the pin to a level while no order waits.
pub fn level(high: bool) {
    PICKUP.with(|pickup| {
        if pickup.armed || pickup.high == high {
            return;
        }
        pickup.high = high;
        TCCR1A.write(if high { SET } else { CLEAR });
        OCR1A.write(TCNT1.read().wrapping_add(8));
    });
}

/// `TIMER1_COMPA`.
#[unsafe(no_mangle)]
unsafe extern "avr-interrupt" fn __vector_11() {
    PICKUP.with(|pickup| {
        TIMSK1.write(TIMSK1.read() & !MATCH_A);
        pickup.armed = false;
        if let Some(order) = pickup.orders.pop() {
            pickup.high = order.high;
            pickup.passed += 1;
        }
        pickup.arm();
    });
}
