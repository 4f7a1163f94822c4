//! The sheet as a file.

use super::{FileError, Sheet, SheetError, parse};
use crate::files::bounded::{self, LARGEST_TEXT_MB};
use crate::files::listed::ending_in;
use crate::files::whole;
use std::io::{self, Error, ErrorKind};
use std::path::{Path, PathBuf};

/// Reads the sheet that lies at `path`.
///
/// # Errors
/// A file that cannot be read, and everything that [`parse`] refuses.
pub fn read(path: &Path) -> Result<Sheet, SheetError> {
    parse(&path.display().to_string(), &read_text(path)?)
}

/// The sheets among the plain files of a folder, by name; a sheet that does not read as one is there too.
///
/// # Errors
/// A folder that cannot be read.
pub fn sheets_in(folder: &Path) -> io::Result<Vec<PathBuf>> {
    let is_a_sheet = |path: &PathBuf| read_text(path).is_ok_and(|text| text.contains("bobweight_sheet"));
    Ok(ending_in(folder, "toml")?.into_iter().filter(is_a_sheet).collect())
}

/// The text of the sheet at `path`.
///
/// # Errors
/// A file that cannot be read, or is no text.
pub fn read_text(path: &Path) -> Result<String, SheetError> {
    let bytes = bounded::read(path, LARGEST_TEXT_MB).map_err(|error| unreadable(path, &error))?;
    String::from_utf8(bytes).map_err(|error| {
        let good = &error.as_bytes()[..error.utf8_error().valid_up_to()];
        let line = good.split(|byte| *byte == b'\n').count();
        SheetError::file(
            path.display().to_string(),
            format!("line {line} is not UTF-8 text"),
            "save the sheet as UTF-8 text; an editor calls it the encoding",
        )
    })
}

/// Refuses a path where something lies already, before the work for a new sheet is done.
///
/// # Errors
/// Where something lies there.
pub fn refuse_existing(path: &Path) -> Result<(), SheetError> {
    if path.symlink_metadata().is_ok() { Err(existing(path)) } else { Ok(()) }
}

/// Writes a new sheet, never over a file.
///
/// # Errors
/// Where a file of this name is there already, or the folder does not take one.
pub fn write_new(path: &Path, text: &str) -> Result<(), SheetError> {
    whole::write_new(path, text.as_bytes()).map_err(|error| match error.kind() {
        ErrorKind::AlreadyExists => existing(path),
        _ => unwritten(path, &error),
    })
}

fn existing(path: &Path) -> SheetError {
    SheetError::file(
        path.display().to_string(),
        "there is such a file already, and it is not written over",
        format!("name it with `--sheet {}` to write into it, or move it away", path.display()),
    )
}

/// Writes a sheet over the one that was read, all of it or nothing.
///
/// # Errors
/// Where the sheet has changed since `before` was read, and where the folder or the disk does not take the new one. The
/// old sheet is still there then.
pub fn replace(path: &Path, before: &str, text: &str) -> Result<(), SheetError> {
    // A link stays a link: the file that it leads to is replaced.
    let target = path.canonicalize().map_err(|error| unreadable(path, &error))?;
    if read_text(&target)? != before {
        let help = "save it in the editor that is open, then run the command again";
        return Err(SheetError::file(path.display().to_string(), "the sheet was changed meanwhile", help));
    }
    whole::write_whole(&target, text.as_bytes()).map_err(|error| unwritten(path, &error))
}

fn unwritten(path: &Path, error: &Error) -> SheetError {
    let help = match error.kind() {
        ErrorKind::PermissionDenied | ErrorKind::ReadOnlyFilesystem => {
            "let yourself write there, or copy the sheet to a folder of yours"
        }
        ErrorKind::StorageFull => "make room on the disk",
        _ => "look at the folder and the disk",
    };
    SheetError::Unwritten(Box::new(FileError {
        file: path.display().to_string(),
        message: format!("it cannot be written: {error}"),
        help: help.to_owned(),
    }))
}

pub(super) fn unreadable(path: &Path, error: &Error) -> SheetError {
    let refuse = |message: &str, help: &str| SheetError::file(path.display().to_string(), message, help);
    match error.kind() {
        ErrorKind::NotFound => {
            refuse("there is no such file", "look at its name; `bobweight begin` makes one of what you have")
        }
        ErrorKind::IsADirectory => refuse("this is a folder, not a sheet", "name the sheet that lies in it"),
        ErrorKind::PermissionDenied => {
            refuse("reading it is not permitted", "let yourself read it: `chmod u+r` on the file, as its owner")
        }
        ErrorKind::FileTooLarge => refuse(&error.to_string(), "name the sheet: it is a text of some hundred lines"),
        _ => refuse(&format!("it cannot be read: {error}"), "copy it to a disk that can be read"),
    }
}
