//! Timer 0 as the driver needs it: 32 bits at 2 MHz, the coil on compare register 0, its pin moved by the match interrupt.

use bobweight::must;
use bobweight::quantity::TickRate;
use bobweight_driver::{CompareTimer, Level};
use nrf51_pac::{GPIO, TIMER0, gpio, timer0};

/// The coil's pin.
const COIL: u32 = 1 << 3;

/// The timer with its pin.
pub struct Timer {
    level: Level,
}

fn timer() -> &'static timer0::RegisterBlock {
    // SAFETY: nothing else uses timer 0.
    unsafe { &*TIMER0::ptr() }
}

fn port() -> &'static gpio::RegisterBlock {
    // SAFETY: only the registers that set and clear single pins are written.
    unsafe { &*GPIO::ptr() }
}

/// The coil is off, whatever the timer does.
pub fn off_for_good() {
    // SAFETY: one pin.
    port().dirclr.write(|w| unsafe { w.bits(COIL) });
    port().outclr.write(|w| unsafe { w.bits(COIL) });
}

/// What the capture unit of a board with a pickup does by itself.
pub fn capture() {
    // SAFETY: a task.
    timer().tasks_capture[2].write(|w| unsafe { w.bits(1) });
}

/// Whether the coil is on.
pub fn coil_is_on() -> bool {
    port().out.read().bits() & COIL != 0
}

impl Timer {
    /// Before it is started.
    pub const fn new() -> Self {
        Self { level: Level::Low }
    }

    /// Starts it, with the pin low.
    pub fn start(&mut self) {
        self.move_pin();
        // SAFETY: of this port's pins and of a task any bits may be written.
        port().dirset.write(|w| unsafe { w.bits(COIL) });
        timer().bitmode.write(|w| w.bitmode()._32bit());
        timer().prescaler.write(|w| unsafe { w.prescaler().bits(3) });
        timer().tasks_start.write(|w| unsafe { w.bits(1) });
    }

    /// Whether it was a match that called; the pin first.
    pub fn matched(&mut self) -> bool {
        let matched = timer().events_compare[0].read().bits() != 0 && timer().intenset.read().compare0().bit_is_set();
        if matched {
            self.move_pin();
            timer().events_compare[0].reset();
        }
        matched
    }

    fn move_pin(&mut self) {
        // SAFETY: one pin.
        match self.level {
            Level::High => port().outset.write(|w| unsafe { w.bits(COIL) }),
            Level::Low => port().outclr.write(|w| unsafe { w.bits(COIL) }),
        }
    }
}

// From here on it is what a firmware of your own has to write.
impl CompareTimer for Timer {
    const TICK_RATE: TickRate = must!(TickRate::from_bits(2_000_000));
    const COMPARE_BITS: u32 = 32;
    const WRITE_TIME: u32 = 20;

    fn now(&mut self) -> u32 {
        // SAFETY: a task.
        timer().tasks_capture[1].write(|w| unsafe { w.bits(1) });
        timer().cc[1].read().bits()
    }

    fn captured(&mut self) -> u32 {
        timer().cc[2].read().bits()
    }

    fn arm(&mut self, level: Level, at: u32) {
        self.level = level;
        timer().cc[0].write(|w| unsafe { w.bits(at) });
        timer().events_compare[0].reset();
        timer().intenset.write(|w| w.compare0().set());
    }

    fn force_off(&mut self) {
        self.level = Level::Low;
        timer().intenclr.write(|w| w.compare0().clear());
        self.move_pin();
    }
}
