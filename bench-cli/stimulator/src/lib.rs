#![no_std]
#![forbid(unsafe_code)]
//! See the README.
