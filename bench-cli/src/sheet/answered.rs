//! Writes an answer into a sheet, and keeps the list of what is only assumed.

use super::edit::Edit;
use super::error::SheetError;
use super::found::{Changed, quoted};
use super::{parse, questions};

/// What somebody has who begins.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub enum Start {
    /// Initial timing, centrifugal and vacuum advance.
    Numbers,
    /// A page of a book, with points of the curve.
    Book,
    /// A file of readings.
    Readings,
    /// The old distributor, and nothing that is known of it.
    Distributor,
}

impl Start {
    /// Each with its words.
    pub const ALL: [(Self, &'static str); 4] = [
        (Self::Numbers, "three numbers: initial timing, centrifugal and vacuum advance"),
        (Self::Book, "a book's page with points of the curve"),
        (Self::Readings, "a file of readings"),
        (Self::Distributor, "the old distributor alone"),
    ];

    /// In words.
    pub fn words(self) -> &'static str {
        crate::words::word_of(&Self::ALL.map(|(start, words)| (words, start)), self)
    }
}

/// The line of a sheet that says with what it was begun: no value, so it changes no digest.
const BEGUN: &str = "# Begun by `bobweight begin` with ";

/// What a sheet was begun with; none where somebody wrote it, or took the line out.
pub(crate) fn started(text: &str) -> Option<Start> {
    let said = text.lines().find_map(|line| line.strip_prefix(BEGUN))?;
    Start::ALL.iter().find(|(_, words)| said.trim().trim_end_matches('.') == *words).map(|(start, _)| *start)
}

/// A new sheet that was begun so, or one begun otherwise so far.
///
/// # Errors
/// A sheet that cannot be read.
pub fn begun(name: &str, text: Option<&str>, engine: &str, start: Start) -> Result<String, SheetError> {
    let mut edit = Edit::new(name, text.unwrap_or(questions::NEW_SHEET));
    if edit.get("", "name")?.is_none() {
        edit.set("", "name", &quoted(engine))?;
    }
    let (text, _) = edit.finish();
    let kept: String = text.split_inclusive('\n').filter(|line| !line.starts_with(BEGUN)).collect();
    let at = kept.find("bobweight_sheet").unwrap_or(0);
    let text = format!("{}{BEGUN}{}.\n{}", &kept[..at], start.words(), &kept[at..]);
    parse(name, &text)?;
    Ok(text)
}

/// Values for a sheet.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Answer {
    /// Table, key, and the value as TOML.
    pub(crate) values: Vec<(String, String, String)>,
    /// The key that was asked, and whether its value is only assumed.
    pub(crate) assumed: Vec<(String, bool)>,
    /// Tables and keys that wait again.
    pub(crate) without: Vec<(&'static str, &'static str)>,
}

/// Writes an answer; everything else stays as it was, comments too.
///
/// # Errors
/// Whatever the sheet would be refused for with it.
pub(crate) fn with_answer(name: &str, text: &str, answer: &Answer) -> Result<Changed, SheetError> {
    let mut edit = Edit::new(name, text);
    for (table, key) in &answer.without {
        edit.unset(table, key)?;
    }
    for (table, key, value) in &answer.values {
        edit.set(table, key, value)?;
    }
    // The list as it is, whether or not the rest can be read before the answer is in.
    let before = parse(name, text)?.assumptions().to_vec();
    let mut list = before.clone();
    for (key, assumed) in &answer.assumed {
        list.retain(|other| other != key);
        if *assumed {
            list.push(key.clone());
        }
    }
    if list != before {
        let keys: Vec<String> = list.iter().map(|key| quoted(key)).collect();
        edit.set("", "assumed", &format!("[{}]", keys.join(", ")))?;
    }
    let (text, changes) = edit.finish();
    parse(name, &text)?;
    Ok(Changed { text, changes })
}

/// How a key's value is written in a sheet that can be read; none where it is not there.
pub(crate) fn stands(text: &str, key: &str) -> Option<String> {
    let (table, name) = key.rsplit_once('.').unwrap_or(("", key));
    Edit::new("", text).get(table, name).ok().flatten()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn answer(table: &str, key: &str, value: &str, assumed: bool) -> Answer {
        Answer {
            values: vec![(table.to_owned(), key.to_owned(), value.to_owned())],
            assumed: vec![(format!("{table}.{key}"), assumed)],
            without: Vec::new(),
        }
    }

    #[test]
    fn what_a_sheet_was_begun_with_is_kept_and_can_be_changed() {
        let text = begun("engine.toml", None, "my \"old\" engine", Start::Book).expect("a sheet");
        assert_eq!(started(&text), Some(Start::Book));
        let again = begun("engine.toml", Some(&text), "another", Start::Numbers).expect("a sheet");
        assert_eq!(started(&again), Some(Start::Numbers));
        assert_eq!(again.matches(BEGUN).count(), 1);
        let name = parse("engine.toml", &again).expect("a sheet").name.value().cloned();
        assert_eq!(name.as_deref(), Some("my \"old\" engine"));
        assert_eq!(started(questions::NEW_SHEET), None);
    }

    #[test]
    fn an_answer_leaves_every_comment_and_takes_its_key_from_the_list() {
        let text = begun("engine.toml", None, "an engine", Start::Numbers).expect("a sheet");
        let idle =
            with_answer("engine.toml", &text, &answer("engine", "idle", "\"700 crank rpm\"", true)).expect("a value");
        assert_eq!(parse("", &idle.text).expect("a sheet").assumptions(), ["engine.idle"]);
        assert!(idle.text.contains("# How fast does it idle?\nidle = \"700 crank rpm\""), "{}", idle.text);
        let known = with_answer("engine.toml", &idle.text, &answer("engine", "idle", "\"650 crank rpm\"", false))
            .expect("a value");
        assert_eq!(parse("", &known.text).expect("a sheet").assumptions(), [""; 0]);
        let comments = |text: &str| text.lines().filter(|line| line.starts_with("# ") && !line.contains(" = ")).count();
        assert_eq!(comments(&known.text), comments(&text));
        let wrong = with_answer("engine.toml", &text, &answer("limits", "least", "\"0 crank degrees\"", true));
        assert!(wrong.expect_err("never a limit").to_string().contains("a limit is never assumed"));
    }
}
