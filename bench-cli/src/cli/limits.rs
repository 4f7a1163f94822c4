//! How a curve keeps the limits of its sheet, in the words of `check`.

pub use crate::check::limits_in_words;
