//! An ignition's serial port: bytes in, bytes out, and an image kept in two slots.
//!
//! Firmware gives it the bytes that arrive and a store of bytes; the tests give it a pseudo-terminal and an array. So what was
//! tried with power cut at every byte is what runs on the board. It never runs beside an engine that turns: whoever calls
//! says whether one does, and the store gives a write up when an edge comes.
#![no_std]
#![forbid(unsafe_code)]
#![warn(missing_docs)]

use bobweight::image::{EngineSettings, IMAGE_VERSION, ImageError};
use bobweight::store::{ByteStore, Slots, StoreError};
use bobweight_wire::{
    FirmwareVersion, Frame, FromIgnition, Greeting, IgnitionAnswer, IgnitionMessage, IgnitionRefusal, IgnitionReply,
    IgnitionRequest, LARGEST_PIECE, Piece, RequestDecoder, Role, Standing, StoredImage,
};

/// The serial port of an ignition: 8 data bits, no parity, 1 stop bit. Its interrupts are long, so it is slow.
pub const BAUD: u32 = 38_400;

/// What the board says of itself.
#[derive(Clone, Copy, Debug)]
pub struct Board {
    /// Version of the firmware.
    pub firmware: FirmwareVersion,
    /// Ticks in a second by its own clock.
    pub tick_rate_hz: u32,
    /// How far that clock may be out either way, in parts per million.
    pub clock_tolerance_ppm: u32,
    /// Whether the firmware can time sparks by these settings: its tick and its latency are not in an image.
    pub can_time: fn(&EngineSettings) -> bool,
}

/// The port, the store behind it, and what is in it.
#[derive(Debug)]
pub struct Port<S> {
    store: S,
    slots: Slots,
    works_by: Option<u32>,
    decoder: RequestDecoder,
    board: Board,
}

impl<S: ByteStore> Port<S> {
    /// Looks into the store at key-on. `timed` makes of the settings what the firmware works by, or nothing where it cannot time
    /// sparks by them; without it no dwell may begin.
    pub fn open<T>(mut store: S, board: Board, timed: impl FnOnce(&EngineSettings) -> Option<T>) -> (Self, Option<T>) {
        let (slots, settings) = Slots::open(&mut store);
        let settings = settings.as_ref().and_then(timed);
        let works_by = settings.as_ref().and(slots.in_use()).map(|stored| stored.identity.checksum);
        (Self { store, slots, works_by, decoder: RequestDecoder::new(), board }, settings)
    }

    /// The store.
    pub fn store(&mut self) -> &mut S {
        &mut self.store
    }

    /// Takes a byte that arrived. Whether `answer` is to be sent: at the end of each frame, and then before another byte is
    /// taken. `turns` says whether the engine turns or has done so in the last second.
    pub fn take(&mut self, byte: u8, turns: bool, answer: &mut Frame) -> bool {
        let said = match self.decoder.push::<IgnitionRequest>(byte) {
            None => return false,
            Some(Err(fault)) => FromIgnition::Unreadable(fault),
            Some(Ok(request)) => {
                let answer = self.answer(&request.message, turns);
                FromIgnition::Reply(IgnitionReply { sequence: request.sequence, answer })
            }
        };
        // Every message of an ignition fits a frame.
        match Frame::of(&said) {
            Ok(frame) => *answer = frame,
            Err(_) => return false,
        }
        true
    }

    fn answer(&mut self, message: &IgnitionMessage, turns: bool) -> IgnitionAnswer {
        match message {
            IgnitionMessage::Identify => IgnitionAnswer::Greeting(Greeting {
                firmware: self.board.firmware,
                tick_rate_hz: self.board.tick_rate_hz,
                clock_tolerance_ppm: self.board.clock_tolerance_ppm,
                role: Role::Ignition,
            }),
            IgnitionMessage::Stand => IgnitionAnswer::Standing(self.standing(turns)),
            IgnitionMessage::Read(at) => self.piece(*at),
            IgnitionMessage::Write(_) | IgnitionMessage::Commit if turns => {
                IgnitionAnswer::Refused(IgnitionRefusal::Turns)
            }
            IgnitionMessage::Write(piece) => {
                done(self.slots.write(&mut self.store, usize::from(piece.at), piece.as_slice()))
            }
            IgnitionMessage::Commit => self.commit(),
        }
    }

    /// That the firmware can time its sparks is asked before the image is committed, not at the next key-on.
    fn commit(&mut self) -> IgnitionAnswer {
        match self.slots.written(&mut self.store) {
            Err(error) => return done(Err(error)),
            Ok(settings) if !(self.board.can_time)(&settings) => {
                return IgnitionAnswer::Refused(IgnitionRefusal::Settings);
            }
            Ok(_) => {}
        }
        done(self.slots.commit(&mut self.store).map(|_| ()))
    }

    fn standing(&self, turns: bool) -> Standing {
        Standing {
            turns,
            newest_version: IMAGE_VERSION,
            stored: self.slots.in_use().map(|stored| StoredImage {
                // An image has at most a few hundred bytes.
                length: u16::try_from(stored.identity.length).unwrap_or(u16::MAX),
                checksum: stored.identity.checksum,
                generation: stored.generation,
            }),
            works_by: self.works_by,
        }
    }

    fn piece(&mut self, at: u16) -> IgnitionAnswer {
        if self.slots.in_use().is_none() {
            return IgnitionAnswer::Refused(IgnitionRefusal::NothingStored);
        }
        let mut bytes = [0; LARGEST_PIECE];
        let mut length = 0;
        for (place, byte) in (usize::from(at)..).zip(&mut bytes) {
            let Some(stored) = self.slots.byte(&mut self.store, place) else { break };
            *byte = stored;
            length += 1;
        }
        IgnitionAnswer::Piece(Piece::of(at, bytes.get(..length).unwrap_or_default()))
    }
}

fn done(outcome: Result<(), StoreError>) -> IgnitionAnswer {
    let refusal = match outcome {
        Ok(()) => return IgnitionAnswer::Accepted,
        Err(StoreError::EngineTurns) => IgnitionRefusal::Turns,
        Err(StoreError::Outside) => IgnitionRefusal::Outside,
        Err(StoreError::Image(ImageError::Version { .. })) => IgnitionRefusal::Version,
        Err(StoreError::Image(
            ImageError::NoImage | ImageError::Short { .. } | ImageError::Checksum { .. } | ImageError::Part(_),
        )) => IgnitionRefusal::NoImage,
        Err(StoreError::Image(_)) => IgnitionRefusal::Settings,
        Err(_) => IgnitionRefusal::NotKept,
    };
    IgnitionAnswer::Refused(refusal)
}
