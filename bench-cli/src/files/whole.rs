//! The one place where files are written: whole, or not at all. No interrupt leaves the file that is written beside another.

use crate::interrupt::unbroken;
use std::fs::{File, Permissions};
use std::io::{Error, ErrorKind, Write};
use std::path::Path;

/// Writes a file so that whoever looks sees the old one or the new one, never half of either. It is on the disk when this
/// returns. The permissions of a file that is replaced are kept.
///
/// # Errors
/// A folder or disk that does not take it, and a file that its permissions forbid to write: a rename would pass over them.
pub fn write_whole(target: &Path, bytes: &[u8]) -> Result<(), Error> {
    unbroken(|| {
        let permissions = permissions_of(target)?;
        let beside = written_beside(target, bytes, permissions)?;
        beside.persist(target).map_err(|error| error.error)?;
        sync_folder(target);
        Ok(())
    })
}

/// Writes a new file as [`write_whole`] does, never over another.
///
/// # Errors
/// Where something of this name is there, and as [`write_whole`].
pub fn write_new(target: &Path, bytes: &[u8]) -> Result<(), Error> {
    unbroken(|| {
        let beside = written_beside(target, bytes, None)?;
        beside.persist_noclobber(target).map_err(|error| error.error)?;
        sync_folder(target);
        Ok(())
    })
}

/// Whether [`write_whole`] can write there, tried before the work. Nothing stays, so that nothing is left when the work is
/// interrupted.
///
/// # Errors
/// As [`write_whole`].
pub fn can_write(target: &Path) -> Result<(), Error> {
    unbroken(|| {
        permissions_of(target)?;
        new_beside(target).map(drop)
    })
}

fn permissions_of(target: &Path) -> Result<Option<Permissions>, Error> {
    match target.metadata() {
        Ok(found) if found.permissions().readonly() => Err(ErrorKind::PermissionDenied.into()),
        Ok(found) => Ok(Some(found.permissions())),
        Err(_) => Ok(None),
    }
}

fn written_beside(
    target: &Path,
    bytes: &[u8],
    permissions: Option<Permissions>,
) -> Result<tempfile::NamedTempFile, Error> {
    let mut beside = new_beside(target)?;
    beside.write_all(bytes)?;
    if let Some(permissions) = permissions {
        beside.as_file().set_permissions(permissions)?;
    }
    beside.as_file().sync_all()?;
    Ok(beside)
}

fn folder_of(target: &Path) -> &Path {
    target.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."))
}

fn new_beside(target: &Path) -> Result<tempfile::NamedTempFile, Error> {
    let mut builder = tempfile::Builder::new();
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        // The usual permissions of a new file.
        builder.permissions(Permissions::from_mode(0o666));
    }
    builder.tempfile_in(folder_of(target))
}

/// The new name is safe on the disk only with its folder; not every system can do this, and none needs it to read.
pub(super) fn sync_folder(target: &Path) {
    let _ = File::open(folder_of(target)).and_then(|folder| folder.sync_all());
}
