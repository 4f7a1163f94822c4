//! The host's side of an ignition's serial port.

use std::io::{ErrorKind, Read, Write};
use std::time::{Duration, Instant};

use bobweight::image::{EngineSettings, ImageError};
use bobweight_wire::{
    Decoder, Frame, FrameFault, FromIgnition, Greeting, IgnitionAnswer, IgnitionMessage, IgnitionRefusal,
    IgnitionRequest, LARGEST_PIECE, PROTOCOL, Piece, Role, Standing,
};
use miette::Diagnostic;
use serialport::SerialPort;
use thiserror::Error;

use super::LinkError;
use crate::interrupt::Interrupt;

/// Speed of an ignition's serial port.
pub const BAUD: u32 = 38_400;
/// How long a read waits.
const PATIENCE: Duration = Duration::from_millis(250);
/// A message is answered when it is done: sixteen bytes of EEPROM take 55 ms, a commitment less.
const ANSWER: Duration = Duration::from_secs(2);
/// How often a board is asked who it is: one that restarts when its serial port is opened misses the first time.
const GREETINGS: u32 = 3;
/// A message whose frame was spoilt is sent again this often: none of them does harm twice.
const TRIES: u32 = 3;

/// Why an ignition could not be read or written. Each text says what, where, and what to do next.
#[derive(Debug, Error, Diagnostic)]
pub enum IgnitionError {
    /// Nothing answered as an ignition does.
    #[error("{place}: no ignition answered{}; look whether it has power, whether its firmware has a serial port, and whether this is it (`bobweight serial` lists them)", heard.map(|fault| format!(" (heard only {fault})")).unwrap_or_default())]
    NotAnIgnition {
        /// The link's name.
        place: String,
        /// What was heard instead, if anything.
        heard: Option<FrameFault>,
    },
    /// A stimulator answered.
    #[error("{place}: this is a stimulator, not an ignition; give the other board's serial port")]
    Stimulator {
        /// The link's name.
        place: String,
    },
    /// The two speak different protocols.
    #[error("{place}: the ignition speaks protocol {theirs}, this program {PROTOCOL}; update {}", if *theirs > PROTOCOL { "this program" } else { "the ignition's firmware" })]
    Protocol {
        /// The link's name.
        place: String,
        /// The board's protocol.
        theirs: u8,
    },
    /// A message was not answered.
    #[error(
        "{place}: the ignition stopped answering; look at the cable and its power, and write again: the old curve is in it still, or the new one whole"
    )]
    Silent {
        /// The link's name.
        place: String,
    },
    /// The stream broke.
    #[error(
        "{place}: the link broke ({cause}); look at the cable, and write again: the old curve is in it still, or the new one whole"
    )]
    Broken {
        /// The link's name.
        place: String,
        /// The system's reason.
        cause: std::io::Error,
    },
    /// Somebody interrupted.
    #[error("interrupted; {place}: {written}")]
    Interrupted {
        /// The link's name.
        place: String,
        /// How far a new curve was written.
        written: Written,
    },
    /// A message was refused.
    #[error("{place}: {refusal}")]
    Refused {
        /// The link's name.
        place: String,
        /// Why.
        refusal: IgnitionRefusal,
    },
    /// The engine turns.
    #[error("{place}: the engine turns, or has turned in the last second; stop it: nothing was written")]
    Turns {
        /// The link's name.
        place: String,
    },
    /// The firmware reads older images only.
    #[error(
        "{place}: its firmware reads images up to version {newest}, and this one has version {ours}; update the firmware"
    )]
    Version {
        /// The link's name.
        place: String,
        /// The newest version that the firmware reads.
        newest: u8,
        /// Ours.
        ours: u8,
    },
    /// What was read back is not what was written.
    #[error("{place}: what it holds is not what was written; look for a loose plug, and write again")]
    NotTheSame {
        /// The link's name.
        place: String,
    },
    /// What was read is no image that this program can use.
    #[error("{place}: {error}")]
    Image {
        /// The link's name.
        place: String,
        /// What is wrong.
        error: ImageError,
    },
    /// The serial port cannot be opened.
    #[error(transparent)]
    Serial(#[from] LinkError),
}

/// How far a new curve was written, by what the ignition confirmed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Written {
    /// So many of its bytes, beside the curve that is in use.
    Part {
        /// Bytes that were confirmed.
        bytes: usize,
        /// Bytes that it has.
        of: usize,
    },
    /// All of it, and the ignition was asked to make it the one in use.
    Whole,
    /// It is the one in use.
    InUse,
}

impl std::fmt::Display for Written {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Part { bytes: 0, .. } => f.write_str(
                "nothing of the new curve was confirmed, and the curve that was in it is in use still; write again",
            ),
            Self::Part { bytes, of } => write!(
                f,
                "{bytes} of the new curve's {of} bytes were confirmed, and the curve that was in it is in use still; write again"
            ),
            Self::Whole => f.write_str(
                "the new curve was written whole, and the ignition had not confirmed that it made it the one in use: it holds the old curve \
                 or the new one, whole: `bobweight read` says which",
            ),
            Self::InUse => f.write_str(
                "the new curve is in it, and was not read back: compare it by `bobweight read --against` with the sheet",
            ),
        }
    }
}

