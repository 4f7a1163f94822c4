//! How anything is said: numbers, answers, and text that leaves the program.

pub(crate) mod grid;
pub(crate) mod number;
pub(crate) mod position;
pub(crate) mod shown;
pub(crate) mod wrap;
pub(crate) mod yes_or_no;

/// The word of a value in a table of words; empty where the table has none.
pub(crate) fn word_of<T: Copy + PartialEq>(words: &[(&'static str, T)], value: T) -> &'static str {
    words.iter().find(|(_, other)| *other == value).map_or("", |(word, _)| word)
}
