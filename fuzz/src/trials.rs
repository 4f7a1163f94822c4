//! A log of trials.

use bobweight_tool::distributor::ReadingsError;
use bobweight_tool::proof::trials::{Ceiling, Log, Next, judge, next, parse};
use bobweight_tool::record::trials::{Heard, TrialsResult};
use bobweight_tool::sheet::{self, Sheet};
use std::sync::OnceLock;

const NAME: &str = "trials.csv";

/// What the parser makes of bytes: no panic; a refusal points into the file; what it accepts is in range, and a trial that is added in
/// the file's own columns is read back. Whatever was accepted is judged, and no timing is told or proposed that is forbidden.
pub fn trials(bytes: &[u8]) {
    match parse(NAME, bytes) {
        Ok(log) => {
            in_range(&log);
            is_added_to(bytes, &log);
            judged(&log);
        }
        Err(ReadingsError::Refused(refusal)) => {
            let lines = 1 + bytes.iter().filter(|&&byte| byte == b'\n' || byte == b'\r').count();
            assert!((1..=lines).contains(&refusal.line), "line {} of {lines}: {refusal}", refusal.line);
            assert!(!refusal.remedy.is_empty(), "no remedy: {refusal}");
        }
        Err(error) => panic!("bytes in memory are no file to miss: {error}"),
    }
}

fn in_range(log: &Log) {
    let mut series = 1;
    for trial in &log.trials {
        assert!((-30.0..=90.0).contains(&trial.crank_degrees), "{trial:?}");
        assert!((1e-3..=1e6).contains(&trial.measured), "{trial:?}");
        assert!((series..=1_000).contains(&trial.series), "{trial:?} after {series}");
        series = trial.series;
    }
}

/// Ended as the tool ends it, the file takes its own last trial once more.
fn is_added_to(bytes: &[u8], log: &Log) {
    let Some(last) = log.trials.last() else { return };
    let mut longer = bytes.to_vec();
    if !matches!(longer.last(), Some(b'\n' | b'\r')) {
        longer.push(b'\n');
    }
    longer.extend_from_slice(log.row(last).as_bytes());
    let again = parse(NAME, &longer).expect("what we add is read");
    assert_eq!(again.trials.len(), log.trials.len() + 1);
    assert_eq!(&again.trials[..log.trials.len()], log.trials.as_slice());
    let added = again.trials.last().expect("a trial");
    assert_eq!((added.series, added.heard), (last.series, last.heard));
    assert!((added.crank_degrees - last.crank_degrees).abs() <= 1e-3, "{added:?} of {last:?}");
    assert!((added.measured - last.measured).abs() <= 1e-6, "{added:?} of {last:?}");
}

fn judged(log: &Log) {
    let result: TrialsResult = judge(sheet(), log).expect("a whole sheet");
    let ceiling = Ceiling::of(sheet(), log).expect("a whole sheet");
    let pinked = log.trials.iter().filter(|trial| trial.heard == Heard::Pinking);
    let pinked = pinked.map(|trial| trial.crank_degrees).fold(f64::INFINITY, f64::min);
    let highest = result.last_quiet_crank_degrees.unwrap_or(f64::NEG_INFINITY);
    assert!(highest < pinked && highest <= result.limit_crank_degrees + 1e-6);
    assert!(ceiling.crank_degrees <= pinked - 2.0 && ceiling.crank_degrees <= ceiling.limit);
    if let Some(best) = result.best_crank_degrees {
        assert!(best.low <= best.value && best.value <= best.high && best.high <= highest, "{best:?}, {highest}");
    }
    for series in [log.last_series(), log.last_series() + 1] {
        let last = log.trials.iter().rev().find(|trial| trial.series == series && trial.heard == Heard::Quiet);
        if let Next::Try(proposed) = next(log, &ceiling, series) {
            assert!(proposed <= ceiling.crank_degrees, "{proposed} past {}", ceiling.crank_degrees);
            assert!(last.is_none_or(|last| proposed <= last.crank_degrees + 1.0), "{proposed} after {last:?}");
        }
    }
}

fn sheet() -> &'static Sheet {
    static SHEET: OnceLock<Sheet> = OnceLock::new();
    SHEET.get_or_init(|| {
        let text = include_str!("../../bench-cli/demo/fire-float.toml");
        sheet::parse("engine.toml", text).expect("the demo")
    })
}
