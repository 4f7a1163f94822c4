//! What is wrong with a sheet: file, line, key, and what to do next.

use miette::{Diagnostic, NamedSource, SourceSpan};
use thiserror::Error;

/// A sheet that cannot be used.
#[derive(Debug, Diagnostic, Error)]
pub enum SheetError {
    /// The file itself cannot be used.
    #[error(transparent)]
    #[diagnostic(transparent)]
    File(Box<FileError>),
    /// The result could not be written.
    #[error(transparent)]
    #[diagnostic(transparent)]
    Unwritten(Box<FileError>),
    /// Something that stands in the sheet, or is missing from it.
    #[error(transparent)]
    #[diagnostic(transparent)]
    Key(Box<KeyError>),
}

/// A file that cannot be read or written.
#[derive(Debug, Diagnostic, Error)]
#[error("{file}: {message}")]
pub struct FileError {
    /// The file as it was named.
    pub file: String,
    /// What happened.
    pub message: String,
    /// What to do next.
    #[help]
    pub help: String,
}

/// A key of a sheet that is wrong or missing.
#[derive(Debug, Diagnostic, Error)]
#[error("{}, line {line}: {message}", sheet.name())]
pub struct KeyError {
    /// The key with its table, such as `engine.idle`; empty where the text is no TOML.
    pub key: String,
    /// The line of the sheet, from 1.
    pub line: usize,
    /// What kind of refusal this is.
    pub kind: Refused,
    /// What is wrong. Names the key.
    pub message: String,
    /// What to do next.
    #[help]
    pub help: String,
    /// The sheet's name and text.
    #[source_code]
    pub sheet: NamedSource<String>,
    /// Said below the place.
    pub label: String,
    /// The place in the text.
    #[label("{label}")]
    pub span: SourceSpan,
}

/// Why a key is refused.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub enum Refused {
    /// It is wrong.
    Wrong,
    /// It is missing, and nothing else is known to be wrong.
    Missing,
    /// It is right, but no ignition of ours drives such an engine.
    NotDriven,
}

impl SheetError {
    /// A file that cannot be read or written.
    pub(crate) fn file(file: impl Into<String>, message: impl Into<String>, help: impl Into<String>) -> Self {
        Self::File(Box::new(FileError { file: file.into(), message: message.into(), help: help.into() }))
    }

    /// Several keys that are missing in one sheet, as one refusal at the place of the first.
    pub(crate) fn all_missing(missing: Vec<Self>) -> Option<Self> {
        let mut errors =
            missing.into_iter().filter_map(|error| if let Self::Key(error) = error { Some(error) } else { None });
        let mut first = errors.next()?;
        let others: Vec<Box<KeyError>> = errors.collect();
        if others.is_empty() {
            return Some(Self::Key(first));
        }
        let all: Vec<(String, String)> = std::iter::once(&first)
            .chain(&others)
            .map(|error| (format!("`{}`", error.key), error.help.clone()))
            .collect();
        let (keys, helps): (Vec<String>, Vec<String>) = all.into_iter().unzip();
        first.message = format!(
            "{} is missing, and so {} {}",
            keys[0],
            if keys.len() == 2 { "is" } else { "are" },
            keys[1..].join(", ")
        );
        first.help = format!(
            "`bobweight begin` asks for them one at a time, and tells how to know each. Or write them yourself:\n- {}",
            helps.join("\n- ")
        );
        Some(Self::Key(first))
    }

    /// The key that is wrong or missing, such as `engine.idle`; none where the file itself is at fault.
    pub fn key(&self) -> Option<&str> {
        match self {
            Self::File(_) | Self::Unwritten(_) => None,
            Self::Key(error) => Some(&error.key),
        }
    }

    /// Whether a key is only missing: a sheet that is not filled in so far.
    pub fn is_missing_key(&self) -> bool {
        matches!(self, Self::Key(error) if error.kind == Refused::Missing)
    }

    /// Whether nothing is wrong with the sheet, but its engine has an ignition that is not driven from here.
    pub fn is_not_driven(&self) -> bool {
        matches!(self, Self::Key(error) if error.kind == Refused::NotDriven)
    }

    /// The line of the sheet, from 1; none where the file itself is at fault.
    pub fn line(&self) -> Option<usize> {
        match self {
            Self::File(_) | Self::Unwritten(_) => None,
            Self::Key(error) => Some(error.line),
        }
    }
}
