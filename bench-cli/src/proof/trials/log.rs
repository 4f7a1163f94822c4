//! The log of trials: a CSV file of the owner's that only grows.
//!
//! Lines that say how the trials were made come first, then the names of the columns:
//!
//! | line | values |
//! | --- | --- |
//! | `# place = full throttle` | `idle`, `part throttle`, `full throttle` |
//! | `# speed = 3000 crank rpm` | at which the timing counts |
//! | `# depression = 40 kPa depression` | at part throttle alone |
//! | `# listening = ear` | `ear`, `knock detection` |
//!
//! | column | values |
//! | --- | --- |
//! | `series` | a whole number from 1 that never falls; without the column all are of one series |
//! | `crank_degrees` or `distributor_degrees` | the total timing at this place, before top dead centre |
//! | one of `time_s`, `torque_Nm`, `power_kW`, `delivery_l_per_min`, `speed_crank_rpm` | 0.001 to 1 000 000 |
//! | `pinking` | `no`, `yes`, `could not tell` |
//! | `conditions` | any words; it may be left out |

use crate::distributor::readings::{
    CRANK_DEGREES, Field, Problem, ReadingsError, Text, bytes_of, lines, refuse_field_count, refuse_other_separators,
    whole,
};
use crate::files::digest::digest;
use crate::quantity::{SPEED, STANDARD_ATMOSPHERE_KPA, parse as quantity, parse_pressure};
use crate::record::trials::{Heard, Listening, Measure, Place, Said, Trial};
use crate::words::number::short_ungrouped;
use crate::words::word_of;
use std::fmt::Write;
use std::ops::Range;
use std::path::Path;

/// What a file of trials begins with, where this program wrote it.
const FIRST_LINE: &str = "# trials of a timing; lines are added, and none is taken away";
/// What can be measured, in any unit: a file keeps six places.
pub const MEASURED: (f64, f64) = (1e-3, 1e6);
/// The most series of one file.
const MOST_SERIES: f64 = 1_000.0;
/// Speeds at which a timing can be tried, crank rpm.
pub const SPEEDS: (f64, f64) = (30.0, 20_000.0);

/// A log as it was read.
#[derive(Clone, Debug, PartialEq)]
pub struct Log {
    /// Name of the file, as messages show it.
    pub name: String,
    /// Where, by what and how.
    pub said: Said,
    /// The trials, in the order of the file.
    pub trials: Vec<Trial>,
    /// Digest of the file.
    pub digest: String,
    columns: Vec<Column>,
}

/// A column of a log.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Column {
    Series,
    /// Times the factor: crank degrees.
    Angle(f64),
    Measured(Measure),
    Pinking,
    Conditions,
}

/// The columns that this program writes, in its order.
const fn written(measure: Measure) -> [Column; 5] {
    [Column::Series, Column::Angle(1.0), Column::Measured(measure), Column::Pinking, Column::Conditions]
}

impl Column {
    fn name(self) -> &'static str {
        match self {
            Self::Series => "series",
            Self::Angle(1.0) => "crank_degrees",
            Self::Angle(_) => "distributor_degrees",
            Self::Measured(measure) => measure.column(),
            Self::Pinking => "pinking",
            Self::Conditions => "conditions",
        }
    }

    fn known() -> impl Iterator<Item = Self> {
        let measures = Measure::COLUMNS.iter().map(|(.., measure)| Self::Measured(*measure));
        [Self::Series, Self::Angle(1.0), Self::Angle(2.0), Self::Pinking, Self::Conditions].into_iter().chain(measures)
    }

    /// Whether both tell the same kind of thing, of which a file has one.
    fn rivals(self, other: Self) -> bool {
        std::mem::discriminant(&self) == std::mem::discriminant(&other)
    }
}

/// Reads a file.
///
/// # Errors
/// What [`parse`] refuses, and a file that cannot be read.
pub fn read(path: &Path) -> Result<Log, ReadingsError> {
    parse(&path.display().to_string(), &bytes_of(path)?)
}

/// A log from the bytes of a file, with trials or without.
///
/// # Errors
/// Every refusal names file, line, column where there is one, value and remedy.
pub fn parse(name: &str, bytes: &[u8]) -> Result<Log, ReadingsError> {
    let text = Text::new(name, bytes)?;
    refuse_open_quote(&text)?;
    let mut rows = lines(&text).into_iter();
    let Some(header) = rows.next() else {
        let remedy = "begin with lines such as `# place = full throttle` and `series,crank_degrees,time_s,pinking,conditions`; \
                      `bobweight trials` makes such a file";
        return Err(text.refuse(0..0, None, Problem::Empty, remedy));
    };
    refuse_other_separators(&text, &header)?;
    let columns = columns(&text, &header)?;
    let measure =
        columns.iter().find_map(|column| if let Column::Measured(measure) = column { Some(*measure) } else { None });
    let Some(measure) = measure else {
        let remedy = "add the one that you read, such as `time_s`";
        return Err(text.refuse(whole(&header), None, Problem::MissingColumn("of what was measured"), remedy));
    };
    let said = said(&text, measure, whole(&header))?;
    let mut log =
        Log { name: name.to_owned(), said, trials: Vec::new(), digest: digest(bytes), columns: columns.clone() };
    let last_is_open = !matches!(text.written.as_bytes().last(), None | Some(b'\n' | b'\r'));
    let mut rows = rows.peekable();
    while let Some(row) = rows.next() {
        if row.len() < columns.len() && rows.peek().is_none() && last_is_open {
            let remedy = "take that line out: what it held is lost, and nothing else is";
            return Err(text.refuse(whole(&row), None, Problem::Torn, remedy));
        }
        refuse_field_count(&text, columns.len(), &row)?;
        let before = log.trials.last().map_or(1, |trial| trial.series);
        log.trials.push(trial(&text, &columns, &row, before)?);
    }
    Ok(log)
}

