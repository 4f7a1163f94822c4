//! Files: read up to a size, written whole or not at all, known by their digest.

pub(crate) mod bounded;
pub(crate) mod digest;
pub(crate) mod whole;
