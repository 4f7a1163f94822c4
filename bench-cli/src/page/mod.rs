//! Renderings of a finished result; nothing here measures or judges.

pub mod brief;
pub mod check;
pub mod figures;
pub mod first_start;
pub mod ignition;
pub mod light;
pub mod next_step;
pub mod ports;
pub mod report;
pub mod svg;
pub mod tape;
pub mod text;
