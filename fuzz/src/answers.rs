//! An answer to a question of `begin`.

use bobweight_tool::proof::begin::{answered, doubt, points_from, presumed};
use bobweight_tool::sheet::{GUIDES, Start, begun, parse};
use std::sync::OnceLock;

const NAME: &str = "engine.toml";

/// The first byte says which question, the second in which sheet; the rest is typed. No panic; what is accepted makes a sheet that can be read, in
/// which every comment stands that stood there, and to which the same answer changes nothing more. What is not accepted is told. No limit is
/// ever assumed.
pub fn answers(bytes: &[u8]) {
    let [question, sheet, typed @ ..] = bytes else { return };
    let Ok(typed) = std::str::from_utf8(typed) else { return };
    let guide = &GUIDES[usize::from(*question) % GUIDES.len()];
    let sheets = sheets();
    let text = &sheets[usize::from(*sheet) % sheets.len()];
    if let Some(asked_back) = doubt(guide, typed) {
        assert!(!asked_back.is_empty());
    }
    if let Ok(read) = points_from(typed) {
        assert!((2..=16).contains(&read.points.len()) && read.points.is_sorted_by(|a, b| a[0] < b[0]), "{read:?}");
        assert!(read.points.iter().flatten().all(|number| number.is_finite()), "{read:?}");
    }
    match answered(NAME, text, guide, typed) {
        Ok(changed) => {
            parse(NAME, &changed.text).expect("what was accepted can be read");
            comments_stay(text, &changed.text);
            let again = answered(NAME, &changed.text, guide, typed).expect("the same once more");
            assert_eq!(again.text, changed.text, "{}: {typed}", guide.key);
        }
        Err(why) => assert!(!why.is_empty(), "{}: {typed}", guide.key),
    }
    match presumed(NAME, text, guide) {
        Ok((changed, because)) => {
            assert!(!guide.key.starts_with("limits.") && !because.is_empty());
            let sheet = parse(NAME, &changed.text).expect("what is assumed can be read");
            assert!(sheet.assumptions().iter().all(|key| !key.starts_with("limits.")));
            comments_stay(text, &changed.text);
        }
        Err(why) => assert!(!why.is_empty(), "{}", guide.key),
    }
}

/// Lines of comments that hold no value, in their order.
fn comments_stay(before: &str, after: &str) {
    let of = |text: &str| -> Vec<String> {
        text.lines().filter(|line| line.starts_with('#') && !line.contains(" = ")).map(str::to_owned).collect()
    };
    let (before, after) = (of(before), of(after));
    let mut left = after.iter();
    for line in &before {
        assert!(left.any(|other| other == line), "{line} is gone");
    }
}

/// A new sheet, one of a book's page, and a whole one.
fn sheets() -> &'static [String; 3] {
    static SHEETS: OnceLock<[String; 3]> = OnceLock::new();
    SHEETS.get_or_init(|| {
        let new = |start| begun(NAME, None, "an engine", start).expect("a new sheet");
        [new(Start::Numbers), new(Start::Book), include_str!("../../bench-cli/demo/fire-float.toml").to_owned()]
    })
}
