//! The library behind the tool `bobweight`; see the README.
//!
//! From below: what there is to say and to write with (`words`, `files`, [`quantity`]), the line to a board ([`link`]), what is saved
//! ([`record`]); then the rooms of the job, each above the one before it: [`sheet`], [`distributor`], [`curve`], [`proof`]; then
//! what reads back ([`saved`]), what shows (`page`) and what asks ([`cli`]). Nothing below uses anything above.
//!
//! Shown is what the binary, the tests and the fuzz targets use; all else is of the crate alone.

#![allow(
    rustdoc::private_intra_doc_links,
    reason = "who reads these pages works on the crate, and builds them with what is private"
)]

pub mod cli;
pub mod curve;
pub mod distributor;
mod files;
pub mod interrupt;
pub mod link;
mod page;
pub mod proof;
pub mod quantity;
pub mod record;
pub mod saved;
pub mod sheet;
mod words;
