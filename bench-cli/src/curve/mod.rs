//! The chosen curve: whether it keeps its limits, what it means at the engine, and the forms in which it leaves.

pub(crate) mod changed;
pub(crate) mod check;
pub(crate) mod circuit;
mod copper;
pub(crate) mod export;
pub(crate) mod figures;
pub(crate) mod first_look;
pub(crate) mod in_ignition;
pub(crate) mod known;
pub(crate) mod measured_coil;
pub(crate) mod sparks;

pub use check::check;
pub use circuit::Circuit;
pub use figures::what_if::initial_for;
pub use known::{Known, KnownCentrifugal, KnownPlace, KnownVacuum};
