//! A value of the sheet together with its place, so that whoever refuses it later can point at the line.

use super::error::{KeyError, Refused, SheetError};
use super::questions;
use miette::NamedSource;
use serde::Serialize;
use std::ops::Range;
use std::sync::Arc;

/// The sheet's name and text.
#[derive(Debug)]
pub(super) struct Source {
    pub(super) name: String,
    pub(super) text: String,
}

/// Where in the sheet something stands, or would stand.
#[derive(Clone, Debug)]
pub struct Place {
    pub(super) source: Arc<Source>,
    pub(super) key: String,
    pub(super) span: Range<usize>,
}

impl Place {
    /// The key with its table, such as `engine.idle`.
    pub fn key(&self) -> &str {
        &self.key
    }

    /// The line, from 1.
    pub fn line(&self) -> usize {
        self.source.text[..self.span.start].matches('\n').count() + 1
    }

    /// Refuses what stands here. The message begins with the key; `label` stands below the place.
    pub fn refuse(&self, message: impl AsRef<str>, label: impl Into<String>, help: impl Into<String>) -> SheetError {
        SheetError::Key(Box::new(self.error(message, label, help)))
    }

    /// Refuses to drive an engine for what stands here; the sheet itself is right.
    pub(super) fn not_driven(&self, message: impl AsRef<str>, label: &str, help: &str) -> SheetError {
        SheetError::Key(Box::new(KeyError { kind: Refused::NotDriven, ..self.error(message, label, help) }))
    }

    fn error(&self, message: impl AsRef<str>, label: impl Into<String>, help: impl Into<String>) -> KeyError {
        KeyError {
            key: self.key.clone(),
            line: self.line(),
            kind: Refused::Wrong,
            message: if self.key.is_empty() {
                message.as_ref().to_owned()
            } else {
                format!("`{}` {}", self.key, message.as_ref())
            },
            help: help.into(),
            sheet: NamedSource::new(&self.source.name, self.source.text.clone()),
            label: label.into(),
            span: self.span.clone().into(),
        }
    }
}

/// A key of the sheet: its value, if it is there, and its place.
#[derive(Clone, Debug)]
pub struct Key<T> {
    pub(super) place: Place,
    pub(super) value: Option<T>,
}

impl<T: Serialize> Serialize for Key<T> {
    /// The value alone: where it stands is nothing that it says.
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        self.value.serialize(serializer)
    }
}

impl<T> Key<T> {
    /// The value of a key that the sheet may leave out.
    pub fn value(&self) -> Option<&T> {
        self.value.as_ref()
    }

    /// The value of a key that the command at hand needs.
    ///
    /// # Errors
    /// Where the key is missing, with its question as the remedy; the place is its commented-out line if there is one.
    pub fn get(&self) -> Result<&T, SheetError> {
        self.value.as_ref().ok_or_else(|| self.missing())
    }

    /// Where the key stands, or would stand.
    pub fn place(&self) -> &Place {
        &self.place
    }

    /// Refuses the value, for a reason that only the rest of the program knows.
    pub fn refuse(&self, message: impl AsRef<str>, label: impl Into<String>, help: impl Into<String>) -> SheetError {
        self.place.refuse(message, label, help)
    }

    pub(super) fn map<U>(self, change: impl FnOnce(T) -> U) -> Key<U> {
        Key { place: self.place, value: self.value.map(change) }
    }

    fn missing(&self) -> SheetError {
        let (table, name) = self.place.key.rsplit_once('.').unwrap_or(("", &self.place.key));
        let question = questions::question(table, name);
        let asked = question.as_ref().map_or_else(String::new, |found| format!("{} ", found.text));
        let form = question.map_or_else(|| format!("{name} = …"), |found| found.form);
        let mut place = self.place.clone();
        let label = if let Some(span) = questions::commented_out(&place.source.text, table, name) {
            place.span = span;
            "still waits for its value"
        } else {
            "is not in this table"
        };
        let whereto = if table.is_empty() { "above the first table".to_owned() } else { format!("under `[{table}]`") };
        let error = place.error("is missing", label, format!("{asked}Write `{form}` {whereto}."));
        SheetError::Key(Box::new(KeyError { kind: Refused::Missing, ..error }))
    }
}
