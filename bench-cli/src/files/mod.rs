//! Files: found in a folder, read up to a size, written whole or not at all, added to line by line, known by their digest.

pub(crate) mod appended;
pub(crate) mod bounded;
pub(crate) mod digest;
pub(crate) mod listed;
pub(crate) mod whole;
