//! Pseudo-terminals.

use std::fs::{File, OpenOptions};
use std::os::fd::AsFd;
use std::path::{Path, PathBuf};

use rustix::event::{PollFd, PollFlags, Timespec, poll};
use rustix::fs::{OFlags, fcntl_getfl, fcntl_setfl};
use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};
use rustix::termios::{OptionalActions, tcgetattr, tcsetattr};

/// Both ends of a pseudo-terminal that passes bytes on as they are. A read or write of the first, the test's own, does not
/// wait. While the second is open the terminal does not count as hung up.
pub fn pair() -> (File, File) {
    // Processes that other tests start must not hold it open.
    let near = openpt(OpenptFlags::RDWR | OpenptFlags::NOCTTY | OpenptFlags::CLOEXEC).expect("a pseudo-terminal");
    grantpt(&near).expect("its other end is ours");
    unlockpt(&near).expect("its other end can be opened");
    let near = File::from(near);
    let far = OpenOptions::new().read(true).write(true).open(path(&near)).expect("the other end");
    let mut attributes = tcgetattr(&far).expect("a terminal's attributes");
    attributes.make_raw();
    tcsetattr(far.as_fd(), OptionalActions::Now, &attributes).expect("a line without echo");
    let flags = fcntl_getfl(&near).expect("flags of an open file");
    fcntl_setfl(&near, flags | OFlags::NONBLOCK).expect("reads that do not wait");
    (near, far)
}

/// The path of the other end.
pub fn path(near: &File) -> PathBuf {
    let name = ptsname(near, Vec::new()).expect("a name").into_string().expect("a plain path");
    Path::new(&name).to_owned()
}

/// Waits until the other end has written something or is gone; `said` tells what came of it so far when nothing follows for a minute.
#[allow(dead_code, reason = "a board's end waits for more than that")]
#[track_caller]
pub fn wait(near: &File, said: &str) {
    let minute = Timespec { tv_sec: 60, tv_nsec: 0 };
    let mut line = [PollFd::from_borrowed_fd(near.as_fd(), PollFlags::IN)];
    let ready = poll(&mut line, Some(&minute)).expect("it can be waited for");
    assert!(ready > 0, "it says nothing more:\n{said}");
}
