//! The drawing of a degree tape as a file to print.

pub mod pdf;
pub mod svg;
