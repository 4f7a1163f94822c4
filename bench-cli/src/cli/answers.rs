//! Standard input as somebody answers at it: an interrupt ends it as the end of the input does.

use crate::interrupt::Interrupt;
use std::io::{BufRead, Error, ErrorKind, Read};
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::time::Duration;

/// How often an interrupt is looked for while nobody answers.
const LOOK: Duration = Duration::from_millis(50);
/// Bytes that are read at once.
const BUFFER_BYTES: usize = 4_096;

/// Answers from a stream whose reads wait without end. A thread does the waiting, and only while somebody is asked: what is
/// typed after the last question is left to whatever comes next.
pub struct Answers {
    wanted: Sender<()>,
    heard: Receiver<Result<Vec<u8>, Error>>,
    /// Whether a read is under way.
    waiting: bool,
    bytes: Vec<u8>,
    used: usize,
    interrupt: Interrupt,
}

impl Answers {
    /// Answers from a stream, until this interrupt.
    pub fn of(mut stream: impl Read + Send + 'static, interrupt: Interrupt) -> Self {
        let ((wanted, wants), (hears, heard)) = (channel(), channel());
        std::thread::spawn(move || {
            while wants.recv().is_ok() {
                let mut bytes = vec![0; BUFFER_BYTES];
                let read = stream.read(&mut bytes).map(|length| {
                    bytes.truncate(length);
                    bytes
                });
                if hears.send(read).is_err() {
                    break;
                }
            }
        });
        Self { wanted, heard, waiting: false, bytes: Vec::new(), used: 0, interrupt }
    }

    fn wait(&mut self) -> Result<Vec<u8>, Error> {
        let gone = || Error::from(ErrorKind::BrokenPipe);
        if !self.waiting {
            self.wanted.send(()).map_err(|_| gone())?;
            self.waiting = true;
        }
        while !self.interrupt.asked() {
            match self.heard.recv_timeout(LOOK) {
                Ok(heard) => {
                    self.waiting = false;
                    return heard;
                }
                Err(RecvTimeoutError::Timeout) => {}
                Err(RecvTimeoutError::Disconnected) => return Err(gone()),
            }
        }
        Ok(Vec::new())
    }
}

impl Read for Answers {
    fn read(&mut self, buffer: &mut [u8]) -> Result<usize, Error> {
        let length = self.fill_buf()?.read(buffer)?;
        self.consume(length);
        Ok(length)
    }
}

impl BufRead for Answers {
    fn fill_buf(&mut self) -> Result<&[u8], Error> {
        if self.used == self.bytes.len() {
            self.used = 0;
            self.bytes = self.wait()?;
        }
        Ok(if self.interrupt.asked() { &[] } else { &self.bytes[self.used..] })
    }

    fn consume(&mut self, length: usize) {
        self.used = (self.used + length).min(self.bytes.len());
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Whoever types nothing more.
    struct Typed(Vec<&'static [u8]>, Sender<()>);

    impl Read for Typed {
        fn read(&mut self, buffer: &mut [u8]) -> Result<usize, Error> {
            if self.0.is_empty() {
                let _ = self.1.send(());
                loop {
                    std::thread::park();
                }
            }
            self.0.remove(0).read(buffer)
        }
    }

    #[test]
    fn answers_come_whole_and_an_interrupt_is_the_end_of_them() {
        let (interrupt, (nothing_more, waits)) = (Interrupt::default(), channel());
        let mut answers = Answers::of(Typed(vec![b"65", b"0\n8\n", b"13"], nothing_more), interrupt.clone());
        let mut line = String::new();
        answers.read_line(&mut line).expect("a line");
        answers.read_line(&mut line).expect("a line");
        assert_eq!(line, "650\n8\n");
        let somebody = std::thread::spawn(move || {
            waits.recv().expect("it reads on");
            interrupt.ask();
        });
        line.clear();
        answers.read_line(&mut line).expect("an end");
        assert_eq!(line, "13", "half an answer, as at the end of any input");
        assert_eq!(answers.read_line(&mut line).expect("an end"), 0);
        somebody.join().expect("it ends");
    }

    #[test]
    fn the_end_of_the_stream_is_the_end_of_the_answers() {
        let mut answers = Answers::of(&b"yes\n"[..], Interrupt::default());
        let mut all = String::new();
        answers.read_to_string(&mut all).expect("all of it");
        assert_eq!(all, "yes\n");
    }
}
