//! Why readings were refused: what, where, and what to do next.

use std::path::Path;

use miette::{Diagnostic, NamedSource, SourceSpan};
use thiserror::Error;

/// Readings that cannot be used.
#[derive(Debug, Error, Diagnostic)]
#[non_exhaustive]
pub enum ReadingsError {
    /// The file cannot be read at all.
    #[error("{name}: {what}")]
    File {
        /// Name of the file.
        name: String,
        /// What is wrong with it.
        what: &'static str,
        /// What to do next.
        #[help]
        remedy: String,
        /// What the operating system said.
        #[source]
        cause: std::io::Error,
    },
    /// Something in the file is refused.
    #[error(transparent)]
    #[diagnostic(transparent)]
    Refused(Box<Refusal>),
}

/// One refusal, with its place in the file.
#[derive(Debug, Error, Diagnostic)]
#[error("{name}, line {line}{}: {problem}", self.in_column())]
pub struct Refusal {
    /// Name of the file.
    pub name: String,
    /// Line of the file, from 1.
    pub line: usize,
    /// The column, where the refusal is about one.
    pub column: Option<String>,
    /// What is wrong.
    pub problem: Problem,
    /// What to do next.
    #[help]
    pub remedy: String,
    #[source_code]
    pub(super) text: NamedSource<String>,
    #[label("here")]
    pub(super) span: SourceSpan,
}

impl Refusal {
    fn in_column(&self) -> String {
        self.column.as_ref().map_or_else(String::new, |column| format!(", column {column}"))
    }
}

/// What can be wrong with readings. Values are quoted as they stand in the file.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum Problem {
    /// No bytes, or comments alone.
    #[error("the file holds no readings")]
    Empty,
    /// A header without a line below it.
    #[error("the file names its columns but holds no readings")]
    NoReadings,
    /// Bytes that are not UTF-8.
    #[error("the file is not UTF-8 text")]
    NotUtf8,
    /// Semicolons or tabs between the columns.
    #[error("the columns are separated by {0}, as a spreadsheet exports them where the comma is the decimal sign")]
    Separator(&'static str),
    /// A number with a decimal comma.
    #[error("`{0}` has a decimal comma")]
    DecimalComma(String),
    /// A line with more or fewer fields than there are columns.
    #[error("{found} fields where {columns} columns are named")]
    FieldCount {
        /// Fields in this line.
        found: usize,
        /// Columns named in the header.
        columns: usize,
    },
    /// More fields than columns, with whole numbers side by side.
    #[error("{found} fields where {columns} columns are named, as a decimal comma makes two of one number")]
    SplitByDecimalComma {
        /// Fields in this line.
        found: usize,
        /// Columns named in the header.
        columns: usize,
    },
    /// A quote that does not close.
    #[error("a quotation mark that is not closed")]
    OpenQuote,
    /// A column nobody knows.
    #[error("unknown column `{0}`")]
    UnknownColumn(String),
    /// One column named twice.
    #[error("the column `{0}` is named twice")]
    RepeatedColumn(String),
    /// Two columns of which a file may have one.
    #[error("the columns `{0}` and `{1}` exclude each other")]
    RivalColumns(&'static str, &'static str),
    /// A column that must be there.
    #[error("the column {0} is missing")]
    MissingColumn(&'static str),
    /// Absolute pressures without the atmosphere.
    #[error("`manifold_kPa_absolute` says nothing of the depression while the atmosphere is not given")]
    NoAtmosphere,
    /// An atmosphere line that cannot be read.
    #[error("`{0}` is no atmosphere")]
    Atmosphere(String),
    /// Two atmosphere lines.
    #[error("the atmosphere is given twice")]
    RepeatedAtmosphere,
    /// A line of the speeds' scatter that cannot be read.
    #[error("`{0}` is no scatter of the speeds")]
    SpeedScatter(String),
    /// Two lines of the speeds' scatter.
    #[error("the scatter of the speeds is given twice")]
    RepeatedSpeedScatter,
    /// A line of the timings' scatter that cannot be read.
    #[error("`{0}` is no scatter of the timings")]
    AngleScatter(String),
    /// Two lines of the timings' scatter.
    #[error("the scatter of the timings is given twice")]
    RepeatedAngleScatter,
    /// A line of the tachometer's accuracy that cannot be read, or that says too much.
    #[error("`{0}` is no accuracy of a tachometer")]
    TachometerAccuracy(String),
    /// A line of the vacuum gauge's accuracy likewise.
    #[error("`{0}` is no accuracy of a vacuum gauge")]
    GaugeAccuracy(String),
    /// A line that says how something was done, and cannot be read.
    #[error("`{0}` is not to be read")]
    Said(String),
    /// A line that must be there.
    #[error("nothing says the {0}")]
    NotSaid(&'static str),
    /// A line that was said before.
    #[error("the {0} is said twice")]
    SaidTwice(&'static str),
    /// The last line, where its end is missing and so are fields of it.
    #[error("the last line is not whole, as when the power fails while it is written")]
    Torn,
    /// A field that must be filled.
    #[error("the value is missing")]
    MissingValue,
    /// A word that is none of those expected.
    #[error("`{value}` is not one of {expected}")]
    Word {
        /// The word found.
        value: String,
        /// The words that are known.
        expected: &'static str,
    },
    /// Not a number, NaN and infinity among them.
    #[error("`{0}` is not a number")]
    NotANumber(String),
    /// A number outside its range.
    #[error("`{value}` is outside {range}")]
    OutOfRange {
        /// The value as it stands in the file.
        value: String,
        /// The range, with its unit.
        range: String,
    },
    /// A vacuum while the hose is off.
    #[error("a vacuum of `{0}` is given while the hose is off")]
    VacuumWithHoseOff(String),
    /// No vacuum while the hose is on.
    #[error("the hose is on, but no vacuum is given")]
    HoseOnWithoutVacuum,
}

impl ReadingsError {
    pub(super) fn from_io(name: String, path: &Path, cause: std::io::Error) -> Self {
        use std::io::ErrorKind;
        let (what, remedy) = if path.is_dir() {
            ("this is a folder, not a file of readings", "name the CSV file inside it".to_owned())
        } else {
            match cause.kind() {
                ErrorKind::NotFound => (
                    "there is no such file",
                    "check the name and the folder; a sheet names its readings relative to itself".to_owned(),
                ),
                ErrorKind::PermissionDenied => {
                    ("you have no permission to read this file", format!("allow it, on Unix with `chmod u+r {name}`"))
                }
                ErrorKind::FileTooLarge => {
                    ("no readings fill such a file", "name the CSV file: it has a line for each reading".to_owned())
                }
                _ => ("the file cannot be read", "check the disk and the file, then try again".to_owned()),
            }
        };
        Self::File { name, what, remedy, cause }
    }
}
