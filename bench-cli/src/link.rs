//! The link to a stimulator, or to an ignition: any stream of bytes, a serial port or the built-in one's memory.

mod client;
mod error;
pub(crate) mod ignition;
pub(crate) mod serial;

pub(crate) use client::Event;
pub use client::Link;
pub(crate) use error::LinkError;

#[cfg(test)]
mod tests;
