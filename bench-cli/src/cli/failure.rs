//! Why a command ended early, and with which exit status.

use super::exit::Exit;
use crate::fit::FitError;
use crate::readings::ReadingsError;
use crate::sheet::SheetError;
use miette::{Diagnostic, Report};

/// A command that ended early.
#[derive(Debug)]
pub struct Failure {
    /// The exit status.
    pub exit: Exit,
    /// What to tell the user; nothing where nobody reads any more.
    pub report: Option<Report>,
}

impl Failure {
    /// A failure with its message.
    pub fn new(exit: Exit, error: impl Diagnostic + Send + Sync + 'static) -> Self {
        Self { exit, report: Some(Report::new(error)) }
    }
}

impl From<SheetError> for Failure {
    fn from(error: SheetError) -> Self {
        let exit = if matches!(error, SheetError::Unwritten(_)) { Exit::NotWritten } else { Exit::WrongInput };
        Self::new(exit, error)
    }
}

impl From<ReadingsError> for Failure {
    fn from(error: ReadingsError) -> Self {
        Self::new(Exit::WrongInput, error)
    }
}

impl From<FitError> for Failure {
    fn from(error: FitError) -> Self {
        Self::new(Exit::WrongInput, error)
    }
}

/// A result that could not be written.
#[derive(Debug, Diagnostic, thiserror::Error)]
#[error("{target}: the result cannot be written: {cause}")]
#[diagnostic(help("make room, or name another place with `--json`"))]
pub struct NotWritten {
    /// Where it was to go.
    pub target: String,
    /// What the system said.
    pub cause: std::io::Error,
}

impl From<std::io::Error> for Failure {
    /// Of the standard output: files name themselves.
    fn from(cause: std::io::Error) -> Self {
        let exit = Exit::NotWritten;
        if cause.kind() == std::io::ErrorKind::BrokenPipe {
            // The reader of a pipe has seen enough, and would not see a message either.
            return Self { exit, report: None };
        }
        Self::new(exit, NotWritten { target: "standard output".to_owned(), cause })
    }
}
