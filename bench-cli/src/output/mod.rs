//! Renderings of a finished result; nothing here measures or judges.

pub mod check;
pub mod text;
