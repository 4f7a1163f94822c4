//! One sitting at a time on a file of readings, or on a sheet that is begun: two would each write over what the other was told.

use super::exit::Exit;
use super::failure::Failure;
use crate::interrupt::{Orderly, orderly};
use miette::Diagnostic;
use std::fs::{File, OpenOptions};
use std::path::{Path, PathBuf};

/// The mark that a sitting is going on; gone when this is dropped. What a killed sitting leaves hinders nobody. An interrupt ends
/// the questions of a sitting, not the process: then there are no more answers, and the mark is taken away as at any other end.
#[derive(Debug)]
pub struct Sitting {
    mark: PathBuf,
    _held: File,
    _orderly: Orderly,
}

/// Somebody else sits at the file.
#[derive(Debug, Diagnostic, thiserror::Error)]
#[error("{file}: another survey, light, trials or begin is at work on this file")]
#[diagnostic(help("end that one first, or name another file"))]
struct Taken {
    file: String,
}

/// No mark can be made.
#[derive(Debug, Diagnostic, thiserror::Error)]
#[error("{file}: nothing can be kept there: {cause}")]
#[diagnostic(help("make room, let yourself write there, or name another place"))]
struct NoMark {
    file: String,
    cause: std::io::Error,
}

impl Sitting {
    /// Begins a sitting at `file`, which need not be there yet.
    ///
    /// # Errors
    /// Where another goes on (exit status 2), and a folder that takes no file (4).
    pub fn begin(file: &Path) -> Result<Self, Failure> {
        let shown = || file.display().to_string();
        let not_kept = |cause| Failure::new(Exit::NotWritten, NoMark { file: shown(), cause });
        let orderly = orderly();
        let name = file.file_name().unwrap_or_default().to_string_lossy().into_owned();
        let mark = file.with_file_name(format!(".{name}.sitting"));
        loop {
            let held = OpenOptions::new().write(true).create(true).truncate(false).open(&mark).map_err(not_kept)?;
            if !locked(&held).map_err(not_kept)? {
                return Err(Failure::new(Exit::WrongInput, Taken { file: shown() }));
            }
            // A sitting that ended between the two has taken its mark away.
            if same(&held, &mark) {
                return Ok(Self { mark, _held: held, _orderly: orderly });
            }
        }
    }
}

impl Drop for Sitting {
    fn drop(&mut self) {
        let _ = std::fs::remove_file(&self.mark);
    }
}

#[cfg(unix)]
fn locked(file: &File) -> std::io::Result<bool> {
    use rustix::fs::{FlockOperation, flock};
    match flock(file, FlockOperation::NonBlockingLockExclusive) {
        Ok(()) => Ok(true),
        Err(rustix::io::Errno::WOULDBLOCK) => Ok(false),
        Err(error) => Err(error.into()),
    }
}

#[cfg(unix)]
fn same(held: &File, mark: &Path) -> bool {
    use std::os::unix::fs::MetadataExt;
    match (held.metadata(), mark.metadata()) {
        (Ok(one), Ok(other)) => (one.dev(), one.ino()) == (other.dev(), other.ino()),
        _ => false,
    }
}

/// Other systems have no such lock here: nothing is refused there.
#[cfg(not(unix))]
fn locked(_: &File) -> std::io::Result<bool> {
    Ok(true)
}

#[cfg(not(unix))]
fn same(_: &File, _: &Path) -> bool {
    true
}

#[cfg(all(test, unix))]
mod tests {
    use super::*;

    #[test]
    fn a_second_sitting_is_refused_until_the_first_has_ended() {
        let folder = tempfile::tempdir().expect("a folder");
        let file = folder.path().join("readings.csv");
        let first = Sitting::begin(&file).expect("nobody sits there");
        let second = Sitting::begin(&file).expect_err("somebody does");
        assert_eq!(second.exit, Exit::WrongInput);
        Sitting::begin(&folder.path().join("other.csv")).expect("another file is another sitting");
        drop(first);
        Sitting::begin(&file).expect("it has ended");
        assert_eq!(std::fs::read_dir(folder.path()).expect("the folder").count(), 0, "nothing is left");
        // What a killed sitting leaves.
        std::fs::write(folder.path().join(".readings.csv.sitting"), "").expect("a mark");
        Sitting::begin(&file).expect("nobody holds it");
    }
}
