//! The digest by which two files are known apart.

use sha2::{Digest, Sha256};

/// The digest of a file's bytes, with the digest's name before a colon.
pub fn digest(bytes: &[u8]) -> String {
    let hex: Vec<String> = Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect();
    format!("sha-256:{}", hex.concat())
}
