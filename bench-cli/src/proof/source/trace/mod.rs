//! What a logic analyser recorded of pickup and coil: a bench without a stimulator, and a witness beside one.
//!
//! A trace is read once, from its first edge to its last, and nothing of it is kept that is not needed for the stretch at
//! hand: a trace of any length takes the same memory.

mod csv;
mod error;
mod steady;
mod vcd;

pub use self::csv::CsvEdges;
pub use self::vcd::VcdEdges;
pub use error::TraceError;
pub use steady::{Block, Heard, Listener, SteadySpeed};

use crate::interrupt::Interrupt;
use std::fs::File;
use std::io::{BufRead, BufReader, Error, Read};
use std::path::Path;

/// Times of a trace are whole picoseconds: finer than any analyser, and 213 days before they wrap.
pub const PICOSECOND_S: f64 = 1e-12;

/// Bytes that are read from a file at once.
const BUFFER_BYTES: usize = 1 << 16;

/// Which of the two signals.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub enum Line {
    /// The pickup's output.
    Pickup,
    /// The driver's input: high while the coil's current is to flow.
    Coil,
}

/// A signal moved.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub struct Edge {
    /// When, picoseconds from the trace's own beginning.
    pub at_ps: u64,
    /// Which.
    pub line: Line,
    /// Whether it rose.
    pub rises: bool,
}

/// What the two signals are called in the trace.
#[derive(Clone, Debug, Eq, PartialEq)]
pub struct Names {
    /// The pickup.
    pub pickup: String,
    /// The coil.
    pub coil: String,
}

/// Levels as they were last seen: a signal that is written again without moving has no edge.
#[derive(Clone, Copy, Debug, Default)]
struct Levels {
    pickup: Option<bool>,
    coil: Option<bool>,
}

impl Levels {
    /// The edge, if the signal moved. The first level that is seen is no edge, and nor is one that nobody knows.
    fn moved(&mut self, at_ps: u64, line: Line, level: Option<bool>) -> Option<Edge> {
        let last = match line {
            Line::Pickup => &mut self.pickup,
            Line::Coil => &mut self.coil,
        };
        let before = core::mem::replace(last, level);
        match (before, level) {
            (Some(before), Some(rises)) if before != rises => Some(Edge { at_ps, line, rises }),
            _ => None,
        }
    }
}

/// An open trace.
pub struct Trace {
    file: String,
    edges: Edges,
    interrupt: Interrupt,
}

enum Edges {
    Vcd(VcdEdges<BufReader<Heeding>>),
    Csv(CsvEdges<BufReader<Heeding>>),
}

/// A file whose reads fail once somebody has interrupted: a long one may hold nothing of the two signals for minutes.
struct Heeding {
    file: File,
    interrupt: Interrupt,
}

impl Read for Heeding {
    fn read(&mut self, buffer: &mut [u8]) -> Result<usize, Error> {
        if self.interrupt.asked() { Err(Error::other("interrupted")) } else { self.file.read(buffer) }
    }
}

impl Trace {
    /// Opens a file and finds its signals. `.vcd` is a value change dump, `.csv` a table of a time column and signal columns.
    ///
    /// # Errors
    /// A file that cannot be read or is neither, and signals that are not in it.
    pub fn open(path: &Path, names: &Names) -> Result<Self, TraceError> {
        Self::open_heeding(path, names, &Interrupt::default())
    }

    /// As [`open`](Self::open); an interrupt ends the reading with [`TraceError::Interrupted`].
    ///
    /// # Errors
    /// As of [`open`](Self::open), and an interrupt.
    pub fn open_heeding(path: &Path, names: &Names, interrupt: &Interrupt) -> Result<Self, TraceError> {
        let file = path.display().to_string();
        let open = || -> Result<BufReader<Heeding>, TraceError> {
            let opened = File::open(path).map_err(|cause| TraceError::Unreadable { file: file.clone(), cause })?;
            let opened = Heeding { file: opened, interrupt: interrupt.clone() };
            Ok(BufReader::with_capacity(BUFFER_BYTES, opened))
        };
        let ending = path.extension().map(|ending| ending.to_string_lossy().to_lowercase());
        let edges = match ending.as_deref() {
            Some("vcd") => VcdEdges::new(file.clone(), open()?, names).map(Edges::Vcd),
            Some("csv") => CsvEdges::new(file.clone(), open()?, names).map(Edges::Csv),
            _ => return Err(TraceError::UnknownFormat { file }),
        };
        match edges {
            Ok(edges) => Ok(Self { file, edges, interrupt: interrupt.clone() }),
            Err(_) if interrupt.asked() => Err(TraceError::Interrupted { file }),
            Err(error) => Err(error),
        }
    }

    /// The step of the times in a dump, seconds: they are no better than that. A table does not say it.
    pub fn step_s(&self) -> Option<f64> {
        match &self.edges {
            Edges::Vcd(edges) => Some(edges.step_s()),
            Edges::Csv(_) => None,
        }
    }
}

impl Iterator for Trace {
    type Item = Result<Edge, TraceError>;

    fn next(&mut self) -> Option<Self::Item> {
        let edge = match &mut self.edges {
            Edges::Vcd(edges) => edges.next(),
            Edges::Csv(edges) => edges.next(),
        };
        if edge.is_some() && self.interrupt.asked() {
            return Some(Err(TraceError::Interrupted { file: self.file.clone() }));
        }
        edge
    }
}

/// Reads a trace from memory: for tests of the parsers.
///
/// # Errors
/// As of [`Trace::open`].
pub fn vcd_edges<R: BufRead>(reader: R, names: &Names) -> Result<VcdEdges<R>, TraceError> {
    VcdEdges::new("trace.vcd".to_owned(), reader, names)
}

/// Reads a trace from memory: for tests of the parsers.
///
/// # Errors
/// As of [`Trace::open`].
pub fn csv_edges<R: BufRead>(reader: R, names: &Names) -> Result<CsvEdges<R>, TraceError> {
    CsvEdges::new("trace.csv".to_owned(), reader, names)
}

#[cfg(test)]
mod tests;
