//! Where the signals lie. Input capture and compare unit have their pins by chip; the others keep out of their way.

#[cfg(not(feature = "atmega1284p"))]
mod chip {
    use crate::register::{DDRB, PINB, PORTB, Register};

    pub const PICKUP_IN: Register = PINB;
    pub const PICKUP: u8 = 1 << 0;
    pub const COIL_DIRECTION: Register = DDRB;
    pub const COIL_OUT: Register = PORTB;
    pub const COIL: u8 = 1 << 1;
    pub const HOLD: u8 = 1 << 5;
    pub const TACHOMETER: u8 = 1 << 6;
}

#[cfg(feature = "atmega1284p")]
mod chip {
    use crate::register::{DDRD, PIND, PORTD, Register};

    pub const PICKUP_IN: Register = PIND;
    pub const PICKUP: u8 = 1 << 6;
    pub const COIL_DIRECTION: Register = DDRD;
    pub const COIL_OUT: Register = PORTD;
    pub const COIL: u8 = 1 << 5;
    pub const HOLD: u8 = 1 << 3;
    pub const TACHOMETER: u8 = 1 << 2;
}

pub use chip::*;
