//! Where sparks come from.

pub mod simulated;
