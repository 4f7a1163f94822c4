//! The engine around [`bobweight_fuzz::readings`].
#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| bobweight_fuzz::readings(bytes));
