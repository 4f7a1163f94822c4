//! Files that are read whole, none of them larger than its kind can need.

use std::fs::File;
use std::io::{Error, ErrorKind, Read};
use std::path::Path;

/// The largest engine sheet and the largest file of readings, megabytes: a thousand times what a long survey takes.
pub const LARGEST_TEXT_MB: u64 = 4;
/// The largest result, megabytes: a bench of a thousand test points takes two.
pub const LARGEST_RESULT_MB: u64 = 64;

/// The bytes of a file of at most so many megabytes (of 1 000 000 bytes).
///
/// # Errors
/// What the system says, and a file that is larger, of the kind [`ErrorKind::FileTooLarge`]; no more of it is read.
pub fn read(path: &Path, largest_mb: u64) -> Result<Vec<u8>, Error> {
    let file = File::open(path)?;
    let largest = largest_mb * 1_000_000;
    let too_large = || {
        Error::new(ErrorKind::FileTooLarge, format!("it is larger than the {largest_mb} MB that such a file may have"))
    };
    if file.metadata()?.len() > largest {
        return Err(too_large());
    }
    let mut bytes = Vec::new();
    // A device has no length, and may have no end.
    file.take(largest + 1).read_to_end(&mut bytes)?;
    if bytes.len() as u64 > largest { Err(too_large()) } else { Ok(bytes) }
}
