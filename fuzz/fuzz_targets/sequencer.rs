//! The engine around [`bobweight_fuzz::sequencer`].
#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| bobweight_fuzz::sequencer(bytes));
