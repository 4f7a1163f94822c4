//! The link to a stimulator, or to an ignition: any stream of bytes, a serial port or the built-in one's memory.

mod client;
mod error;
pub mod ignition;
pub mod serial;

pub use client::{Event, Link};
pub use error::LinkError;

#[cfg(test)]
mod tests;
