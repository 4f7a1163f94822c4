//! A complete ignition on an `ATmega328P`: one coil, one pickup, a vacuum sensor. See README.md for pins, fuses and limits.
//!
//! Interrupt handlers note what has happened and keep the coil's compare unit armed; everything else is done by the main loop,
//! edges first. So no handler is long, and an off time is armed within microseconds of its dwell's beginning.
#![no_std]
#![no_main]
#![feature(abi_avr_interrupt, asm_experimental_arch)]

mod clock;
mod coil;
mod ignition;
mod lamp;
mod pickup;
mod register;
mod sensors;
mod settings;
mod watchdog;

use ignition::Ignition;
use register::{DDRD, Quiet, SMCR, Shared, enable_interrupts, feed_watchdog, quietly, sleep_unless};
use settings::SETTINGS;

unsafe extern "C" {
    /// Defined nowhere: the program does not link when a panic can be reached.
    safe fn a_panic_can_be_reached() -> !;
}

#[panic_handler]
fn panic(_: &core::panic::PanicInfo) -> ! {
    a_panic_can_be_reached()
}

const TACHOMETER: u8 = 1 << 6;
/// Sleep with the timers going.
const IDLE: u8 = 1;

/// A tenth of a millisecond after key-on.
const PULL_UP_RISES: u32 = 200;

/// Whether the timer has gone around since the main loop last asked.
static TURN: Shared<bool> = Shared::new(false);

#[unsafe(no_mangle)]
extern "C" fn main() -> ! {
    watchdog::start();
    // SAFETY: interrupts are off after a reset.
    let quiet = unsafe { Quiet::assume() };
    lamp::start();
    DDRD.set(TACHOMETER);
    SMCR.write(IDLE);
    clock::start(quiet);
    match &SETTINGS {
        Some(settings) => run(settings, quiet),
        None => refuse_to_spark(quiet),
    }
}

/// Another engine's curve would be a guess: without settings there is no spark, and the lamp says so.
fn refuse_to_spark(quiet: Quiet) -> ! {
    coil::fault(quiet);
    lamp::set(lamp::Lamp::NoSparks, 0);
    enable_interrupts();
    loop {
        feed_watchdog();
        sleep_unless(|_| false);
    }
}

fn run(settings: &'static settings::Settings, quiet: Quiet) -> ! {
    sensors::start();
    coil::start(settings.largest_dwell, quiet);
    // The pull-ups need a moment to raise their pins.
    while clock::now(quiet) < PULL_UP_RISES {}
    let mut ignition = Ignition::new(settings, sensors::hold_jumper());
    pickup::start(settings.timing_flank_rises, settings.second_flank, quiet);
    enable_interrupts();
    let mut turns = 0u8;
    loop {
        feed_watchdog();
        ignition.run();
        if quietly(|quiet| ignition.is_calm(quiet) && take_turn(quiet)) {
            turns = turns.wrapping_add(1);
            ignition.poll();
            sensors::measure(true);
            lamp::set(lamp_of(&ignition), turns);
        }
        ignition.work_out_sample();
        sleep_unless(|quiet| {
            pickup::has_edge(quiet)
                || coil::is_finished(quiet)
                || ((TURN.with(quiet, |turn| *turn) || sensors::has_sample(quiet)) && ignition.is_calm(quiet))
        });
    }
}

fn take_turn(quiet: Quiet) -> bool {
    TURN.with(quiet, core::mem::take)
}

fn lamp_of(ignition: &Ignition) -> lamp::Lamp {
    if quietly(coil::has_fault) {
        lamp::Lamp::NoSparks
    } else if ignition.sensor_failed() {
        lamp::Lamp::NoVacuum
    } else {
        lamp::Lamp::Well
    }
}

/// `TIMER1_CAPT`.
#[unsafe(no_mangle)]
extern "avr-interrupt" fn __vector_10() {
    // SAFETY: this is an interrupt handler.
    pickup::captured(unsafe { Quiet::assume() });
}

/// `TIMER1_COMPA`.
#[unsafe(no_mangle)]
extern "avr-interrupt" fn __vector_11() {
    // SAFETY: this is an interrupt handler.
    coil::service(unsafe { Quiet::assume() });
}

/// `TIMER1_COMPB`.
#[unsafe(no_mangle)]
extern "avr-interrupt" fn __vector_12() {
    // SAFETY: this is an interrupt handler.
    coil::service(unsafe { Quiet::assume() });
}

/// `TIMER1_OVF`.
#[unsafe(no_mangle)]
extern "avr-interrupt" fn __vector_13() {
    // SAFETY: this is an interrupt handler.
    let quiet = unsafe { Quiet::assume() };
    clock::overflow(quiet);
    coil::service(quiet);
    TURN.with(quiet, |turn| *turn = true);
}

/// `ADC`.
#[unsafe(no_mangle)]
extern "avr-interrupt" fn __vector_21() {
    // SAFETY: this is an interrupt handler.
    sensors::measured(unsafe { Quiet::assume() });
}
