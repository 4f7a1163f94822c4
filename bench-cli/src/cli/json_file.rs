//! `--json FILE`: a result for programs.

use super::exit::Exit;
use super::failure::{Failure, NotWritten};
use super::out_file::{Holds, refuse_loss};
use super::terminal::Terminal;
use crate::files::whole;
use crate::words::shown::shown_json;
use crate::words::wrap::folded;
use std::io::{Error, Write};
use std::path::{Path, PathBuf};

/// Where a result for programs goes. Made before the work, so that a wrong place is told before it and not after.
#[derive(Debug)]
pub enum JsonFile {
    /// Standard output; the result for people gives way to standard error.
    StandardOutput,
    /// A file, which appears whole or not at all.
    File(PathBuf),
}

impl JsonFile {
    /// Makes sure that a result can be written to `target`, and that nothing is lost by it; `-` is standard output. `inputs`
    /// are the files that the command reads.
    ///
    /// # Errors
    /// Where it cannot, exit status 4; where something would be lost, 2.
    pub fn open(target: &Path, inputs: &[&Path]) -> Result<Self, Failure> {
        Self::open_for(target, inputs, Holds::Result)
    }

    /// As [`JsonFile::open`], for what else an option writes.
    ///
    /// # Errors
    /// As of [`JsonFile::open`].
    pub fn open_for(target: &Path, inputs: &[&Path], holds: Holds) -> Result<Self, Failure> {
        if target == Path::new("-") {
            return Ok(Self::StandardOutput);
        }
        refuse_loss(target, inputs, holds)?;
        whole::can_write(target).map_err(|cause| not_written(target, cause))?;
        Ok(Self::File(target.to_owned()))
    }

    /// Writes the result.
    ///
    /// # Errors
    /// Where it cannot be written; exit status 4.
    pub fn write(self, result: &impl serde::Serialize, terminal: &mut Terminal) -> Result<(), Failure> {
        let text = shown_json(&(serde_json::to_string_pretty(result).map_err(Error::from)? + "\n"));
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
            Self::File(target) => whole::write_whole(&target, bytes).map_err(|cause| not_written(&target, cause)),
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
    stream.write_all(folded(text).as_bytes()).and_then(|()| stream.flush()).map_err(Failure::from)
}

fn not_written(target: &Path, cause: Error) -> Failure {
    Failure::new(Exit::NotWritten, NotWritten { target: target.display().to_string(), cause })
}
