//! Readings of an old distributor: a CSV file of what a timing light, a tachometer and a vacuum gauge showed.
//!
//! Columns in any order, named in the first line that is not a comment; `#` starts a comment:
//!
//! | column | values |
//! | --- | --- |
//! | `hose` | `on`, `off`: the vacuum hose at the distributor |
//! | `speed_was` | `rising`, `falling`, `steady` before the reading was taken |
//! | `crank_rpm` or `distributor_rpm` | a number above 0 |
//! | `crank_degrees` or `distributor_degrees` | before top dead centre; after it is negative |
//! | at most one of `vacuum_inHg`, `vacuum_kPa`, `vacuum_mmHg`, `vacuum_mbar`, `vacuum_psi` (depression below the atmosphere), `manifold_kPa_absolute` | empty while the hose is off |
//!
//! Absolute pressures need a line `# atmosphere = 101.3 kPa absolute`. A line `# speed_scatter = 2 %` says by how much of
//! themselves the speeds scatter (standard deviation, 0 to 10 %); where there is none they are taken as they stand. A line
//! `# angle_scatter = 2 crank degrees` says how far the timings are expected to scatter (standard deviation, 0.05 to 5). A line
//! `# tachometer_accuracy = 1 % + 20 crank rpm` says what the maker of the tachometer does: no speed is further out than that share of what is
//! shown and that much besides, either of which may stand alone (0 to 10 %, 0 to 200 crank rpm); `# gauge_accuracy = 4 % + 0.5 kPa` likewise of
//! the vacuum gauge (0 to 20 % of the depression, 0 to 10 kPa). Where there is none the accuracy is not stated, and is taken for nothing. A line
//! `# answer: leak_test = no`, as `survey` keeps it, says that the vacuum unit did not hold at the pump; `yes`, that it did.

mod columns;
mod error;
mod field;
mod lines;
mod parse;
#[cfg(test)]
mod tests;
mod text;

pub(crate) use error::Problem;
pub use error::ReadingsError;
pub(crate) use field::Field;
pub(crate) use lines::{lines, whole};
pub use parse::parse;
pub(crate) use parse::{CRANK_DEGREES, refuse_field_count, refuse_other_separators};
pub(crate) use text::Text;

use crate::files::bounded::{self, LARGEST_TEXT_MB};
use crate::quantity::Accuracy;
use crate::words::word_of;
use std::path::Path;

/// Whether the vacuum hose was on the distributor's vacuum unit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Hose {
    /// On the unit: the reading holds vacuum advance.
    On,
    /// Off and stopped up: the reading holds initial timing and centrifugal advance alone.
    Off,
}

impl Hose {
    /// The words of a file.
    const WORDS: [(&str, Self); 2] = [("on", Self::On), ("off", Self::Off)];

    /// The word of a file.
    pub fn word(self) -> &'static str {
        word_of(&Self::WORDS, self)
    }
}

/// How the engine came to the speed of a reading; weights that stick lag behind.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SpeedWas {
    /// From below.
    Rising,
    /// From above.
    Falling,
    /// Held, or not noted.
    Steady,
}

impl SpeedWas {
    /// The words of a file.
    const WORDS: [(&str, Self); 3] = [("rising", Self::Rising), ("falling", Self::Falling), ("steady", Self::Steady)];

    /// The word of a file.
    pub fn word(self) -> &'static str {
        word_of(&Self::WORDS, self)
    }
}

/// The line of columns of the files that this program writes.
pub const WRITTEN_COLUMNS: &str = "hose,speed_was,crank_rpm,crank_degrees,vacuum_kPa";

/// One reading, in the units of the inside.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// Line of the file, from 1.
    pub line: usize,
    /// The vacuum hose.
    pub hose: Hose,
    /// How the speed was reached.
    pub speed_was: SpeedWas,
    /// Crank rpm, above 0 and at most 20 000.
    pub crank_rpm: f64,
    /// Crank degrees before top dead centre, -30 to 90.
    pub crank_degrees: f64,
    /// Depression in kPa, 0 to 110; always there while the hose is on, never while it is off.
    pub depression_kpa: Option<f64>,
}

/// The readings of one file, in the order of the file. There is at least one.
#[derive(Debug, Clone, PartialEq)]
pub struct Readings {
    /// Name of the file, as messages show it.
    pub name: String,
    /// The readings.
    pub readings: Vec<Reading>,
    /// The atmosphere in kPa absolute, where the file states it.
    pub atmosphere_kpa: Option<f64>,
    /// Standard deviation of a speed as a part of it, 0 to 0.1; 0 where the file does not state it.
    pub speed_scatter: f64,
    /// Expected standard deviation of a timing, crank degrees, where the file states it.
    pub angle_scatter: Option<f64>,
    /// By how much a speed may be out, the same way every time, crank rpm, where the file states it.
    pub tachometer_accuracy: Option<Accuracy>,
    /// By how much a depression may be out likewise, kPa, where the file states it.
    pub gauge_accuracy: Option<Accuracy>,
    /// Whether the vacuum unit held its vacuum at a pump, where the file states it.
    pub unit_holds: Option<bool>,
    /// The columns that the quantities came from.
    pub columns: ColumnNames,
}

/// Names of a file's columns.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ColumnNames {
    /// `crank_rpm` or `distributor_rpm`.
    pub speed: &'static str,
    /// `crank_degrees` or `distributor_degrees`.
    pub angle: &'static str,
    /// The column of the vacuum, where there is one.
    pub vacuum: Option<&'static str>,
}

impl Readings {
    /// The readings with the hose off.
    pub fn hose_off(&self) -> impl Iterator<Item = &Reading> {
        self.readings.iter().filter(|reading| reading.hose == Hose::Off)
    }

    /// The readings with the hose on.
    pub fn hose_on(&self) -> impl Iterator<Item = &Reading> {
        self.readings.iter().filter(|reading| reading.hose == Hose::On)
    }
}

/// Reads the file at `path`.
///
/// # Errors
/// What [`parse()`] refuses, and a file that is missing, a folder, or not to be read.
pub fn read(path: &Path) -> Result<Readings, ReadingsError> {
    parse(&path.display().to_string(), &bytes_of(path)?)
}

/// The bytes of the file at `path`.
///
/// # Errors
/// A file that is missing, a folder, or not to be read.
pub fn bytes_of(path: &Path) -> Result<Vec<u8>, ReadingsError> {
    bounded::read(path, LARGEST_TEXT_MB)
        .map_err(|cause| ReadingsError::from_io(path.display().to_string(), path, cause))
}
