//! The engine around [`bobweight_fuzz::quantity`].
#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| bobweight_fuzz::quantity(bytes));
