//! The watchdog: 64 ms, twice the time between two turns of a main loop that has nothing to do.

use crate::register::{MCUSR, WDTCSR, feed_watchdog};

const CHANGE_ENABLED: u8 = 1 << 4;
const RESETS: u8 = 1 << 3;
const AFTER_64_MS: u8 = 0b010;

/// Starts it. After a reset of its own it runs already, at its shortest, so this comes before everything else.
pub fn start() {
    MCUSR.write(0);
    feed_watchdog();
    // The second write must follow within four cycles.
    WDTCSR.write(CHANGE_ENABLED | RESETS);
    WDTCSR.write(RESETS | AFTER_64_MS);
}
