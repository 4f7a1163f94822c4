//! The lamp on PB5: what the ignition has to say of itself.

use crate::register::{DDRB, PORTB};

const PB5: u8 = 1 << 5;

/// What it says.
#[derive(Clone, Copy)]
pub enum Lamp {
    /// Dark: all is well.
    Well,
    /// Blinking about twice a second: the manifold's sensor has failed, and there is no vacuum advance.
    NoVacuum,
    /// Lit: no sparks until key-off.
    NoSparks,
}

/// Makes the pin an output.
pub fn start() {
    DDRB.set(PB5);
}

/// Shows it; `turns` counts wraps of the timer, 32.8 ms each.
pub fn set(lamp: Lamp, turns: u8) {
    let lit = match lamp {
        Lamp::Well => false,
        Lamp::NoVacuum => turns & 8 != 0,
        Lamp::NoSparks => true,
    };
    if lit { PORTB.set(PB5) } else { PORTB.clear(PB5) }
}
