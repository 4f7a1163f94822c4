//! The engine around [`bobweight_fuzz::answers`].
#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| bobweight_fuzz::answers(bytes));
