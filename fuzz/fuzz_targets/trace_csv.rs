//! The engine around [`bobweight_fuzz::trace_csv`].
#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| bobweight_fuzz::trace_csv(bytes));
