//! See the README.

pub mod link;
pub mod source;
pub mod measure;
pub mod output;
pub mod plan;
pub mod result;
pub mod verdict;
