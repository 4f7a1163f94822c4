//! The engine around [`bobweight_fuzz::light_readings`].
#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| bobweight_fuzz::light_readings(bytes));