/// A quotation mark that its line does not close would swallow every line that is added below.
fn refuse_open_quote(text: &Text<'_>) -> Result<(), ReadingsError> {
    // An odd number of marks parts a line into an even number of pieces.
    let mut start = 0;
    for line in text.data.split_inclusive(|byte| matches!(byte, b'\n' | b'\r')) {
        if line.split(|byte| *byte == b'"').count().is_multiple_of(2) {
            let remedy = "close it on its line, or take the line out where the power failed while it was written";
            return Err(text.refuse(start..start + line.trim_ascii_end().len(), None, Problem::OpenQuote, remedy));
        }
        start += line.len();
    }
    Ok(())
}

fn columns(text: &Text<'_>, header: &[(String, Range<usize>)]) -> Result<Vec<Column>, ReadingsError> {
    let mut columns: Vec<Column> = Vec::new();
    for (name, place) in header {
        let Some(column) = Column::known().find(|column| column.name() == name) else {
            let known: Vec<&str> = Column::known().map(Column::name).collect();
            let remedy = format!("take the column out, or write one of {}", known.join(", "));
            return Err(text.refuse(place.clone(), None, Problem::UnknownColumn(name.clone()), remedy));
        };
        if let Some(earlier) = columns.iter().find(|earlier| earlier.rivals(column)) {
            let problem = if *earlier == column {
                Problem::RepeatedColumn(name.clone())
            } else {
                Problem::RivalColumns(earlier.name(), column.name())
            };
            return Err(text.refuse(place.clone(), None, problem, "keep one of the two and take the other out"));
        }
        columns.push(column);
    }
    for (needed, names, remedy) in [
        (Column::Angle(1.0), "`crank_degrees` or `distributor_degrees`", "add the one that you set"),
        (Column::Pinking, "`pinking`", "add it, with `no`, `yes` or `could not tell` in every line"),
    ] {
        if !columns.iter().any(|column| column.rivals(needed)) {
            return Err(text.refuse(whole(&header.to_vec()), None, Problem::MissingColumn(names), remedy));
        }
    }
    Ok(columns)
}

/// One line that says how, read from its text.
fn stated<T>(
    text: &Text<'_>,
    key: &'static str,
    remedy: &str,
    read: impl Fn(&str) -> Option<T>,
) -> Result<Option<T>, ReadingsError> {
    let mut found = None;
    for (place, comment) in &text.comments {
        let Some((_, value)) = comment.split_once('=').filter(|(written, _)| written.trim() == key) else { continue };
        let place = *place..place + 1 + comment.trim_end().len();
        if found.is_some() {
            return Err(text.refuse(place, None, Problem::SaidTwice(key), "keep the line that is right"));
        }
        let value = value.trim();
        found = Some(read(value).ok_or_else(|| text.refuse(place, None, Problem::Said(value.to_owned()), remedy))?);
    }
    Ok(found)
}

fn said(text: &Text<'_>, measure: Measure, header: Range<usize>) -> Result<Said, ReadingsError> {
    const PLACE: &str = "write `# place = full throttle`, `part throttle` or `idle`";
    const SPEED_LINE: &str = "write `# speed = 3000 crank rpm`, from 30 to 20 000 crank rpm";
    const DEPRESSION: &str = "write `# depression = 40 kPa depression`, from 0 to 110 kPa";
    const LISTENING: &str = "write `# listening = ear` or `knock detection`";
    let need = |key, remedy: &str| text.refuse(header.clone(), None, Problem::NotSaid(key), remedy);
    let one_of = |words: &'static [(&'static str, Place)], value: &str| {
        words.iter().find(|(word, _)| *word == value).map(|(_, place)| *place)
    };
    let place = stated(text, "place", PLACE, |value| one_of(&Place::WORDS, value))?;
    let speed = stated(text, "speed", SPEED_LINE, |value| {
        quantity(&SPEED, value).ok().filter(|speed| (SPEEDS.0..=SPEEDS.1).contains(speed))
    })?;
    let depression = stated(text, "depression", DEPRESSION, |value| {
        let kpa = parse_pressure(value).ok()?.depression_kpa(STANDARD_ATMOSPHERE_KPA);
        (0.0..=110.0).contains(&kpa).then_some(kpa)
    })?;
    let listening = stated(text, "listening", LISTENING, |value| {
        Listening::WORDS.iter().find(|(word, _)| *word == value).map(|(_, listening)| *listening)
    })?;
    let place = place.ok_or_else(|| need("place", PLACE))?;
    let depression_kpa = match (place, depression) {
        (Place::PartThrottle, None) => return Err(need("depression", DEPRESSION)),
        (Place::PartThrottle, Some(kpa)) => kpa,
        // The hose is off, or the throttle leaves none.
        (Place::Idle | Place::FullThrottle, _) => 0.0,
    };
    Ok(Said {
        place,
        speed_crank_rpm: speed.ok_or_else(|| need("speed", SPEED_LINE))?,
        depression_kpa,
        measure,
        listening: listening.ok_or_else(|| need("listening", LISTENING))?,
    })
}

