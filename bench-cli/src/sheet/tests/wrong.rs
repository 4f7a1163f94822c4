//! One wrong sheet of each class. Each names its key and its line; the snapshot holds the whole message.

mod cases;

use super::demo_text;
use crate::cli::render::render;
use crate::sheet::file::unreadable;
use crate::sheet::{parse, read};
use std::fmt::Write;
use std::io::ErrorKind;

#[test]
fn each_class_of_wrong_sheet_has_one_message_with_file_line_key_and_remedy() {
    let mut messages = String::new();
    for (class, from, to, key) in cases::CASES {
        assert!(demo_text().contains(from), "{class}: the demo does not have {from}");
        let text = demo_text().replacen(from, to, 1);
        let error = parse("fire-float.toml", &text).expect_err(class);
        assert_eq!(error.key(), Some(*key), "{class}: {error}");
        let line = error.line().unwrap_or_default();
        let rendered = render(&error, false, 100);
        assert!(rendered.contains(&format!("[fire-float.toml:{line}:")), "{class}: {rendered}");
        assert!(rendered.contains(key), "{class}: {rendered}");
        assert!(rendered.contains("help: "), "{class}: {rendered}");
        writeln!(messages, "--- {class}\n{rendered}").expect("a text takes what is written");
    }
    insta::assert_snapshot!("wrong_sheets", messages);
}

#[test]
fn a_file_that_cannot_be_read_is_named_with_what_to_do() {
    let folder = tempfile::tempdir().expect("a folder");
    let not_text = folder.path().join("not-text.toml");
    std::fs::write(&not_text, b"bobweight_sheet = 1\nname = \"\xff\"\n").expect("a file");
    // The administrator may read everything, so no file of this test could forbid it.
    let forbidden = unreadable(&folder.path().join("forbidden.toml"), &ErrorKind::PermissionDenied.into());
    let mut messages = String::new();
    for (class, error) in [
        ("missing file", read(&folder.path().join("none.toml")).expect_err("no file")),
        ("directory", read(folder.path()).expect_err("a folder")),
        ("no permission", forbidden),
        ("not UTF-8", read(&not_text).expect_err("no text")),
    ] {
        let rendered = render(&error, false, 1000).replace(&folder.path().display().to_string(), "FOLDER");
        writeln!(messages, "--- {class}\n{rendered}").expect("a text takes what is written");
    }
    insta::assert_snapshot!("unreadable_sheets", messages);
}
