//! Files that a command writes: where one may be written, and that it is written whole or not at all.
//!
//! An existing file is replaced only where it is a plain file that holds what the same option writes, or is empty. All else is
//! refused before any work: what a command reads, by whatever name; folders, links, pipes and devices, `/dev/null` and
//! `/dev/stdout` among them. `-` is standard output where an option takes it.

use super::exit::Exit;
use super::failure::Failure;
use crate::curve::export::Format;
use crate::files::bounded::{self, LARGEST_RESULT_MB};
use crate::files::whole;
use crate::page::report::is_a_page;
use crate::page::tape::TITLE;
use miette::Diagnostic;
use std::path::{Path, PathBuf};

/// A file that could not be written.
#[derive(Debug, Diagnostic, thiserror::Error)]
#[error("{target}: the file cannot be written: {cause}")]
#[diagnostic(help("make room, or name another place"))]
pub struct FileNotWritten {
    /// Where it was to go.
    pub target: String,
    /// What the system said.
    pub cause: std::io::Error,
}

/// A file that is not written over.
#[derive(Debug, Diagnostic, thiserror::Error)]
#[error("{target}: this {why}, and it is not written over")]
struct Kept {
    target: String,
    why: &'static str,
    #[help]
    help: &'static str,
}

/// What an option writes.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub enum Holds {
    /// A result for programs.
    Result,
    /// A page of a report.
    Page,
    /// A degree tape.
    Tape,
    /// A curve that is handed out.
    Export(Format),
    /// Readings that are added to: whose command looks into them itself.
    Readings,
}

impl Holds {
    /// Whether the bytes are of this kind and ours.
    fn is(self, bytes: &[u8]) -> bool {
        let text = || String::from_utf8_lossy(bytes);
        match self {
            Self::Result => serde_json::from_slice::<serde_json::Value>(bytes)
                .is_ok_and(|value| value["schema"].as_str().is_some_and(|mark| mark.starts_with("bobweight-"))),
            Self::Page => is_a_page(&text()),
            Self::Tape => {
                let text = text();
                ["%PDF-", "<svg "].iter().any(|first| text.starts_with(first)) && text.contains(TITLE)
            }
            Self::Export(format) => format.is(bytes),
            Self::Readings => true,
        }
    }

    fn help(self) -> &'static str {
        match self {
            Self::Result | Self::Export(_) => "name another file, or use `-` for standard output",
            Self::Page | Self::Tape | Self::Readings => "name another file",
        }
    }
}

/// Refuses to write `target` where something would be lost by it: `inputs` are the files that the command reads.
///
/// # Errors
/// See the head of this module; exit status 2.
pub fn refuse_loss(target: &Path, inputs: &[&Path], holds: Holds) -> Result<(), Failure> {
    let refuse = |why| {
        let kept = Kept { target: target.display().to_string(), why, help: holds.help() };
        Err(Failure::new(Exit::WrongInput, kept))
    };
    if inputs.iter().any(|input| is_same(target, input)) {
        return refuse("is read by this command");
    }
    let Ok(found) = target.symlink_metadata() else { return Ok(()) };
    if found.is_symlink() {
        return refuse("is a link");
    }
    if found.is_dir() {
        return refuse("is a folder");
    }
    if !found.is_file() {
        return refuse("is no plain file");
    }
    if found.len() == 0 || holds == Holds::Readings {
        return Ok(());
    }
    match bounded::read(target, LARGEST_RESULT_MB) {
        Ok(bytes) if holds.is(&bytes) => Ok(()),
        Ok(_) => refuse("holds something else than this option writes"),
        Err(_) => refuse("cannot be looked into"),
    }
}

/// Whether both names lead to one file, by links and other spellings too; also where it is not there yet.
fn is_same(one: &Path, other: &Path) -> bool {
    #[cfg(unix)]
    if let (Ok(one), Ok(other)) = (one.metadata(), other.metadata()) {
        use std::os::unix::fs::MetadataExt;
        return (one.dev(), one.ino()) == (other.dev(), other.ino());
    }
    let place = |path: &Path| -> Option<PathBuf> {
        let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
        path.canonicalize().ok().or_else(|| Some(folder.canonicalize().ok()?.join(path.file_name()?)))
    };
    place(one).is_some_and(|one| Some(one) == place(other))
}

/// Writes a file so that whoever looks sees the old one or the new one, never half of either.
///
/// # Errors
/// Where it cannot be written; exit status 4.
pub fn write_whole(target: &Path, bytes: &[u8]) -> Result<(), Failure> {
    whole::write_whole(target, bytes)
        .map_err(|cause| Failure::new(Exit::NotWritten, FileNotWritten { target: target.display().to_string(), cause }))
}

#[cfg(all(test, unix))]
mod tests;
