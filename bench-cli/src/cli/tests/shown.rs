//! What a terminal is never sent.

use super::bobweight;
use crate::cli::exit::Exit;

const SHEET: &str = include_str!("../../../demo/fire-float.toml");

/// Characters that move a cursor, clear a screen, or turn the order of letters. Source: Unicode, category Cc, and the
/// bidirectional formatting characters of UAX #9, section 2.
fn harmful(text: &str) -> Option<char> {
    let bidirectional = |letter| matches!(letter, '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
    text.chars().find(|&letter| (letter.is_control() && letter != '\n') || bidirectional(letter))
}

#[test]
fn names_fields_and_keys_of_files_are_shown_and_never_obeyed() {
    let folder = tempfile::tempdir().expect("a folder");
    let at = |name: &str| folder.path().join(name).display().to_string();
    let nasty = "a\u{1b}[2J\u{202e}\u{7}\u{9b}b";
    std::fs::write(at("key.toml"), format!("bobweight_sheet = 1\n\"{}\" = 1\n", "x\u{202e}y")).expect("a sheet");
    std::fs::write(at("raw.toml"), format!("bobweight_sheet = 1\nname = \"{nasty}\"\n")).expect("a sheet");
    std::fs::write(at("r.csv"), format!("hose,{nasty}\non,1\n")).expect("readings");
    std::fs::write(at("r.json"), format!("{{\"schema\": \"bobweight-x\u{202e}/1\", {nasty}}}")).expect("a result");
    let (key, raw, csv, json) = (at("key.toml"), at("raw.toml"), at("r.csv"), at("r.json"));
    let (missing, page) = (at(&format!("{nasty}.toml")), at("page.html"));
    for words in [
        vec!["check", key.as_str()],
        vec!["check", &raw],
        vec!["check", &missing],
        vec!["fit", &csv],
        vec!["report", &json, "--out", &page],
    ] {
        let ran = bobweight(folder.path(), &words);
        assert_eq!(ran.exit, Exit::WrongInput, "{words:?}");
        for said in [&ran.out, &ran.err] {
            assert_eq!(harmful(said), None, "{words:?}: {said:?}");
        }
        assert!(ran.err.contains("\\u{") || words[1] == json, "{words:?}: shown, not dropped: {}", ran.err);
    }
}

/// TOML writes any character as an escape, so that a sheet that can be used may hold them.
#[test]
fn a_sheet_that_can_be_used_is_shown_too_and_programs_still_get_json() {
    let folder = tempfile::tempdir().expect("a folder");
    let at = |name: &str| folder.path().join(name).display().to_string();
    let name = SHEET.lines().find(|line| line.starts_with("name = ")).expect("a name");
    let sheet = SHEET.replace(name, "name = \"boat \\u001b[2J\\u202e \\u0085\"");
    std::fs::write(at("a.toml"), sheet).expect("a sheet");
    let (sheet, page, result) = (at("a.toml"), at("page.html"), at("r.json"));
    for words in [
        vec!["check", sheet.as_str()],
        vec!["figures", &sheet],
        vec!["check", &sheet, "--json", "-"],
        vec!["export", &sheet, "--as", "c"],
        vec!["export", &sheet, "--as", "rust"],
        vec!["check", &sheet, "--json", &result],
        vec!["report", &result, "--out", &page],
    ] {
        let ran = bobweight(folder.path(), &words);
        assert_eq!(ran.exit, Exit::Pass, "{words:?}: {}", ran.err);
        for said in [&ran.out, &ran.err] {
            assert_eq!(harmful(said), None, "{words:?}: {said:?}");
        }
        if words.last() == Some(&"-") {
            serde_json::from_str::<serde_json::Value>(&ran.out).expect("JSON");
        }
    }
    let page = std::fs::read_to_string(page).expect("a page");
    assert_eq!(harmful(&page), None);
}
