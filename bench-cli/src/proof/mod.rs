//! The proof that an ignition sparks where the curve says: on the bench, and with a timing light.

pub mod bench;
pub mod first_start;
pub mod light;
pub mod measure;
pub mod plan;
pub mod source;
pub mod verdict;
