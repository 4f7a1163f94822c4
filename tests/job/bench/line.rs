//! The board's end of a serial line, and what can happen to the line.

use std::fs::File;
use std::io::{Error, ErrorKind, Read, Result, Write};
use std::os::fd::AsFd;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex};

use bobweight_wire::{Decoder, HostMessage, Request};
use rustix::event::{PollFd, PollFlags, Timespec, poll};

/// What happens to the bytes on their way.
#[derive(Clone, Copy, Debug)]
pub enum Trouble {
    /// Nothing.
    None,
    /// The cable is pulled after so many bytes.
    Unplugged(usize),
    /// About one byte in so many has a random one pushed in before it; counted from a seed.
    Pushed(u32, u64),
    /// About one byte in so many arrives as another; counted from a seed.
    Changed(u32, u64),
    /// The same on the way to the board.
    Misheard(u32, u64),
    /// The board restarts after so many bytes, once; it may greet of its own accord then.
    Restarts {
        /// After so many bytes.
        after: usize,
        /// Whether it greets.
        greets: bool,
    },
}

/// The board's end of a serial line.
pub struct Line {
    near: File,
    trouble: Trouble,
    sent: usize,
    random: u64,
    stop: Arc<AtomicBool>,
    decoder: Decoder,
    asked: Arc<Mutex<Option<HostMessage>>>,
}

impl Line {
    /// The near end of a pseudo-terminal as a board's line, until `stop`; `asked` keeps the host's last message.
    pub fn new(near: File, trouble: Trouble, stop: Arc<AtomicBool>, asked: Arc<Mutex<Option<HostMessage>>>) -> Self {
        let random = match trouble {
            Trouble::Pushed(_, seed) | Trouble::Changed(_, seed) | Trouble::Misheard(_, seed) => {
                seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1
            }
            Trouble::None | Trouble::Unplugged(_) | Trouble::Restarts { .. } => 1,
        };
        Self { near, trouble, sent: 0, random, stop, decoder: Decoder::new(), asked }
    }

    /// Whether the board restarts now, and if so, whether it greets.
    pub fn restart(&mut self) -> Option<bool> {
        match std::mem::replace(&mut self.trouble, Trouble::None) {
            Trouble::Restarts { greets, .. } if !self.stopped() => Some(greets),
            _ => None,
        }
    }

    /// Whether the line is ready within a millisecond.
    fn ready(&self, flags: PollFlags) -> Result<bool> {
        let millisecond = Timespec { tv_sec: 0, tv_nsec: 1_000_000 };
        let mut line = [PollFd::from_borrowed_fd(self.near.as_fd(), flags)];
        Ok(poll(&mut line, Some(&millisecond))? > 0 && line[0].revents().intersects(flags))
    }

    fn stopped(&self) -> bool {
        self.stop.load(Ordering::Relaxed)
    }

    /// Marsaglia's xorshift of 64 bits with the shifts 13, 7, 17.
    fn random(&mut self) -> u64 {
        self.random ^= self.random << 13;
        self.random ^= self.random >> 7;
        self.random ^= self.random << 17;
        self.random >> 8
    }

    fn troubled(&mut self, bytes: &[u8]) -> Vec<u8> {
        let mut troubled = Vec::with_capacity(bytes.len());
        for &byte in bytes {
            let (random, [other, ..]) = (self.random(), self.random().to_le_bytes());
            let hit = |one_in: u32| random % u64::from(one_in) == 0;
            match self.trouble {
                Trouble::Pushed(one_in, _) if hit(one_in) => troubled.extend([other, byte]),
                Trouble::Changed(one_in, _) if hit(one_in) => troubled.push(other),
                _ => troubled.push(byte),
            }
        }
        troubled
    }
}

impl Read for Line {
    fn read(&mut self, buffer: &mut [u8]) -> Result<usize> {
        if self.stopped() {
            return Ok(0);
        }
        if !self.ready(PollFlags::IN)? {
            return Err(ErrorKind::TimedOut.into());
        }
        let length = self.near.read(buffer)?;
        if let Trouble::Misheard(one_in, _) = self.trouble {
            for byte in &mut buffer[..length] {
                let (random, [other, ..]) = (self.random(), self.random().to_le_bytes());
                *byte = if random % u64::from(one_in) == 0 { other } else { *byte };
            }
        }
        for &byte in &buffer[..length] {
            if let Some(Ok(request)) = self.decoder.push::<Request>(byte)
                && let Ok(mut asked) = self.asked.lock()
            {
                *asked = Some(request.message);
            }
        }
        Ok(length)
    }
}

impl Write for Line {
    fn write(&mut self, bytes: &[u8]) -> Result<usize> {
        let troubled = self.troubled(bytes);
        let mut left = troubled.as_slice();
        while !left.is_empty() {
            let ends = match self.trouble {
                Trouble::Unplugged(after) | Trouble::Restarts { after, .. } => self.sent >= after,
                _ => false,
            };
            if self.stopped() || ends {
                return Err(Error::from(ErrorKind::BrokenPipe));
            }
            if self.ready(PollFlags::OUT)? {
                match self.near.write(left) {
                    Ok(length) => {
                        self.sent += length;
                        left = &left[length..];
                    }
                    Err(error) if error.kind() == ErrorKind::WouldBlock => {}
                    Err(error) => return Err(error),
                }
            }
        }
        Ok(bytes.len())
    }

    fn flush(&mut self) -> Result<()> {
        Ok(())
    }
}
