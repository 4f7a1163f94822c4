//! The engine around [`bobweight_fuzz::image`].
#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| bobweight_fuzz::image(bytes));
