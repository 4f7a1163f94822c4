//! A complete ignition on an `ATmega328P` or an `ATmega1284P`: one coil, one pickup, a vacuum sensor. See README.md for pins, fuses and limits.
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
#[cfg(feature = "atmega1284p")]
mod line;
mod pickup;
mod pins;
mod register;
mod sensors;
mod settings;
#[cfg(feature = "atmega1284p")]
mod stored;
mod watchdog;

use ignition::Ignition;
use register::{DDRD, Quiet, SMCR, Shared, enable_interrupts, feed_watchdog, quietly, sleep_unless};
use settings::Settings;
use watchdog::Patience;

#[cfg(feature = "atmega1284p")]
use stored::Store;
/// The settings are compiled in, and there is no serial port.
#[cfg(not(feature = "atmega1284p"))]
struct Store;

unsafe extern "C" {
    /// Defined nowhere: the program does not link when a panic can be reached.
    safe fn a_panic_can_be_reached() -> !;
}

#[panic_handler]
fn panic(_: &core::panic::PanicInfo) -> ! {
    a_panic_can_be_reached()
}

/// Sleep with the timers going.
const IDLE: u8 = 1;

/// A tenth of a millisecond after key-on.
const PULL_UP_RISES: u32 = 200;

/// Until the settings are at hand.
#[cfg(not(feature = "atmega1284p"))]
const FIRST_PATIENCE: Patience = Patience::Short;
#[cfg(feature = "atmega1284p")]
const FIRST_PATIENCE: Patience = Patience::Long;

/// Whether the timer has gone around since the main loop last asked.
static TURN: Shared<bool> = Shared::new(false);

#[unsafe(no_mangle)]
extern "C" fn main() -> ! {
    // SAFETY: interrupts are off after a reset.
    let quiet = unsafe { Quiet::assume() };
    watchdog::start(FIRST_PATIENCE, quiet);
    lamp::start();
    DDRD.set(pins::TACHOMETER);
    SMCR.write(IDLE);
    clock::start(quiet);
    #[cfg(not(feature = "atmega1284p"))]
    let (store, settings) = (Store, settings::SETTINGS.as_ref());
    #[cfg(feature = "atmega1284p")]
    let (store, stored, quiet) = {
        // Driven low first: reading the store takes a while, with interrupts on.
        coil::start(0, quiet);
        line::start(quiet);
        let (store, stored) = Store::open();
        let quiet = register::silence();
        watchdog::set(Patience::Short, quiet);
        (store, stored, quiet)
    };
    #[cfg(feature = "atmega1284p")]
    let settings = stored.as_ref();
    match settings {
        Some(settings) => run(settings, store, quiet),
        None => refuse_to_spark(store, quiet),
    }
}

#[cfg(not(feature = "atmega1284p"))]
impl Store {
    #[allow(clippy::unused_self, reason = "as the larger chip's")]
    fn serve(&mut self) {}
}

#[cfg(not(feature = "atmega1284p"))]
fn line_has_byte(_: Quiet) -> bool {
    false
}
#[cfg(feature = "atmega1284p")]
use line::has_byte as line_has_byte;

/// Another engine's curve would be a guess: without settings there is no spark, and the lamp says so.
fn refuse_to_spark(mut store: Store, quiet: Quiet) -> ! {
    coil::fault(quiet);
    lamp::set(lamp::Lamp::NoSparks, 0);
    // Edges are watched all the same: no curve is written beside an engine that turns.
    pickup::start(true, false, quiet);
    enable_interrupts();
    loop {
        feed_watchdog();
        while quietly(pickup::next).is_some() {}
        store.serve();
        sleep_unless(|quiet| pickup::has_edge(quiet) || line_has_byte(quiet));
    }
}

fn run(settings: &Settings, mut store: Store, quiet: Quiet) -> ! {
    sensors::start();
    coil::start(settings.timetable.largest_dwell(), quiet);
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
        if quietly(|quiet| line_has_byte(quiet) && ignition.is_calm(quiet)) {
            store.serve();
        }
        sleep_unless(|quiet| {
            pickup::has_edge(quiet)
                || coil::is_finished(quiet)
                || ((TURN.with(quiet, |turn| *turn) || sensors::has_sample(quiet) || line_has_byte(quiet))
                    && ignition.is_calm(quiet))
        });
    }
}

fn take_turn(quiet: Quiet) -> bool {
    TURN.with(quiet, core::mem::take)
}

fn lamp_of(ignition: &Ignition<'_>) -> lamp::Lamp {
    if quietly(coil::has_fault) {
        lamp::Lamp::NoSparks
    } else if ignition.sensor_failed() {
        lamp::Lamp::NoVacuum
    } else {
        lamp::Lamp::Well
    }
}

/// An interrupt handler under its number in each chip's table of vectors.
macro_rules! on {
    ($name:ident, $small:literal, $large:literal, $do:expr) => {
        #[cfg_attr(not(feature = "atmega1284p"), unsafe(export_name = $small))]
        #[cfg_attr(feature = "atmega1284p", unsafe(export_name = $large))]
        extern "avr-interrupt" fn $name() {
            let work: fn(Quiet) = $do;
            // SAFETY: this is an interrupt handler.
            work(unsafe { Quiet::assume() });
        }
    };
}

on!(timer1_capt, "__vector_10", "__vector_12", pickup::captured);
on!(timer1_compa, "__vector_11", "__vector_13", coil::service);
on!(timer1_compb, "__vector_12", "__vector_14", coil::service);
on!(timer1_ovf, "__vector_13", "__vector_15", |quiet| {
    clock::overflow(quiet);
    coil::service(quiet);
    TURN.with(quiet, |turn| *turn = true);
});
on!(adc, "__vector_21", "__vector_24", sensors::measured);
#[cfg(feature = "atmega1284p")]
on!(usart0_rx, "__vector_18", "__vector_20", line::received);
#[cfg(feature = "atmega1284p")]
on!(usart0_udre, "__vector_19", "__vector_21", line::emptied);