/// A link to an ignition over any stream of bytes whose reads end after a while.
///
/// An interrupt is looked for before each message and each read until the whole curve is written. What follows takes an ignition
/// that answers less than a second and is done to its end: only where nothing comes is an interrupt heard.
pub struct IgnitionLink<S> {
    stream: S,
    place: String,
    decoder: Decoder,
    sequence: u8,
    interrupt: Interrupt,
    written: Written,
}

/// Opens a serial port and greets the ignition behind it; heeds an interrupt.
///
/// # Errors
/// A serial port that cannot be opened, and whatever [`IgnitionLink::open`] refuses.
pub fn open(path: &str, interrupt: &Interrupt) -> Result<IgnitionLink<Box<dyn SerialPort>>, IgnitionError> {
    let port = super::serial::open_at(path, BAUD, PATIENCE)?;
    IgnitionLink::open(port, format!("serial port {path}"), interrupt)
}

impl<S: Read + Write> IgnitionLink<S> {
    /// Greets the board at the other end; `place` names the link in every error.
    ///
    /// # Errors
    /// Where no ignition answers, or one of another protocol.
    pub fn open(stream: S, place: impl Into<String>, interrupt: &Interrupt) -> Result<Self, IgnitionError> {
        let mut link = Self {
            stream,
            place: place.into(),
            decoder: Decoder::new(),
            sequence: 0,
            interrupt: interrupt.clone(),
            written: Written::Part { bytes: 0, of: 0 },
        };
        // A zero cuts off what a restart left behind at the other end.
        link.send_bytes(&[0])?;
        link.greet()?;
        Ok(link)
    }

    /// The link's name.
    pub fn place(&self) -> &str {
        &self.place
    }

    fn greet(&mut self) -> Result<Greeting, IgnitionError> {
        let mut heard = None;
        for _ in 0..GREETINGS {
            match self.ask_once(IgnitionMessage::Identify)? {
                Heard::Answer(IgnitionAnswer::Greeting(greeting)) => {
                    return match greeting.role {
                        Role::Ignition => Ok(greeting),
                        Role::Stimulator(_) => Err(IgnitionError::Stimulator { place: self.place.clone() }),
                    };
                }
                Heard::Fault(FrameFault::NewerProtocol(theirs) | FrameFault::OlderProtocol(theirs)) => {
                    return Err(IgnitionError::Protocol { place: self.place.clone(), theirs });
                }
                Heard::Fault(fault) => heard = Some(fault),
                Heard::Answer(_) | Heard::Nothing => {}
            }
        }
        Err(IgnitionError::NotAnIgnition { place: self.place.clone(), heard })
    }

    /// How the ignition stands.
    ///
    /// # Errors
    /// Where the link fails.
    pub fn standing(&mut self) -> Result<Standing, IgnitionError> {
        match self.ask(IgnitionMessage::Stand)? {
            IgnitionAnswer::Standing(standing) => Ok(standing),
            _ => Err(self.silent()),
        }
    }

    /// The bytes of the image in use; none where there is none.
    ///
    /// # Errors
    /// Where the link fails.
    pub fn image(&mut self) -> Result<Option<Vec<u8>>, IgnitionError> {
        let Some(stored) = self.standing()?.stored else { return Ok(None) };
        let mut image = Vec::new();
        while image.len() < usize::from(stored.length) {
            let at = u16::try_from(image.len()).unwrap_or(u16::MAX);
            match self.ask(IgnitionMessage::Read(at))? {
                IgnitionAnswer::Piece(piece) if piece.at == at && piece.length > 0 => {
                    image.extend_from_slice(piece.as_slice());
                }
                _ => return Err(self.silent()),
            }
        }
        image.truncate(usize::from(stored.length));
        Ok(Some(image))
    }

    /// The settings in use; none where there are none.
    ///
    /// # Errors
    /// Where the link fails, and where the image is none that this program can use.
    pub fn settings(&mut self) -> Result<Option<EngineSettings>, IgnitionError> {
        let Some(image) = self.image()? else { return Ok(None) };
        let settings = EngineSettings::decode(&image);
        settings.map(Some).map_err(|error| IgnitionError::Image { place: self.place.clone(), error })
    }

    /// Writes an image, commits it and reads it back.
    ///
    /// # Errors
    /// Where the engine turns, the firmware cannot read the version or refuses, the link fails, or what is read back differs.
    pub fn write(&mut self, image: &[u8], version: u8) -> Result<(), IgnitionError> {
        let standing = self.standing()?;
        if standing.turns {
            return Err(IgnitionError::Turns { place: self.place.clone() });
        }
        if version > standing.newest_version {
            let (place, newest) = (self.place.clone(), standing.newest_version);
            return Err(IgnitionError::Version { place, newest, ours: version });
        }
        for (number, piece) in image.chunks(LARGEST_PIECE).enumerate() {
            let at = u16::try_from(number * LARGEST_PIECE).unwrap_or(u16::MAX);
            self.accepted(IgnitionMessage::Write(Piece::of(at, piece)))?;
            self.written = Written::Part { bytes: usize::from(at) + piece.len(), of: image.len() };
        }
        self.heed_interrupt()?;
        self.written = Written::Whole;
        self.commit(image)?;
        self.written = Written::InUse;
        if self.image()?.as_deref() == Some(image) {
            Ok(())
        } else {
            Err(IgnitionError::NotTheSame { place: self.place.clone() })
        }
    }

