//! What lies in a folder.

use std::io;
use std::path::{Path, PathBuf};

/// The plain files of a folder with an ending, by name.
///
/// # Errors
/// A folder that cannot be read.
pub(crate) fn ending_in(folder: &Path, ending: &str) -> io::Result<Vec<PathBuf>> {
    let mut paths: Vec<PathBuf> = std::fs::read_dir(folder)?
        .filter_map(Result::ok)
        .map(|entry| entry.path())
        .filter(|path| path.extension().is_some_and(|end| end == ending) && path.is_file())
        .collect();
    paths.sort();
    Ok(paths)
}

/// A file's own name, without its folder.
pub(crate) fn name_of(path: &Path) -> String {
    path.file_name().unwrap_or_default().to_string_lossy().into_owned()
}
