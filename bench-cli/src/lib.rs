//! See the README.

pub mod cli;
pub mod curve;
pub mod distributor;
pub mod files;
pub mod interrupt;
pub mod link;
pub mod page;
pub mod proof;
pub mod quantity;
pub mod record;
pub mod saved;
pub mod sheet;
pub mod words;
