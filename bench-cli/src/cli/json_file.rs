//! `--json FILE`: a result for programs.

use super::exit::Exit;
use super::failure::{Failure, NotWritten};
use super::terminal::Terminal;
use std::fs::OpenOptions;
use std::io::{Error, Write};
use std::path::{Path, PathBuf};

/// Where a result for programs goes. Made before the work, so that a wrong place is told before it and not after.
#[derive(Debug)]
pub enum JsonFile {
    /// Standard output; the result for people gives way to standard error.
    StandardOutput,
    /// A file, which appears whole or not at all.
    Beside {
        /// What is written first.
        beside: tempfile::NamedTempFile,
        /// What it becomes.
        target: PathBuf,
    },
    /// Something that is no regular file, such as a pipe.
    Stream {
        /// The open stream.
        stream: std::fs::File,
        /// Its name.
        target: PathBuf,
    },
}

impl JsonFile {
    /// Makes sure that a result can be written to `target`; `-` is standard output.
    ///
    /// # Errors
    /// Where it cannot; exit status 4.
    pub fn open(target: &Path) -> Result<Self, Failure> {
        if target == Path::new("-") {
            return Ok(Self::StandardOutput);
        }
        let fail = |cause| not_written(target, cause);
        if target.metadata().is_ok_and(|found| !found.is_file()) {
            let stream = OpenOptions::new().write(true).open(target).map_err(fail)?;
            return Ok(Self::Stream { stream, target: target.to_owned() });
        }
        let folder = target.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
        let mut builder = tempfile::Builder::new();
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            // A result is no secret: the usual permissions of a new file.
            builder.permissions(std::fs::Permissions::from_mode(0o666));
        }
        let beside = builder.tempfile_in(folder).map_err(fail)?;
        Ok(Self::Beside { beside, target: target.to_owned() })
    }

    /// Writes the result.
    ///
    /// # Errors
    /// Where it cannot be written; exit status 4.
    pub fn write(self, result: &impl serde::Serialize, terminal: &mut Terminal) -> Result<(), Failure> {
        let text = serde_json::to_string_pretty(result).map_err(Error::from)? + "\n";
        self.write_bytes(text.as_bytes(), terminal)
    }

    /// Writes bytes as they are.
    ///
    /// # Errors
    /// Where they cannot be written; exit status 4.
    pub fn write_bytes(self, bytes: &[u8], terminal: &mut Terminal) -> Result<(), Failure> {
        match self {
            Self::StandardOutput => {
                terminal.out.write_all(bytes)?;
                Ok(terminal.out.flush()?)
            }
            Self::Stream { mut stream, target } => stream.write_all(bytes).map_err(|cause| not_written(&target, cause)),
            Self::Beside { mut beside, target } => {
                beside.write_all(bytes).map_err(|cause| not_written(&target, cause))?;
                beside.persist(&target).map(drop).map_err(|error| not_written(&target, error.error))
            }
        }
    }
}

/// Gives a result to programs where they want it, and its text to people.
///
/// The result is saved first, and a place that it cannot be written to keeps nobody from reading the text.
///
/// # Errors
/// Where either cannot be written; exit status 4.
pub fn deliver(
    result: &impl serde::Serialize,
    text: &str,
    json: Option<JsonFile>,
    terminal: &mut Terminal,
) -> Result<(), Failure> {
    let to_err = matches!(json, Some(JsonFile::StandardOutput));
    let saved = json.map_or(Ok(()), |json| json.write(result, terminal));
    let told = tell(terminal, to_err, text);
    saved.and(told)
}

/// Writes text for people: to standard error where programs have standard output.
///
/// # Errors
/// Where it cannot be written; exit status 4.
pub fn tell(terminal: &mut Terminal, to_err: bool, text: &str) -> Result<(), Failure> {
    let stream: &mut dyn Write = if to_err { terminal.err } else { terminal.out };
    stream.write_all(text.as_bytes()).and_then(|()| stream.flush()).map_err(Failure::from)
}

fn not_written(target: &Path, cause: Error) -> Failure {
    Failure::new(Exit::NotWritten, NotWritten { target: target.display().to_string(), cause })
}
