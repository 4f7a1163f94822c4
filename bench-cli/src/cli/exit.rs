//! The exit status: what a script learns of a run.

use std::process::{ExitCode, Termination};

/// How a run ended.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
#[repr(u8)]
pub enum Exit {
    /// Everything that was asked for is done, and what was judged passed.
    Pass = 0,
    /// What was judged failed, or is undecided.
    Fail = 1,
    /// Wrong input or usage.
    WrongInput = 2,
    /// The link to a box failed.
    LinkFailed = 3,
    /// The result could not be written.
    NotWritten = 4,
    /// Interrupted by the user, after the outputs were stopped.
    Interrupted = 130,
}

impl Termination for Exit {
    fn report(self) -> ExitCode {
        ExitCode::from(self as u8)
    }
}
