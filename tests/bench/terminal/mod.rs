//! Pseudo-terminals, and what the tests put behind them.

pub mod board;
pub mod line;

use std::fs::{File, OpenOptions};
use std::os::fd::AsFd;
use std::path::PathBuf;

use rustix::fs::{OFlags, fcntl_getfl, fcntl_setfl};
use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};
use rustix::termios::{OptionalActions, tcgetattr, tcsetattr};

/// Both ends of a pseudo-terminal that passes bytes on as they are. A read or write of the near end does not wait.
pub struct Pair {
    /// The test's end.
    pub near: File,
    /// The other end, held open: while nobody else has it open yet, it must not count as hung up.
    pub far: File,
    /// The path of the other end.
    pub path: PathBuf,
}

/// A new pseudo-terminal.
pub fn pair() -> Pair {
    let near = openpt(OpenptFlags::RDWR | OpenptFlags::NOCTTY).expect("a pseudo-terminal");
    grantpt(&near).expect("its other end is ours");
    unlockpt(&near).expect("its other end can be opened");
    let path = PathBuf::from(ptsname(&near, Vec::new()).expect("a name").into_string().expect("a plain path"));
    let far = OpenOptions::new().read(true).write(true).open(&path).expect("the other end");
    let mut attributes = tcgetattr(&far).expect("a terminal's attributes");
    attributes.make_raw();
    tcsetattr(far.as_fd(), OptionalActions::Now, &attributes).expect("a line without echo");
    let flags = fcntl_getfl(&near).expect("flags of an open file");
    fcntl_setfl(&near, flags | OFlags::NONBLOCK).expect("reads that do not wait");
    Pair { near: File::from(near), far, path }
}
