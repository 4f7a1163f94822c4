//! Renderings of a finished result; nothing here measures or judges.

pub(crate) mod brief;
pub(crate) mod check;
pub(crate) mod coil;
pub(crate) mod columns;
pub(crate) mod figures;
pub(crate) mod first_look;
pub(crate) mod first_start;
pub(crate) mod ignition;
pub(crate) mod known;
pub(crate) mod light;
mod lines;
pub(crate) mod next_step;
pub(crate) mod ports;
pub(crate) mod report;
pub(crate) mod svg;
pub(crate) mod tape;
pub(crate) mod text;
pub(crate) mod trials;
