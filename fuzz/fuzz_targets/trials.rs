//! The engine around [`bobweight_fuzz::trials`].
#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| bobweight_fuzz::trials(bytes));
