//! Files that only grow: a line is on the disk before anybody is asked for the next one, and what stood there stays to the byte.

use crate::interrupt::unbroken;
use std::fs::OpenOptions;
use std::io::{Error, Read, Seek, SeekFrom, Write};
use std::path::Path;

/// Adds lines to the end of a file, which is made where there is none. An end of the last line that is missing is added first. It
/// is on the disk when this returns.
///
/// # Errors
/// A folder or disk that does not take it.
pub fn append(target: &Path, lines: &str) -> Result<(), Error> {
    unbroken(|| {
        let mut file = OpenOptions::new().read(true).append(true).create(true).open(target)?;
        let mut bytes = Vec::with_capacity(lines.len() + 1);
        if file.metadata()?.len() > 0 {
            let mut last = [0];
            file.seek(SeekFrom::End(-1))?;
            file.read_exact(&mut last)?;
            if !matches!(last, [b'\n' | b'\r']) {
                bytes.push(b'\n');
            }
        }
        bytes.extend_from_slice(lines.as_bytes());
        // One piece: a power cut leaves whole lines, or the last one torn, which its reader names.
        file.write_all(&bytes)?;
        file.sync_all()?;
        super::whole::sync_folder(target);
        Ok(())
    })
}

#[cfg(test)]
mod tests {
    use super::append;

    #[test]
    fn what_stood_there_stays_and_a_line_without_its_end_gets_one() {
        let folder = tempfile::tempdir().expect("a folder");
        let file = folder.path().join("log.csv");
        append(&file, "one\n").expect("a new file");
        append(&file, "two").expect("a line");
        append(&file, "three\n").expect("a line");
        assert_eq!(std::fs::read_to_string(&file).expect("the file"), "one\ntwo\nthree\n");
        assert!(append(folder.path(), "no file\n").is_err());
    }
}
