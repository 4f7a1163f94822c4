//! Files that a command writes besides its results: whole, or not at all.

use super::exit::Exit;
use super::failure::Failure;
use miette::Diagnostic;
use std::io::Write;
use std::path::Path;

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

/// Writes a file so that whoever looks sees the old one or the new one, never half of either.
///
/// # Errors
/// Where it cannot be written; exit status 4.
pub fn write_whole(target: &Path, bytes: &[u8]) -> Result<(), Failure> {
    let folder = target.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let written = new_beside(folder).and_then(|mut file| {
        file.write_all(bytes)?;
        file.as_file().sync_all()?;
        file.persist(target).map(drop).map_err(|error| error.error)
    });
    written
        .map_err(|cause| Failure::new(Exit::NotWritten, FileNotWritten { target: target.display().to_string(), cause }))
}

fn new_beside(folder: &Path) -> std::io::Result<tempfile::NamedTempFile> {
    let mut builder = tempfile::Builder::new();
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        // The usual permissions of a new file.
        builder.permissions(std::fs::Permissions::from_mode(0o666));
    }
    builder.tempfile_in(folder)
}
