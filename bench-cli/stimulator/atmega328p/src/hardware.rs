//! Registers of the `ATmega328P` by their names in its data sheet, and short stretches without interrupts.

use core::arch::asm;
use core::cell::UnsafeCell;
use core::ptr::{read_volatile, write_volatile};

/// A register of this width at this address.
#[derive(Clone, Copy)]
pub struct Register<T>(*mut T);

impl<T> Register<T> {
    pub fn read(self) -> T {
        // SAFETY: the address is a register's, by the table below.
        unsafe { read_volatile(self.0) }
    }

    pub fn write(self, value: T) {
        // SAFETY: as above.
        unsafe { write_volatile(self.0, value) }
    }
}

macro_rules! registers {
    ($($name:ident $type:ty = $address:literal;)+) => { $(pub const $name: Register<$type> = Register($address as *mut $type);)+ };
}

// Data sheet of the ATmega48A to 328P, "Register summary" (from memory; the addresses are those of avr-libc's iom328p.h).
registers! {
    PINB u8 = 0x23; DDRB u8 = 0x24;
    DDRD u8 = 0x2a; PORTD u8 = 0x2b;
    TIFR1 u8 = 0x36; TIMSK1 u8 = 0x6f;
    TCCR0B u8 = 0x45; TIMSK0 u8 = 0x6e;
    SMCR u8 = 0x53;
    TCCR1A u8 = 0x80; TCCR1B u8 = 0x81; TCNT1 u16 = 0x84; ICR1 u16 = 0x86; OCR1A u16 = 0x88; OCR1B u16 = 0x8a;
    TCCR2A u8 = 0xb0; TCCR2B u8 = 0xb1; OCR2A u8 = 0xb3; OCR2B u8 = 0xb4;
    UCSR0A u8 = 0xc0; UCSR0B u8 = 0xc1; UCSR0C u8 = 0xc2; UBRR0 u16 = 0xc4; UDR0 u8 = 0xc6;
    SREG u8 = 0x5f;
}

/// Bits of TIFR1 and TIMSK1.
pub const OVERFLOW: u8 = 1;
pub const MATCH_A: u8 = 2;
pub const MATCH_B: u8 = 4;
pub const CAPTURE: u8 = 32;

/// What interrupts and the main loop share.
pub struct Shared<T>(UnsafeCell<T>);

// SAFETY: one processor, and `with` keeps interrupts out.
unsafe impl<T> Sync for Shared<T> {}

impl<T> Shared<T> {
    pub const fn new(value: T) -> Self {
        Self(UnsafeCell::new(value))
    }

    /// For the one that alone works on it.
    ///
    /// # Safety
    ///
    /// To be called once, and no interrupt works on the value.
    #[expect(clippy::mut_from_ref, reason = "called once")]
    pub unsafe fn for_ever(&'static self) -> &'static mut T {
        // SAFETY: by this function's contract.
        unsafe { &mut *self.0.get() }
    }

    /// Works on it without interrupts: inside an interrupt they are off already, and stay so. Must not be nested for one value.
    #[inline(always)]
    pub fn with<R>(&self, work: impl FnOnce(&mut T) -> R) -> R {
        let flags = SREG.read();
        // SAFETY: the flag is put back as it was.
        unsafe { asm!("cli") };
        // SAFETY: nobody else runs.
        let result = work(unsafe { &mut *self.0.get() });
        // SAFETY: the barrier of this block keeps the work before it.
        unsafe { asm!("out 0x3f, {}", in(reg) flags) };
        result
    }
}

/// Sleeps until there is something to do, which is looked at after each interrupt. What an interrupt brings after the look ends the sleep:
/// interrupts stay out until the sleep has begun.
pub fn sleep_until(mut something_to_do: impl FnMut() -> bool) {
    loop {
        // SAFETY: interrupts are let in again below, whatever comes.
        unsafe { asm!("cli") };
        if something_to_do() {
            break;
        }
        // SAFETY: the instruction after `sei` is done before any interrupt.
        unsafe { asm!("sei", "sleep") };
    }
    enable_interrupts();
}

/// Lets interrupts in.
pub fn enable_interrupts() {
    // SAFETY: everything is set up.
    unsafe { asm!("sei") };
}
