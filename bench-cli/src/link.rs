//! The link to a stimulator, or to an ignition: any stream of bytes, a serial port or the built-in one's memory.

mod client;
mod error;
pub mod ignition;
mod ports;
pub mod serial;

pub use client::{Event, Link};
pub use error::LinkError;
pub use ports::{ports_in_words, serial_ports};

#[cfg(test)]
mod tests;
