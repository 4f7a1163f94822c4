//! The sheet as a file.

use super::{Sheet, SheetError, parse};
use std::io::{Error, ErrorKind};
use std::path::Path;

/// Reads the sheet that lies at `path`.
///
/// # Errors
/// A file that cannot be read, and everything that [`parse`] refuses.
pub fn read(path: &Path) -> Result<Sheet, SheetError> {
    parse(&path.display().to_string(), &read_text(path)?)
}

/// The text of the sheet at `path`.
pub(super) fn read_text(path: &Path) -> Result<String, SheetError> {
    let bytes = std::fs::read(path).map_err(|error| unreadable(path, &error))?;
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

pub(super) fn unreadable(path: &Path, error: &Error) -> SheetError {
    let refuse = |message: &str, help: &str| SheetError::file(path.display().to_string(), message, help);
    match error.kind() {
        ErrorKind::NotFound => {
            refuse("there is no such file", "look at its name; `bobweight fit READINGS.csv` writes a new sheet")
        }
        ErrorKind::IsADirectory => refuse("this is a folder, not a sheet", "name the sheet that lies in it"),
        ErrorKind::PermissionDenied => {
            refuse("reading it is not permitted", "let yourself read it: `chmod u+r` on the file, as its owner")
        }
        _ => refuse(&format!("it cannot be read: {error}"), "copy it to a disk that can be read"),
    }
}
