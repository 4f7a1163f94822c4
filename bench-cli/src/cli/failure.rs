//! Why a command ended early, and with which exit status.

use super::exit::Exit;
use crate::distributor::departure::NoSource;
use crate::distributor::fit::FitError;
use crate::distributor::readings::ReadingsError;
use crate::sheet::{Sheet, SheetError};
use bobweight::image::ImageError;
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

/// An error with what to do.
#[derive(Debug, Diagnostic, thiserror::Error)]
#[error("{text}")]
pub struct Told {
    /// What is wrong.
    pub text: String,
    /// What to do.
    #[help]
    pub help: Option<&'static str>,
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

impl From<NoSource> for Failure {
    fn from(error: NoSource) -> Self {
        match error {
            NoSource::Sheet(error) => error.into(),
            NoSource::Readings(error) => error.into(),
            NoSource::Fit(error) => error.into(),
        }
    }
}

/// A curve that must not be used.
#[derive(Debug, Diagnostic, thiserror::Error)]
#[error("{file}: the curve breaks the sheet's own limits, so {so}:\n  {}", broken.join("\n  "))]
#[diagnostic(help("change the curve or the limits; `bobweight figures {file}` shows both"))]
pub struct LimitsBroken {
    /// The sheet.
    pub file: String,
    /// What is not done.
    pub so: &'static str,
    /// The limits that are broken, in sentences.
    pub broken: Vec<String>,
}

/// Goes on only where no limit is broken.
///
/// # Errors
/// Where one is; exit status 1.
pub fn refuse_broken_limits(sheet: &Sheet, broken: Vec<String>, so: &'static str) -> Result<(), Failure> {
    if broken.is_empty() {
        return Ok(());
    }
    Err(Failure::new(Exit::Fail, LimitsBroken { file: sheet.file().to_owned(), so, broken }))
}

/// An image that could not be made or read.
#[derive(Debug, Diagnostic, thiserror::Error)]
#[error("{0}")]
pub struct NoImage(pub ImageError);

impl From<ImageError> for Failure {
    fn from(error: ImageError) -> Self {
        Self::new(Exit::WrongInput, NoImage(error))
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
