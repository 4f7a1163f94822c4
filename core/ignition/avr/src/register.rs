//! The chip's registers and its interrupt switch: the only place that names addresses.
//!
//! Data sheets of `ATmega328P` and `ATmega1284P`, register summaries; addresses are those of the data memory, and the same on both.

use core::arch::asm;
use core::cell::UnsafeCell;

/// A register of eight bits.
pub struct Register(u16);

impl Register {
    /// Its content.
    pub fn read(&self) -> u8 {
        // SAFETY: every address below is a register of this chip, and reading it has no effect on memory.
        unsafe { (self.0 as *const u8).read_volatile() }
    }

    /// Writes all of it.
    pub fn write(&self, value: u8) {
        // SAFETY: as above.
        unsafe { (self.0 as *mut u8).write_volatile(value) }
    }

    /// Sets bits. One instruction for a single bit of the low registers, else to be done with interrupts off.
    #[inline(always)]
    pub fn set(&self, bits: u8) {
        self.write(self.read() | bits);
    }

    /// Clears bits, as [`set`](Self::set).
    #[inline(always)]
    pub fn clear(&self, bits: u8) {
        self.write(self.read() & !bits);
    }
}

/// A register of sixteen bits. Its halves share one temporary register with the other such registers of the timer, so an access
/// takes a [`Quiet`].
pub struct WideRegister(u16);

impl WideRegister {
    /// Its content: low byte first, which latches the high one.
    pub fn read(&self, _: Quiet) -> u16 {
        let low = Register(self.0).read();
        u16::from_le_bytes([low, Register(self.0 + 1).read()])
    }

    /// Writes it: high byte first, which waits for the low one.
    pub fn write(&self, value: u16, _: Quiet) {
        let [low, high] = value.to_le_bytes();
        Register(self.0 + 1).write(high);
        Register(self.0).write(low);
    }
}

macro_rules! registers {
    ($($kind:ident $name:ident = $address:literal;)*) => {
        $(#[allow(dead_code)] #[doc = concat!("`", stringify!($name), "` of the data sheet.")] pub const $name: $kind = $kind($address);)*
    };
}

registers! {
    Register PINB = 0x23; Register DDRB = 0x24; Register PORTB = 0x25;
    Register PIND = 0x29; Register DDRD = 0x2a; Register PORTD = 0x2b;
    Register TIFR1 = 0x36;
    Register SMCR = 0x53; Register MCUSR = 0x54; Register WDTCSR = 0x60;
    Register TIMSK1 = 0x6f;
    Register ADCL = 0x78; Register ADCH = 0x79; Register ADCSRA = 0x7a; Register ADMUX = 0x7c; Register DIDR0 = 0x7e;
    Register TCCR1A = 0x80; Register TCCR1B = 0x81; Register TCCR1C = 0x82;
    // Without a serial port nothing of these is touched.
    Register EECR = 0x3f; Register EEDR = 0x40; WideRegister EEAR = 0x41;
    Register UCSR0B = 0xc1; WideRegister UBRR0 = 0xc4; Register UDR0 = 0xc6;
    WideRegister TCNT1 = 0x84; WideRegister ICR1 = 0x86; WideRegister OCR1A = 0x88; WideRegister OCR1B = 0x8a;
}

/// Proof that no interrupt can come between.
#[derive(Clone, Copy)]
pub struct Quiet(());

impl Quiet {
    /// An interrupt handler runs with interrupts off.
    ///
    /// # Safety
    /// To be called in an interrupt handler, or before interrupts are first switched on.
    pub unsafe fn assume() -> Self {
        Self(())
    }
}

/// Runs something with interrupts off, for the main loop alone: they are on again afterwards.
#[inline(always)]
pub fn quietly<T>(run: impl FnOnce(Quiet) -> T) -> T {
    // SAFETY: switches interrupts off; memory may be touched by others until then, so it is no pure instruction.
    unsafe { asm!("cli") };
    let result = run(Quiet(()));
    enable_interrupts();
    result
}

/// Switches interrupts off for good, until [`enable_interrupts`].
#[cfg(feature = "atmega1284p")]
pub fn silence() -> Quiet {
    // SAFETY: as in `quietly`.
    unsafe { asm!("cli") };
    Quiet(())
}

/// Switches interrupts on.
#[inline(always)]
pub fn enable_interrupts() {
    // SAFETY: what interrupt handlers touch is behind `Shared`.
    unsafe { asm!("sei") };
}

/// Sleeps until an interrupt unless `ready` finds something to do; nothing can come between that look and the sleep.
pub fn sleep_unless(ready: impl FnOnce(Quiet) -> bool) {
    // SAFETY: the instruction after `sei` is always executed before an interrupt.
    unsafe {
        asm!("cli");
        if ready(Quiet(())) {
            asm!("sei");
        } else {
            asm!("sei", "sleep");
        }
    }
}

/// Tells the watchdog that the program is alive.
#[inline(always)]
pub fn feed_watchdog() {
    // SAFETY: resets a counter.
    unsafe { asm!("wdr") };
}

/// Something that the main loop and interrupt handlers share.
pub struct Shared<T>(UnsafeCell<T>);

// SAFETY: there is one core, and an access takes a `Quiet`.
unsafe impl<T> Sync for Shared<T> {}

impl<T> Shared<T> {
    /// Shares a value.
    pub const fn new(value: T) -> Self {
        Self(UnsafeCell::new(value))
    }

    /// Works on it. `work` must not reach this same value again.
    #[inline(always)]
    pub fn with<R>(&self, _: Quiet, work: impl FnOnce(&mut T) -> R) -> R {
        // SAFETY: interrupts are off and no handler nests.
        work(unsafe { &mut *self.0.get() })
    }
}
