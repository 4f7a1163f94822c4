//! Where sparks come from.

mod driver;
pub mod simulated;

pub use driver::{Driver, DriverError, Stretch};
