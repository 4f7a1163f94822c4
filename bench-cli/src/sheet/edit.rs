//! Changes single values in a sheet's text. Everything else stays as it was written, to the byte.

use super::error::SheetError;
use super::key::{Place, Source};
use super::questions;
use super::wrong_toml;
use std::ops::Range;
use std::sync::Arc;
use toml_edit::{Document, Item};

/// A value that was written, and what stood there before.
#[derive(Clone, Debug, PartialEq)]
pub struct Change {
    /// The key with its table, such as `advance.initial`.
    pub key: String,
    /// What stood there, as it was written.
    pub before: Option<String>,
    /// What stands there now; nothing where a table was taken out.
    pub after: Option<String>,
}

impl Change {
    /// The change in one line, with what stood there before.
    pub fn in_words(&self) -> String {
        let one_line = |value: &str| value.split_whitespace().collect::<Vec<_>>().join(" ");
        let key = &self.key;
        match (self.before.as_deref().map(one_line), self.after.as_deref().map(one_line)) {
            (Some(before), Some(after)) => format!("{key} = {after}, in place of {before}"),
            (None, Some(after)) => format!("{key} = {after}, where nothing was"),
            (before, None) => format!("{key} taken out, which was {}", before.unwrap_or_default()),
        }
    }
}

/// The text of a sheet while it is changed.
pub(super) struct Edit {
    name: String,
    /// Of the file's beginning; spans count without it.
    mark: &'static str,
    text: String,
    /// Stands above the next table that is appended.
    comment: String,
    changes: Vec<Change>,
}

impl Edit {
    pub(super) fn new(name: &str, text: &str) -> Self {
        let (mark, text) = text.strip_prefix('\u{feff}').map_or(("", text), |rest| ("\u{feff}", rest));
        Self { name: name.to_owned(), mark, text: text.to_owned(), comment: String::new(), changes: Vec::new() }
    }

    /// The changed text, and every change that is one.
    pub(super) fn finish(self) -> (String, Vec<Change>) {
        let changes = self.changes.into_iter().filter(|change| change.before != change.after).collect();
        (format!("{}{}", self.mark, self.text), changes)
    }

    /// Writes a value: over the old one, else over the line that waits for it, else at the end of its table. The table
    /// is empty for keys above the first table.
    pub(super) fn set(&mut self, table: &str, key: &str, value: &str) -> Result<(), SheetError> {
        let document = self.parse()?;
        let item = find(document.as_item(), table);
        let written = item.and_then(|item| item.get(key)).and_then(Item::span);
        let (span, new_text) = if let Some(span) = &written {
            (span.clone(), value.to_owned())
        } else if let Some(line) = self.waiting(table, key) {
            (line, format!("{key} = {value}"))
        } else if let Some(item) = item {
            let end = self.end_of(item, table)?;
            (end..end, format!("{key} = {value}{}", self.newline()))
        } else {
            let newline = self.newline();
            let gap = if self.text.is_empty() || self.text.ends_with('\n') { "" } else { newline };
            let mut comment = String::new();
            for line in std::mem::take(&mut self.comment).lines() {
                comment.extend(["# ", line, newline]);
            }
            let end = self.text.len();
            (end..end, format!("{gap}{newline}{comment}[{table}]{newline}{key} = {value}{newline}"))
        };
        let before = written.map(|span| self.text[span].to_owned());
        self.changes.push(Change { key: dotted(table, key), before, after: Some(value.to_owned()) });
        self.text.replace_range(span, &new_text);
        Ok(())
    }

    /// Takes a table out, from its heading to its last value.
    pub(super) fn remove(&mut self, table: &str) -> Result<(), SheetError> {
        let document = self.parse()?;
        let Some(item) = find(document.as_item(), table) else { return Ok(()) };
        let end = self.end_of(item, table)?;
        let start = item.span().map_or(end, |span| span.start.min(end));
        self.changes.push(Change {
            key: table.to_owned(),
            before: Some(self.text[start..end].to_owned()),
            after: None,
        });
        self.text.replace_range(start..end, "");
        Ok(())
    }

    /// Takes a value out and lets its line wait for another, as in a new sheet.
    pub(super) fn unset(&mut self, table: &str, key: &str) -> Result<(), SheetError> {
        let document = self.parse()?;
        let Some(span) = find(document.as_item(), table).and_then(|item| item.get(key)).and_then(Item::span) else {
            return Ok(());
        };
        let start = self.text[..span.start].rfind('\n').map_or(0, |newline| newline + 1);
        let form = questions::question(table, key).map_or_else(|| format!("{key} = …"), |question| question.form);
        self.changes.push(Change {
            key: dotted(table, key),
            before: Some(self.text[span.clone()].to_owned()),
            after: None,
        });
        self.text.replace_range(start..span.end, &format!("# {form}"));
        Ok(())
    }

    /// Writes a comment above the next table that is appended.
    pub(super) fn comment(&mut self, comment: &str) {
        comment.clone_into(&mut self.comment);
    }

    /// How a value is written now.
    pub(super) fn get(&self, table: &str, key: &str) -> Result<Option<String>, SheetError> {
        let document = self.parse()?;
        let span = find(document.as_item(), table).and_then(|item| item.get(key)).and_then(Item::span);
        Ok(span.map(|span| self.text[span].to_owned()))
    }

    pub(super) fn has(&self, table: &str) -> Result<bool, SheetError> {
        Ok(find(self.parse()?.as_item(), table).is_some())
    }

    fn parse(&self) -> Result<Document<String>, SheetError> {
        Document::parse(self.text.clone())
            .map_err(|error| wrong_toml(&Arc::new(Source { name: self.name.clone(), text: self.text.clone() }), &error))
    }

    /// The untouched line of a new sheet that waits for a key. A line that somebody has written is left alone.
    fn waiting(&self, table: &str, key: &str) -> Option<Range<usize>> {
        let line = questions::commented_out(&self.text, table, key)?;
        let form = questions::question(table, key)?.form;
        (self.text[line.clone()].trim_start_matches('#').trim() == form).then_some(line)
    }

    /// Behind the line of a table's last value, or of its heading.
    fn end_of(&self, item: &Item, table: &str) -> Result<usize, SheetError> {
        let place = |span: Range<usize>| Place {
            source: Arc::new(Source { name: self.name.clone(), text: self.text.clone() }),
            key: table.to_owned(),
            span,
        };
        let span = item.span().unwrap_or(0..0);
        let Some(items) = item.as_table().filter(|table| !table.is_dotted() && !table.is_implicit()) else {
            return Err(place(span).refuse(
                "is written on one line",
                "cannot be added to",
                format!("write it as `[{table}]` with each key on a line of its own"),
            ));
        };
        let last =
            items.iter().filter(|(_, item)| item.is_value()).filter_map(|(_, item)| item.span()).map(|span| span.end);
        let end = last.max().unwrap_or(span.end).max(span.start);
        Ok(self.text[end..].find('\n').map_or(self.text.len(), |newline| end + newline + 1))
    }

    fn newline(&self) -> &'static str {
        if self.text.contains("\r\n") { "\r\n" } else { "\n" }
    }
}

fn dotted(table: &str, key: &str) -> String {
    if table.is_empty() { key.to_owned() } else { format!("{table}.{key}") }
}

/// A table by its dotted name; the root for none.
fn find<'a>(root: &'a Item, table: &str) -> Option<&'a Item> {
    if table.is_empty() {
        return Some(root);
    }
    table.split('.').try_fold(root, |item, name| item.get(name))
}
