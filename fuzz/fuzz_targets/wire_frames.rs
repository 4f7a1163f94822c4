//! The engine around [`bobweight_fuzz::wire_frames`].
#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| bobweight_fuzz::wire_frames(bytes));
