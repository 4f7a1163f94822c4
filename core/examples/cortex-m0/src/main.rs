//! An ignition on a Cortex-M0. What a firmware of your own has to write is the end of `timer.rs`, its two interrupts and the loop below.
//!
//! It is run by a simulator of the board: a second timer plays an engine, and at the end the program says where the sparks came.
#![no_std]
#![no_main]

mod curve;
mod engine;
mod timer;

use bobweight::quantity::Voltage;
use bobweight::{Flank, must};
use bobweight_driver::{CoilDriver, CompareTimer, Ignition};
use core::cell::RefCell;
use cortex_m_rt::entry;
use cortex_m_semihosting::{debug, hprintln};
use critical_section::Mutex;
use engine::Engine;
use nrf51_pac::{Interrupt, NVIC, interrupt};
use timer::Timer;

/// What the interrupts and the loop share.
static DRIVER: Mutex<RefCell<CoilDriver<Timer>>> = Mutex::new(RefCell::new(CoilDriver::new(Timer::new())));
static ENGINE: Mutex<RefCell<Engine>> = Mutex::new(RefCell::new(Engine::new()));

/// What a board of your own measures.
const BATTERY: Voltage = must!(Voltage::from_volts(14));

/// Sparks that are looked at.
const SPARKS: u32 = 200;

/// The loop's `RefCell`s and its words at the end can panic, as far as the compiler sees; the core and the driver cannot.
#[panic_handler]
fn panic(_: &core::panic::PanicInfo) -> ! {
    cortex_m::interrupt::disable();
    timer::off_for_good();
    finish(false);
}

/// The coil's compare unit.
#[interrupt]
fn TIMER0() {
    critical_section::with(|section| {
        let mut driver = DRIVER.borrow_ref_mut(section);
        let was_on = timer::coil_is_on();
        if driver.timer().matched() && was_on && !timer::coil_is_on() {
            let now = driver.timer().now();
            ENGINE.borrow_ref_mut(section).spark(now);
        }
        driver.service();
    });
}

/// The engine's next flank.
#[interrupt]
fn TIMER1() {
    critical_section::with(|section| {
        let mut driver = DRIVER.borrow_ref_mut(section);
        timer::capture();
        let mut engine = ENGINE.borrow_ref_mut(section);
        let flank = if engine.flank() { Flank::Second } else { Flank::Timing };
        driver.captured(flank);
        if flank == Flank::Timing {
            let at = driver.timer().captured();
            engine.timing_flank(at);
        }
    });
}

#[entry]
fn main() -> ! {
    let opened = critical_section::with(|section| {
        let mut driver = DRIVER.borrow_ref_mut(section);
        driver.timer().start();
        ENGINE.borrow_ref_mut(section).start();
        driver.open(&curve::TIMETABLE)
    });
    if opened.is_err() {
        finish(false);
    }
    let mut ignition = Ignition::new(&curve::TIMETABLE);
    ignition.sequencer().battery(BATTERY);
    // SAFETY: what the interrupts share is behind a mutex.
    unsafe {
        NVIC::unmask(Interrupt::TIMER0);
        NVIC::unmask(Interrupt::TIMER1);
    }
    while critical_section::with(|section| ENGINE.borrow_ref(section).sparks) < SPARKS {
        ignition.run(&mut &DRIVER);
        critical_section::with(|section| {
            // An interrupt that comes after this look ends the sleep all the same, and is served after it.
            if !DRIVER.borrow_ref(section).has_work() {
                cortex_m::asm::wfi();
            }
        });
    }
    let (least, greatest) = critical_section::with(|section| {
        let engine = ENGINE.borrow_ref(section);
        (engine.least, engine.greatest)
    });
    let watch = critical_section::with(|section| *DRIVER.borrow_ref(section).watch());
    hprintln!("{} sparks, {} to {} hundredths of a crank degree BTDC", SPARKS, least, greatest);
    hprintln!("an order in the timer after {} ticks, a dwell's end after {}", watch.worst_answer, watch.worst_match);
    if let Some(complaint) = watch.complaint() {
        hprintln!("{}", complaint);
    }
    finish(watch.complaint().is_none())
}

fn finish(well: bool) -> ! {
    loop {
        debug::exit(if well { debug::EXIT_SUCCESS } else { debug::EXIT_FAILURE });
    }
}
