//! Which sheet a result is of.

use crate::result::SheetIdentity;
use crate::sheet::{Sheet, SheetError};
use sha2::{Digest, Sha256};

/// Which sheet this is. The digest is of the text as it was read.
///
/// # Errors
/// Where the engine has no name.
pub fn identity(sheet: &Sheet) -> Result<SheetIdentity, SheetError> {
    Ok(SheetIdentity {
        name: sheet.name.get()?.clone(),
        file: sheet.file().to_owned(),
        digest: Some(digest(sheet.text().as_bytes())),
    })
}

/// A SHA-256 digest with its name before a colon.
pub fn digest(bytes: &[u8]) -> String {
    let hex: Vec<String> = Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect();
    format!("sha-256:{}", hex.concat())
}
