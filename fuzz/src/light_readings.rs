//! A file of light readings.

use bobweight_tool::proof::light::{LightReadingsError, parse, text};

const NAME: &str = "light.csv";

/// What the parser makes of bytes: no panic; what it accepts is in range, and written out again it is read back the same.
pub fn light_readings(bytes: &[u8]) {
    match parse(NAME, bytes) {
        Ok(read) => {
            assert!(read.said.light_lag_us.is_none_or(|lag| (0.0..=500.0).contains(&lag)), "{read:?}");
            let again =
                parse(NAME, text(&read.said, &read.readings.readings).as_bytes()).expect("what we write is read");
            assert_eq!(again.said, read.said);
            assert_eq!(again.readings.readings.len(), read.readings.readings.len());
            for (again, before) in again.readings.readings.iter().zip(&read.readings.readings) {
                assert_eq!((again.crank_rpm, again.crank_degrees), (before.crank_rpm, before.crank_degrees));
                assert_eq!((again.hose, again.depression_kpa), (before.hose, before.depression_kpa));
            }
        }
        Err(LightReadingsError::Said { line, remedy, .. }) => {
            let lines = 1 + bytes.iter().filter(|&&byte| byte == b'\n' || byte == b'\r').count();
            assert!((1..=lines).contains(&line), "line {line} of {lines}");
            assert!(!remedy.is_empty());
        }
        // Its own target holds it to its laws.
        Err(_) => {}
    }
}
