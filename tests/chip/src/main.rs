//! Calls every public function that a chip may link, with inputs that the optimiser cannot see.
//!
//! The panic handler calls a function that is defined nowhere, so the link fails as soon as a panic can be reached.
//! Linked for the ATmega328P and the Cortex-M0, never run.
#![no_std]
#![no_main]

use core::hint::black_box;

unsafe extern "C" {
    /// Defined nowhere: its name in a linker's complaint says what is wrong.
    safe fn a_panic_can_be_reached() -> !;
}

#[panic_handler]
fn panic(_: &core::panic::PanicInfo) -> ! {
    a_panic_can_be_reached()
}

/// A value that the optimiser cannot know.
fn any<T>(value: T) -> T {
    black_box(value)
}

#[unsafe(no_mangle)]
extern "C" fn main() -> ! {
    #[cfg(feature = "planted-panic")]
    black_box([1u8, 2, 3][any(2usize)]);
    #[cfg(feature = "planted-float")]
    black_box(any(1.5f32) + any(2.5f32));
    black_box(any(3u32).wrapping_mul(any(5)));
    loop {}
}
