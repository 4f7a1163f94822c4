//! Files: read up to a size, written whole or not at all, known by their digest.

pub mod bounded;
pub mod digest;
pub mod whole;
