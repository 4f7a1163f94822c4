//! How anything is said: numbers, answers, and text that leaves the program.

pub mod number;
pub mod shown;
pub mod wrap;
pub mod yes_or_no;
