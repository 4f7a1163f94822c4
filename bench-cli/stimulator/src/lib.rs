#![no_std]
#![forbid(unsafe_code)]
#![doc = include_str!("../README.md")]

// Many functions here are marked `inline(never)`: a small board has 32 KB for its program, and the copies would take two of them.
mod command;
mod log;
mod motion;
mod order;
mod recoil;
mod stimulator;
mod swing;
mod train;
mod units;

pub use bobweight_wire as wire;
pub use order::{Flank, FlankOrder};
pub use stimulator::{CoilEdge, Outputs, Settings, Stimulator};