fn trial(
    text: &Text<'_>,
    columns: &[Column],
    row: &Vec<(String, Range<usize>)>,
    series_before: u32,
) -> Result<Trial, ReadingsError> {
    let mut trial = Trial {
        line: text.line_of(row[0].1.start),
        series: 1,
        crank_degrees: 0.0,
        measured: 0.0,
        heard: Heard::Quiet,
        conditions: String::new(),
    };
    for (index, column) in columns.iter().enumerate() {
        let field = Field::at(text, row, index, column.name());
        match *column {
            Column::Series => {
                let range = || format!("the whole numbers from {series_before} to {MOST_SERIES:.0}");
                let series = field.number(
                    |series| if series.fract() == 0.0 { series } else { 0.0 },
                    f64::from(series_before)..=MOST_SERIES,
                    range,
                    "; series follow one another",
                )?;
                #[expect(
                    clippy::cast_possible_truncation,
                    clippy::cast_sign_loss,
                    reason = "a whole number up to 1 000"
                )]
                let series = series as u32;
                trial.series = series;
            }
            Column::Angle(factor) => {
                let (low, high) = CRANK_DEGREES;
                trial.crank_degrees = field.number(
                    |degrees| degrees * factor,
                    low..=high,
                    || format!("{low} to {high} crank degrees"),
                    "",
                )?;
            }
            Column::Measured(measure) => {
                trial.measured = field.number(
                    std::convert::identity,
                    MEASURED.0..=MEASURED.1,
                    || format!("{} to {:.0} {}", MEASURED.0, MEASURED.1, measure.unit()),
                    "",
                )?;
            }
            Column::Pinking => trial.heard = field.word("no, yes, could not tell", &Heard::WORDS)?,
            Column::Conditions => field.value.clone_into(&mut trial.conditions),
        }
    }
    Ok(trial)
}

impl Log {
    /// A log without a trial yet.
    pub fn new(name: &str, said: Said) -> Self {
        Self {
            name: name.to_owned(),
            said,
            trials: Vec::new(),
            digest: String::new(),
            columns: written(said.measure).to_vec(),
        }
    }

    /// The lines above the first trial of a file that this program makes.
    pub fn head(&self) -> String {
        let Said { place, speed_crank_rpm, depression_kpa, listening, .. } = self.said;
        let mut text = format!("{FIRST_LINE}\n# place = {}\n", word_of(&Place::WORDS, place));
        let _ = writeln!(text, "# speed = {} crank rpm", short_ungrouped(speed_crank_rpm, 2));
        if place == Place::PartThrottle {
            let _ = writeln!(text, "# depression = {} kPa depression", short_ungrouped(depression_kpa, 3));
        }
        let _ = writeln!(text, "# listening = {}", word_of(&Listening::WORDS, listening));
        let names: Vec<&str> = self.columns.iter().map(|column| column.name()).collect();
        let _ = writeln!(text, "{}", names.join(","));
        text
    }

    /// The line of a trial, in the columns of this file.
    pub fn row(&self, trial: &Trial) -> String {
        let fields: Vec<String> = self
            .columns
            .iter()
            .map(|column| match column {
                Column::Series => trial.series.to_string(),
                Column::Angle(factor) => short_ungrouped(trial.crank_degrees / factor, 3),
                Column::Measured(_) => short_ungrouped(trial.measured, 6),
                Column::Pinking => word_of(&Heard::WORDS, trial.heard).to_owned(),
                Column::Conditions => quoted(&trial.conditions),
            })
            .collect();
        format!("{}\n", fields.join(","))
    }

    /// Whether the file keeps series apart: another one can begin only then.
    pub fn keeps_series(&self) -> bool {
        self.columns.contains(&Column::Series)
    }

    /// The trials of the last series.
    pub fn last_series(&self) -> u32 {
        self.trials.last().map_or(1, |trial| trial.series)
    }
}

/// Words as a field: on one line, without the sign that begins a comment, in quotes where they need them.
fn quoted(words: &str) -> String {
    let words: String = words
        .chars()
        .map(|letter| match letter {
            '#' => ' ',
            '"' => '\'',
            letter if letter.is_control() => ' ',
            letter => letter,
        })
        .collect();
    let words = words.trim();
    if words.contains([',', ';', '\'']) { format!("\"{words}\"") } else { words.to_owned() }
}
