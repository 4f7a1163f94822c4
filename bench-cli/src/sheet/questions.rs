//! What to ask a person for a key that the sheet does not say yet. The text of a new sheet holds every question once.

use std::ops::Range;

/// A new sheet: every key that readings cannot tell, commented out below its question.
pub(super) const NEW_SHEET: &str = include_str!("new_sheet.toml");

/// A question of the new sheet.
#[derive(Debug, PartialEq)]
pub(super) struct Question {
    /// In plain words.
    pub(super) text: String,
    /// How the key is written.
    pub(super) form: String,
}

/// The question for a key of a table; the table is empty for keys above the first table.
pub(super) fn question(table: &str, name: &str) -> Option<Question> {
    let line = commented_out(NEW_SHEET, table, name)?;
    let above: Vec<&str> = NEW_SHEET[..line.start].lines().rev().take_while(|line| is_prose(line)).collect();
    let text: Vec<&str> = above.iter().rev().map(|line| line.trim_start_matches('#').trim()).collect();
    let form = NEW_SHEET[line].trim_start_matches('#').trim();
    Some(Question { text: text.join(" "), form: form.to_owned() })
}

/// The question for a key with its table, in plain words; its name where the new sheet does not ask for it.
pub(crate) fn question_of(key: &str) -> String {
    let (table, name) = key.rsplit_once('.').unwrap_or(("", key));
    question(table, name).map_or_else(|| key.to_owned(), |question| question.text)
}

/// How a key is written in the sheet.
pub(crate) fn form_of(key: &str) -> String {
    let (table, name) = key.rsplit_once('.').unwrap_or(("", key));
    question(table, name).map_or_else(|| format!("{name} = …"), |question| question.form)
}

/// The tables that know a key.
pub(super) fn tables_of(name: &str) -> Vec<&'static str> {
    waiting(NEW_SHEET).filter(|found| found.key == name && !found.table.is_empty()).map(|found| found.table).collect()
}

/// The line in which a key of a table stands commented out.
pub(super) fn commented_out(text: &str, table: &str, name: &str) -> Option<Range<usize>> {
    waiting(text).find(|found| found.table == table && found.key == name).map(|found| found.line)
}

/// Every key that a new sheet asks for, with its table.
#[cfg(test)]
pub(super) fn every_key() -> Vec<(&'static str, &'static str)> {
    waiting(NEW_SHEET).map(|found| (found.table, found.key)).collect()
}

/// A commented-out key.
struct Waiting<'a> {
    table: &'a str,
    key: &'a str,
    line: Range<usize>,
}

fn waiting(text: &str) -> impl Iterator<Item = Waiting<'_>> {
    let mut table = "";
    let mut end = 0;
    text.split_inclusive('\n').filter_map(move |line| {
        let start = end;
        end += line.len();
        let bare = line.trim().trim_start_matches('#').trim();
        if let Some(header) = header(bare) {
            table = header;
            return None;
        }
        let key = key_of(bare).filter(|_| line.trim_start().starts_with('#'))?;
        Some(Waiting { table, key, line: start..start + line.trim_end().len() })
    })
}

fn is_prose(line: &str) -> bool {
    let bare = line.trim_start_matches('#').trim();
    line.starts_with('#') && header(bare).is_none() && key_of(bare).is_none()
}

fn header(bare: &str) -> Option<&str> {
    let name = bare.strip_prefix('[')?.split_once(']')?.0.trim_start_matches('[');
    name.chars().all(|c| c == '_' || c == '.' || c.is_ascii_alphanumeric()).then_some(name)
}

fn key_of(bare: &str) -> Option<&str> {
    let (name, _) = bare.split_once('=')?;
    let name = name.trim();
    (!name.is_empty() && name.chars().all(|c| c == '_' || c.is_ascii_alphanumeric())).then_some(name)
}
