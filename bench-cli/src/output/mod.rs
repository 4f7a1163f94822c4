//! Renderings of a finished result; nothing here measures or judges.

pub mod brief;
pub mod check;
pub mod columns;
pub mod curve;
pub mod figures;
pub mod first_start;
pub mod light;
pub mod ports;
pub mod report;
pub mod svg;
pub mod tape;
pub mod text;
pub mod wrap;
