//! The engine around [`bobweight_fuzz::sheet`].
#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| bobweight_fuzz::sheet(bytes));
