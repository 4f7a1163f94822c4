//! An engine sheet.

mod writer;

use bobweight_tool::curve::check;
use bobweight_tool::sheet::{Sheet, SheetError, parse};

const NAME: &str = "sheet.toml";

/// What the parser makes of text: no panic; a refusal points into the file; a sheet that it accepts is accepted again as it
/// keeps it, and with the byte order mark that some editors add. What is found is written into an accepted sheet and
/// chosen from it, and everything else stays as it was. Its limits are proven or refused, and a proof has four, whose breaking the clamp tells.
pub fn sheet(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    match parse(NAME, text) {
        Ok(sheet) => accepted(&sheet, text),
        Err(error) => points_into_the_file(&error, text),
    }
}

fn accepted(sheet: &Sheet, text: &str) {
    let again = parse(NAME, sheet.text()).expect("the kept text is accepted again");
    assert_eq!(again.text(), sheet.text());
    let marked = parse(NAME, &format!("\u{feff}{}", sheet.text())).expect("a byte order mark changes nothing");
    assert_eq!(marked.text(), sheet.text());
    writer::keeps_everything_else(text);
    match check(sheet) {
        Ok(proof) => {
            let kept = proof.limits.iter().all(|limit| limit.kept);
            assert_eq!((proof.limits.len(), kept), (4, proof.clamp.is_empty()));
            // More is asked of its sparks than the four limits.
            assert!(kept || !proof.kept, "{text}");
        }
        Err(error) => points_into_the_file(&error, text),
    }
}

fn points_into_the_file(error: &SheetError, text: &str) {
    let lines = 1 + text.matches('\n').count();
    if let Some(line) = error.line() {
        assert!((1..=lines).contains(&line), "line {line} of {lines}: {error}");
    }
    assert!(!error.to_string().is_empty());
}
