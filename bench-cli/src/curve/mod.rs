//! The chosen curve: whether it keeps its limits, what it means at the engine, and the forms in which it leaves.

pub mod check;
pub mod circuit;
pub mod export;
pub mod figures;
pub mod in_ignition;
