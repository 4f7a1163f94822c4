//! What commands save: data alone.

pub mod bench;
pub mod ignition;
