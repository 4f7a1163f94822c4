//! See the README.
pub mod measure;
pub mod plan;
pub mod verdict;
