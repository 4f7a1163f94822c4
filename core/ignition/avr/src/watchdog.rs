//! The watchdog: 64 ms while sparks are made, twice the time between two turns of a main loop that has nothing to do.

use crate::register::{MCUSR, Quiet, WDTCSR, feed_watchdog};

const CHANGE_ENABLED: u8 = 1 << 4;
const RESETS: u8 = 1 << 3;

/// How long the program may be silent.
#[derive(Clone, Copy)]
#[repr(u8)]
pub enum Patience {
    /// 64 ms.
    Short = 0b010,
    /// 2 s: a timetable takes up to 0.9 s to work out. For an ignition whose engine stands.
    #[cfg(feature = "atmega1284p")]
    Long = 0b111,
}

/// Starts it. After a reset of its own it runs already, at its shortest, so this comes before everything else.
pub fn start(patience: Patience, quiet: Quiet) {
    MCUSR.write(0);
    set(patience, quiet);
}

/// Changes it.
pub fn set(patience: Patience, _: Quiet) {
    feed_watchdog();
    let after = RESETS | patience as u8;
    // The second write must follow within four cycles.
    WDTCSR.write(CHANGE_ENABLED | RESETS);
    WDTCSR.write(after);
}
