//! How anything is said: numbers, answers, and text that leaves the program.

pub(crate) mod number;
pub(crate) mod shown;
pub(crate) mod wrap;
pub(crate) mod yes_or_no;
