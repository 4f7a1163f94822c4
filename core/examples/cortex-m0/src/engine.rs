//! What stands in for an engine: timer 1 gives the two flanks of a vane, and the sparks are noted by their angle.
//!
//! Four pulses in two turns of the crank. The starter turns it at 200 crank rpm; it catches, gathers 3 000 crank rpm a second and stays at 2 000.

use nrf51_pac::{TIMER1, timer0};

const STARTER: u32 = 200;
const RUNNING: u32 = 2_000;
const GATHERED_IN_A_SECOND: u32 = 3_000;
const PULSES_BY_STARTER: u32 = 6;

/// Crank degrees between two pulses.
const PULSE: u32 = 180;
/// Where the flanks are, crank degrees BTDC.
pub const TIMING_FLANK: u32 = 60;
pub const SECOND_FLANK: u32 = 8;

/// Ticks of timer 1 in a minute.
const MINUTE: u32 = 60 * 250_000;

/// An engine that turns.
pub struct Engine {
    speed: u32,
    pulses: u32,
    next: u32,
    next_is_second: bool,
    edge: Option<u32>,
    period: Option<u32>,
    /// Sparks at the last speed, once it is steady.
    pub sparks: u32,
    /// The least and the greatest advance of them, in hundredths of a crank degree.
    pub least: i32,
    pub greatest: i32,
}

fn timer() -> &'static timer0::RegisterBlock {
    // SAFETY: nothing else uses timer 1.
    unsafe { &*TIMER1::ptr() }
}

impl Engine {
    /// An engine that stands.
    pub const fn new() -> Self {
        Self {
            speed: STARTER,
            pulses: 0,
            next: 25_000,
            next_is_second: false,
            edge: None,
            period: None,
            sparks: 0,
            least: i32::MAX,
            greatest: i32::MIN,
        }
    }

    /// Turns the key.
    pub fn start(&mut self) {
        timer().bitmode.write(|w| w.bitmode()._16bit());
        // SAFETY: 2^6 is one of the divisors, and the others are tasks and times.
        timer().prescaler.write(|w| unsafe { w.prescaler().bits(6) });
        timer().cc[0].write(|w| unsafe { w.bits(self.next) });
        timer().intenset.write(|w| w.compare0().set());
        timer().tasks_start.write(|w| unsafe { w.bits(1) });
    }

    /// The next flank has come: whether it is the second, and when the one after it will.
    pub fn flank(&mut self) -> bool {
        timer().events_compare[0].reset();
        let is_second = self.next_is_second;
        let way = if is_second { PULSE - (TIMING_FLANK - SECOND_FLANK) } else { TIMING_FLANK - SECOND_FLANK };
        self.next = self.next.wrapping_add(MINUTE / 360 * way / self.speed) & 0xffff;
        // SAFETY: a time.
        timer().cc[0].write(|w| unsafe { w.bits(self.next) });
        self.next_is_second = !is_second;
        if is_second {
            self.pulses += 1;
            if self.pulses > PULSES_BY_STARTER && self.speed < RUNNING {
                // In a pulse of 30 / N seconds.
                self.speed = (self.speed + GATHERED_IN_A_SECOND * 30 / self.speed).min(RUNNING);
            }
        }
        is_second
    }

    /// The timing flank was captured at `at`, in ticks of the ignition's timer.
    pub fn timing_flank(&mut self, at: u32) {
        self.period = self.edge.map(|edge| at.wrapping_sub(edge));
        self.edge = Some(at);
    }

    /// The coil was turned off at `at`.
    pub fn spark(&mut self, at: u32) {
        let (Some(edge), Some(period @ 1..)) = (self.edge, self.period) else { return };
        // The speed has been steady for a while once the period is that of it, in 0.5 us.
        if self.speed < RUNNING || period.abs_diff(2 * 30_000_000 / RUNNING) > 20 {
            return;
        }
        let turned = i64::from(at.wrapping_sub(edge)) * i64::from(100 * PULSE) / i64::from(period);
        let advance = (100 * TIMING_FLANK).cast_signed() - i32::try_from(turned).unwrap_or(i32::MAX / 2);
        self.sparks += 1;
        self.least = self.least.min(advance);
        self.greatest = self.greatest.max(advance);
    }
}
