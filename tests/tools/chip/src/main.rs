//! Links every public function that a chip may link, in a form of which the optimiser knows no input.
//!
//! The panic handler calls a function that is defined nowhere, so the link fails as soon as a panic can be reached.
//! Linked for the ATmega328P and the Cortex-M0; never run.
#![no_std]
#![no_main]

mod public_functions;

use core::hint::black_box;

unsafe extern "C" {
    /// Defined nowhere: its name in a linker's complaint says what is wrong.
    safe fn a_panic_can_be_reached() -> !;
}

#[panic_handler]
fn panic(_: &core::panic::PanicInfo) -> ! {
    a_panic_can_be_reached()
}

/// Keeps a function. Whoever gets its address may call it with anything, so nothing of it is optimised away.
pub fn link<F>(function: F) {
    black_box(function);
}

/// A store of bytes for the slots: memory that answers anything.
pub struct Memory(u8);

impl bobweight::store::ByteStore for Memory {
    fn read(&mut self, address: usize) -> u8 {
        self.0 = black_box(address.to_le_bytes()[0]);
        self.0
    }

    fn write(&mut self, _: usize, value: u8) -> Result<(), bobweight::store::StoreError> {
        self.0 = black_box(value);
        Ok(())
    }
}

/// Looks up what may lie outside the table: the panic that the check must find.
#[cfg(feature = "planted-panic")]
fn planted_panic(at: usize) -> u8 {
    [1, 2, 3][at]
}

/// Adds in floating point: the routine that the check must find.
#[cfg(feature = "planted-float")]
fn planted_float(a: f32, b: f32) -> f32 {
    a + b
}

#[unsafe(no_mangle)]
extern "C" fn main() -> ! {
    public_functions::link_all();
    #[cfg(feature = "planted-panic")]
    link(planted_panic as fn(_) -> _);
    #[cfg(feature = "planted-float")]
    link(planted_float as fn(_, _) -> _);
    loop {}
}
