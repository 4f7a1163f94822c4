//! See the README.

pub mod link;
pub mod source;
