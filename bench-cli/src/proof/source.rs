//! Where sparks come from.

mod driver;
pub mod simulated;
pub mod trace;

pub use driver::{Driver, DriverError, Stretch};
