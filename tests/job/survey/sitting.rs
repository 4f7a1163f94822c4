//! Somebody at a terminal with `bobweight` on it, that asks one question after the other.

use std::ffi::OsStr;
use std::fs::File;
use std::io::{ErrorKind, Read, Write};
use std::os::fd::AsFd;
use std::process::{Child, Command, ExitStatus};

use rustix::termios::{LocalModes, OptionalActions, tcgetattr, tcsetattr};

use super::terminal;

/// How a sitting ends before the survey does.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub enum Interruption {
    /// The answer `stop`.
    Stop,
    /// The key that a terminal turns into an interrupt, behind half an answer.
    CtrlC,
    /// The process is killed, behind half an answer.
    Killed,
}

const CTRL_C: &[u8] = b"\x03";

/// The command on a terminal of its own.
pub struct Sitting {
    near: File,
    child: Child,
    /// Everything it said.
    pub said: String,
    heard: usize,
}

impl Sitting {
    /// Begins, or goes on where a file is; the binary gets these arguments.
    pub fn begin(arguments: &[&OsStr], interruption: Option<Interruption>) -> Self {
        let (near, far) = terminal::pair();
        let binary = env!("CARGO_BIN_EXE_bobweight");
        // Only the terminal of a session of its own turns a key into an interrupt of the command. What a session's leader says
        // last may be lost with it, so the others are none.
        let mut command = if interruption == Some(Interruption::CtrlC) {
            let mut attributes = tcgetattr(&far).expect("a terminal's attributes");
            attributes.local_modes |= LocalModes::ISIG;
            tcsetattr(far.as_fd(), OptionalActions::Now, &attributes).expect("a line with its keys");
            let mut session = Command::new("setsid");
            // Whoever runs the tests in the background may have them ignore interrupts, which a command inherits.
            session.args(["--ctty", "env", "--default-signal=INT"]).arg(binary);
            session
        } else {
            Command::new(binary)
        };
        let child = command
            .args(arguments)
            .stdin(far.try_clone().expect("a terminal"))
            .stdout(far.try_clone().expect("a terminal"))
            .stderr(far)
            .spawn()
            .expect("the binary runs");
        Self { near, child, said: String::new(), heard: 0 }
    }

    /// Waits for a question; none where the command has ended.
    pub fn question(&mut self) -> Option<String> {
        let mut bytes = [0; 4096];
        loop {
            match self.near.read(&mut bytes) {
                Ok(0) => return None,
                Ok(count) => self.said.push_str(&String::from_utf8_lossy(&bytes[..count])),
                Err(error) if error.kind() == ErrorKind::WouldBlock => {
                    let new = &self.said[self.heard..];
                    if [": ", "? ", ") "].iter().any(|end| new.ends_with(end)) {
                        let last = new.rsplit('\n').next().unwrap_or("").trim().to_owned();
                        self.heard = self.said.len();
                        return Some(last);
                    }
                    terminal::wait(&self.near, &self.said);
                }
                // The far end is closed.
                Err(_) => return None,
            }
        }
    }

    /// Types a line.
    pub fn answer(&mut self, text: &str) {
        self.near.write_all(format!("{text}\n").as_bytes()).expect("it listens");
    }

    /// Ends the sitting at a question.
    pub fn interrupt(&mut self, how: Interruption) {
        match how {
            Interruption::Stop => self.answer("stop"),
            Interruption::CtrlC => {
                self.near.write_all(b"7").expect("it listens");
                self.near.write_all(CTRL_C).expect("it listens");
            }
            Interruption::Killed => {
                self.near.write_all(b"7").expect("it listens");
                self.child.kill().expect("it runs");
            }
        }
        assert_eq!(self.question(), None, "it ends:\n{}", self.said);
    }

    /// How the command ended.
    pub fn end(&mut self) -> ExitStatus {
        self.child.wait().expect("it ended")
    }
}
