#![doc = include_str!("../README.md")]
#![no_std]
#![forbid(unsafe_code)]

mod access;
mod coil;
mod driver;
mod ignition;
mod timer;
mod watch;
mod wide;

pub use access::Access;
pub use driver::{CoilDriver, Edge, OpenError};
pub use ignition::Ignition;
pub use timer::{CompareTimer, Level};
pub use watch::Watch;
pub use wide::Wide;
