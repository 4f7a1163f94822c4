//! A logic analyser on the built-in bench: what went over the pickup's and the coil's wires, as a value change dump.

use std::cell::RefCell;
use std::fmt::Write as _;
use std::io::{Read, Result, Write};
use std::rc::Rc;

use bobweight_wire::{BoardMessage, Decoder, EventKind};

/// Listens to what a board sends, on its way to the host.
pub struct Witness<S> {
    stream: S,
    heard: Rc<RefCell<Vec<u8>>>,
}

impl<S: Read + Write> Witness<S> {
    /// A witness of this stream, and where it keeps what it hears.
    pub fn of(stream: S) -> (Self, Rc<RefCell<Vec<u8>>>) {
        let heard = Rc::new(RefCell::new(Vec::new()));
        (Self { stream, heard: Rc::clone(&heard) }, heard)
    }
}

impl<S: Read> Read for Witness<S> {
    fn read(&mut self, buffer: &mut [u8]) -> Result<usize> {
        let length = self.stream.read(buffer)?;
        self.heard.borrow_mut().extend_from_slice(&buffer[..length]);
        Ok(length)
    }
}

impl<S: Write> Write for Witness<S> {
    fn write(&mut self, bytes: &[u8]) -> Result<usize> {
        self.stream.write(bytes)
    }

    fn flush(&mut self) -> Result<()> {
        self.stream.flush()
    }
}

/// The dump of what was heard, from a board of 2 million ticks a second and a pickup whose timing flank falls.
///
/// # Panics
/// Where a frame cannot be read: the line was perfect.
pub fn dump(heard: &[u8]) -> String {
    let mut text = String::from(
        "$timescale 100 ns $end\n$scope module bench $end\n$var wire 1 p pickup $end\n$var wire 1 c coil $end\n$upscope $end\n\
         $enddefinitions $end\n#0\n1p\n0c\n",
    );
    let (mut decoder, mut now) = (Decoder::new(), 0_u64);
    for &byte in heard {
        let Some(message) = decoder.push::<BoardMessage>(byte) else { continue };
        let BoardMessage::Events(batch) = message.expect("a perfect line") else { continue };
        #[expect(clippy::cast_possible_truncation, reason = "the board's clock has the lower 32 bits")]
        let mut at = now + u64::from(batch.start.wrapping_sub(now as u32));
        for event in &batch.events {
            at += u64::from(event.ticks);
            let change = match event.kind {
                EventKind::Timing | EventKind::MovedTiming | EventKind::StrayTiming => "0p",
                EventKind::Second | EventKind::MovedSecond | EventKind::StraySecond => "1p",
                EventKind::CoilOn => "1c",
                EventKind::CoilOff => "0c",
                _ => continue,
            };
            // A tick of half a microsecond is five steps.
            let _ = writeln!(text, "#{}\n{change}", 5 * at);
        }
        now = at;
    }
    text
}