    /// A commitment whose answer is lost has perhaps been made: how the ignition stands tells, and asking twice would commit
    /// what the other slot holds.
    fn commit(&mut self, image: &[u8]) -> Result<(), IgnitionError> {
        let ours = image.last_chunk().map(|checksum| u32::from_le_bytes(*checksum));
        let mut outcome = Err(self.silent());
        for _ in 0..TRIES {
            match self.ask_once(IgnitionMessage::Commit)? {
                Heard::Answer(IgnitionAnswer::Accepted) => return Ok(()),
                Heard::Answer(IgnitionAnswer::Refused(refusal)) => {
                    outcome = Err(IgnitionError::Refused { place: self.place.clone(), refusal });
                }
                Heard::Answer(_) | Heard::Fault(_) | Heard::Nothing => {}
            }
            if self.standing()?.stored.map(|stored| stored.checksum) == ours {
                return Ok(());
            }
            if matches!(outcome, Err(IgnitionError::Refused { .. })) {
                break;
            }
        }
        outcome
    }

    fn accepted(&mut self, message: IgnitionMessage) -> Result<(), IgnitionError> {
        match self.ask(message)? {
            IgnitionAnswer::Accepted => Ok(()),
            _ => Err(self.silent()),
        }
    }

    /// Asks until there is an answer, a refusal being an error.
    fn ask(&mut self, message: IgnitionMessage) -> Result<IgnitionAnswer, IgnitionError> {
        for _ in 0..TRIES {
            match self.ask_once(message)? {
                Heard::Answer(IgnitionAnswer::Refused(refusal)) => {
                    return Err(IgnitionError::Refused { place: self.place.clone(), refusal });
                }
                Heard::Answer(answer) => return Ok(answer),
                Heard::Fault(_) | Heard::Nothing => {}
            }
        }
        Err(self.silent())
    }

    fn heed_interrupt(&self) -> Result<(), IgnitionError> {
        if self.interrupt.asked() {
            return Err(IgnitionError::Interrupted { place: self.place.clone(), written: self.written });
        }
        Ok(())
    }

    /// As long as nothing is changed by stopping.
    fn heed_interrupt_in_time(&self) -> Result<(), IgnitionError> {
        if matches!(self.written, Written::Part { .. }) { self.heed_interrupt() } else { Ok(()) }
    }

    fn ask_once(&mut self, message: IgnitionMessage) -> Result<Heard, IgnitionError> {
        self.heed_interrupt_in_time()?;
        self.sequence = self.sequence.wrapping_add(1);
        let sequence = self.sequence;
        let Ok(frame) = Frame::of(&IgnitionRequest { sequence, message }) else { return Err(self.silent()) };
        self.send_bytes(frame.as_bytes())?;
        let asked = Instant::now();
        let mut buffer = [0; 64];
        while asked.elapsed() < ANSWER {
            self.heed_interrupt_in_time()?;
            let length = match self.stream.read(&mut buffer) {
                Ok(0) => return Err(self.broken(ErrorKind::UnexpectedEof.into())),
                Ok(length) => length,
                Err(error) if matches!(error.kind(), ErrorKind::TimedOut | ErrorKind::WouldBlock) => {
                    self.heed_interrupt()?;
                    continue;
                }
                Err(error) if error.kind() == ErrorKind::Interrupted => continue,
                Err(error) => return Err(self.broken(error)),
            };
            for &byte in &buffer[..length] {
                match self.decoder.push::<FromIgnition>(byte) {
                    Some(Ok(FromIgnition::Reply(reply))) if reply.sequence == sequence => {
                        return Ok(Heard::Answer(reply.answer));
                    }
                    Some(Ok(FromIgnition::Unreadable(fault)) | Err(fault)) => return Ok(Heard::Fault(fault)),
                    // An answer that came too late.
                    Some(Ok(_)) | None => {}
                }
            }
        }
        Ok(Heard::Nothing)
    }

    fn send_bytes(&mut self, bytes: &[u8]) -> Result<(), IgnitionError> {
        self.stream.write_all(bytes).and_then(|()| self.stream.flush()).map_err(|cause| self.broken(cause))
    }

    fn broken(&self, cause: std::io::Error) -> IgnitionError {
        IgnitionError::Broken { place: self.place.clone(), cause }
    }

    fn silent(&self) -> IgnitionError {
        IgnitionError::Silent { place: self.place.clone() }
    }
}

enum Heard {
    Answer(IgnitionAnswer),
    Fault(FrameFault),
    Nothing,
}
