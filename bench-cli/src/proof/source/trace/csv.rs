//! Tables in CSV (RFC 4180): a time column first, then a column for each signal, a row for each sample or each change.

use super::{Edge, Levels, Line, Names, TraceError};
use ::csv::{ByteRecord, Reader, ReaderBuilder, Trim};
use std::io::BufRead;

/// The units that a heading can end in, in picoseconds.
const UNITS: [(&str, f64); 6] = [("ps", 1.0), ("ns", 1e3), ("us", 1e6), ("µs", 1e6), ("ms", 1e9), ("s", 1e12)];

/// The edges of a table.
pub struct CsvEdges<R: BufRead> {
    file: String,
    reader: Reader<R>,
    record: ByteRecord,
    pickup: usize,
    coil: usize,
    unit_ps: f64,
    /// The time of the first row, which is the trace's beginning: a trigger's own time may be negative.
    origin: Option<f64>,
    at_ps: u64,
    levels: Levels,
    /// The second of two edges in one row.
    waiting: Option<Edge>,
}

impl<R: BufRead> CsvEdges<R> {
    /// Reads the heading of a table and finds its columns.
    ///
    /// # Errors
    /// A table without heading or unit, and signals that are not in it.
    pub fn new(file: String, reader: R, names: &Names) -> Result<Self, TraceError> {
        let mut reader = ReaderBuilder::new().comment(Some(b'#')).trim(Trim::All).flexible(true).from_reader(reader);
        let heading = reader.byte_headers().map_err(|error| unreadable(&file, &error))?.clone();
        let line = heading.position().map_or(1, ::csv::Position::line);
        let columns: Vec<String> = heading
            .iter()
            .map(|name| String::from_utf8_lossy(name).trim_start_matches('\u{feff}').to_owned())
            .collect();
        if columns.len() == 1 && columns[0].contains(';') {
            let what = "semicolons lie between the columns: export it with commas, and with a point in its numbers";
            return Err(TraceError::Malformed { file, line, what: what.to_owned() });
        }
        let time = columns.first().cloned().unwrap_or_default();
        let unit_ps = unit_of(&time).ok_or_else(|| TraceError::NoUnit { file: file.clone(), line, heading: time })?;
        let column = |name: &str| {
            let mut places = columns.iter().enumerate().skip(1).filter(|(_, column)| *column == name);
            match (places.next(), places.next()) {
                (Some((place, _)), None) => Ok(place),
                (None, _) => Err(TraceError::NoSignal {
                    file: file.clone(),
                    name: name.to_owned(),
                    known: columns.iter().skip(1).take(12).cloned().collect(),
                }),
                _ => Err(TraceError::Ambiguous { file: file.clone(), name: name.to_owned() }),
            }
        };
        let (pickup, coil) = (column(&names.pickup)?, column(&names.coil)?);
        if pickup == coil {
            return Err(TraceError::OneSignal { file, name: names.coil.clone() });
        }
        Ok(Self {
            file,
            reader,
            record: ByteRecord::new(),
            pickup,
            coil,
            unit_ps,
            origin: None,
            at_ps: 0,
            levels: Levels::default(),
            waiting: None,
        })
    }

    fn malformed(&self, what: String) -> TraceError {
        let line = self.record.position().map_or(0, ::csv::Position::line);
        TraceError::Malformed { file: self.file.clone(), line, what }
    }

    fn row(&mut self) -> Result<Option<Edge>, TraceError> {
        let at_ps = self.time()?;
        if at_ps < self.at_ps {
            return Err(self.malformed("the time runs backwards".to_owned()));
        }
        self.at_ps = at_ps;
        let [pickup, coil] = [self.level(self.pickup)?, self.level(self.coil)?];
        let first = self.levels.moved(at_ps, Line::Pickup, pickup);
        let second = self.levels.moved(at_ps, Line::Coil, coil);
        if first.is_some() {
            self.waiting = second;
            return Ok(first);
        }
        Ok(second)
    }

    fn time(&mut self) -> Result<u64, TraceError> {
        let text = std::str::from_utf8(self.record.get(0).unwrap_or_default()).unwrap_or_default();
        let number = text.parse::<f64>().ok().filter(|number| number.is_finite());
        let number = number.ok_or_else(|| self.malformed(format!("`{text}` is no time")))?;
        let ps = (number - *self.origin.get_or_insert(number)) * self.unit_ps;
        if !(-0.5..1.8e19).contains(&ps) {
            let what = if ps < 0.0 { "the time runs backwards" } else { "the time is beyond 213 days" };
            return Err(self.malformed(what.to_owned()));
        }
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "held to the range above")]
        let whole = ps.round() as u64;
        Ok(whole)
    }

    fn level(&self, column: usize) -> Result<Option<bool>, TraceError> {
        match self.record.get(column) {
            Some(b"0") => Ok(Some(false)),
            Some(b"1") => Ok(Some(true)),
            // Some programs leave a cell empty where nothing has changed: then nothing has.
            Some(b"") => Ok(if column == self.pickup { self.levels.pickup } else { self.levels.coil }),
            Some(b"x" | b"X" | b"z" | b"Z") => Ok(None),
            Some(other) => {
                let text: String = String::from_utf8_lossy(other).chars().take(20).collect();
                Err(self.malformed(format!("`{text}` in column {} is no level: a level is 0 or 1", column + 1)))
            }
            None => Err(self.malformed(format!("column {} is missing", column + 1))),
        }
    }
}

impl<R: BufRead> Iterator for CsvEdges<R> {
    type Item = Result<Edge, TraceError>;

    fn next(&mut self) -> Option<Self::Item> {
        if let Some(edge) = self.waiting.take() {
            return Some(Ok(edge));
        }
        loop {
            match self.reader.read_byte_record(&mut self.record) {
                Ok(true) => {}
                Ok(false) => return None,
                Err(error) => return Some(Err(unreadable(&self.file, &error))),
            }
            match self.row() {
                Ok(None) => {}
                Ok(Some(edge)) => return Some(Ok(edge)),
                Err(error) => return Some(Err(error)),
            }
        }
    }
}

/// The unit that a heading ends in, behind a letter that is none or inside brackets: `Time [s]`, `time_us`, `t (ms)`.
fn unit_of(heading: &str) -> Option<f64> {
    let bare = heading.trim_end_matches([']', ')', ' ']);
    let found = UNITS.iter().filter(|(unit, _)| {
        let before = bare.strip_suffix(unit);
        before.is_some_and(|before| before.ends_with(['[', '(', ' ', '_', '/']))
    });
    found.map(|(_, ps)| *ps).next()
}

fn unreadable(file: &str, error: &::csv::Error) -> TraceError {
    let line = error.position().map_or(0, ::csv::Position::line);
    TraceError::Malformed { file: file.to_owned(), line, what: error.to_string() }
}
