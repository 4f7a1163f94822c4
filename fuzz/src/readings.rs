//! A file of readings.

use bobweight_tool::distributor::readings::parse;
use bobweight_tool::distributor::{Hose, Readings, ReadingsError};

const NAME: &str = "readings.csv";

/// What the parser makes of bytes: no panic; a refusal points into the file; what it accepts is in range, and is the same
/// whatever ends its lines.
pub fn readings(bytes: &[u8]) {
    match parse(NAME, bytes) {
        Ok(readings) => {
            in_range(&readings);
            same_in_other_dress(bytes, &readings);
        }
        Err(ReadingsError::Refused(refusal)) => {
            // A lone carriage return ends a line too.
            let lines = 1 + bytes.iter().filter(|&&byte| byte == b'\n' || byte == b'\r').count();
            assert!((1..=lines).contains(&refusal.line), "line {} of {lines}: {refusal}", refusal.line);
            assert!(!refusal.remedy.is_empty(), "no remedy: {refusal}");
        }
        Err(error) => panic!("bytes in memory are no file to miss: {error}"),
    }
}

fn in_range(readings: &Readings) {
    assert!(!readings.readings.is_empty());
    let meters = [(readings.tachometer_accuracy, 0.1, 200.0), (readings.gauge_accuracy, 0.2, 10.0)];
    for (stated, share, besides) in
        meters.into_iter().filter_map(|(stated, share, besides)| Some((stated?, share, besides)))
    {
        assert!((0.0..=share).contains(&stated.share) && (0.0..=besides).contains(&stated.besides), "{stated:?}");
    }
    for reading in &readings.readings {
        assert!(reading.crank_rpm > 0.0 && reading.crank_rpm <= 20_000.0, "{reading:?}");
        assert!((-30.0..=90.0).contains(&reading.crank_degrees), "{reading:?}");
        assert_eq!(reading.hose == Hose::On, reading.depression_kpa.is_some(), "{reading:?}");
        assert!(reading.depression_kpa.is_none_or(|kpa| (0.0..=110.0).contains(&kpa)), "{reading:?}");
    }
}

fn same_in_other_dress(bytes: &[u8], readings: &Readings) {
    let text = std::str::from_utf8(bytes).expect("accepted readings are text");
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let plain = text.replace("\r\n", "\n").replace('\r', "\n");
    let windows = format!("\u{feff}{}", plain.replace('\n', "\r\n"));
    for dressed in [plain, windows] {
        let again = parse(NAME, dressed.as_bytes()).expect("other ends of lines are accepted too");
        assert_eq!(&again, readings);
    }
}
