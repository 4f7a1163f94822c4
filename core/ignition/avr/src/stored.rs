//! The curve that is kept in the EEPROM, and the serial port that brings another.

use crate::register::{EEAR, EECR, EEDR, Quiet, feed_watchdog, quietly};
use crate::settings::{FIRMWARE, Settings};
use crate::watchdog::{self, Patience};
use crate::{line, pickup};
use bobweight::image::EngineSettings;
use bobweight::store::{ByteStore, StoreError};
use bobweight_ignition_port::{Board, Port};
use bobweight_wire::{FirmwareVersion, Frame};

const READ: u8 = 1 << 0;
const WRITE: u8 = 1 << 1;
const UNLOCK: u8 = 1 << 2;

/// The chip's EEPROM.
#[derive(Debug)]
pub struct Eeprom;

impl Eeprom {
    /// Waits until the byte before is written, which takes 3.4 ms.
    fn wait() {
        while EECR.read() & WRITE != 0 {
            feed_watchdog();
        }
    }

    #[allow(clippy::cast_possible_truncation, reason = "a pointer of this chip has sixteen bits")]
    fn at(address: usize, quiet: Quiet) {
        EEAR.write(address as u16, quiet);
    }
}

impl ByteStore for Eeprom {
    fn read(&mut self, address: usize) -> u8 {
        Self::wait();
        quietly(|quiet| {
            Self::at(address, quiet);
            EECR.write(READ);
            EEDR.read()
        })
    }

    fn write(&mut self, address: usize, value: u8) -> Result<(), StoreError> {
        Self::wait();
        quietly(|quiet| {
            if pickup::has_edge(quiet) {
                return Err(StoreError::EngineTurns);
            }
            Self::at(address, quiet);
            EEDR.write(value);
            // The second write must follow within four cycles.
            EECR.write(UNLOCK);
            EECR.write(UNLOCK | WRITE);
            Ok(())
        })?;
        Self::wait();
        Ok(())
    }
}

/// What this board says of itself.
const BOARD: Board = Board {
    firmware: FirmwareVersion { major: 0, minor: 1, patch: 0 },
    tick_rate_hz: FIRMWARE.tick_rate.bits(),
    // A ceramic resonator's.
    clock_tolerance_ppm: 5_000,
    can_time: |engine| settings_of(engine).is_some(),
};

fn settings_of(engine: &EngineSettings) -> Option<Settings> {
    Settings::new(&engine.model, &engine.pickup, &engine.dwell, engine.sensor, engine.timing_flank_rises).ok()
}

/// The serial port with the store behind it.
pub struct Store {
    port: Port<Eeprom>,
    answer: Frame,
}

impl Store {
    /// Looks into the store at key-on. Interrupts go on afterwards.
    pub fn open() -> (Self, Option<Settings>) {
        let (port, settings) = Port::open(Eeprom, BOARD, settings_of);
        (Self { port, answer: Frame::new() }, settings)
    }

    /// Takes one byte that has come, and answers at the end of a message.
    #[inline(never)]
    pub fn serve(&mut self) {
        let Some(byte) = quietly(line::next) else { return };
        let turns = quietly(pickup::turns);
        // Before a curve is committed its timetable is worked out; while the engine turns none is.
        if !turns {
            quietly(|quiet| watchdog::set(Patience::Long, quiet));
        }
        if self.port.take(byte, turns, &mut self.answer) {
            quietly(|quiet| line::send(&self.answer, quiet));
        }
        if !turns {
            quietly(|quiet| watchdog::set(Patience::Short, quiet));
        }
    }
}
