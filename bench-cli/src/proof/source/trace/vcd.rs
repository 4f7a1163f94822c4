//! Value change dumps (IEEE 1364, "value change dump"), by the crate `vcd`, command by command.

use super::{Edge, Levels, Line, Names, TraceError};
use std::io::{BufRead, ErrorKind};
use vcd::{Command, IdCode, Parser, Value};

/// More scopes inside each other than any analyser's export has.
const DEEPEST_SCOPE: usize = 64;
/// Names that a message shows.
const NAMES_SHOWN: usize = 12;

/// The edges of a value change dump.
pub struct VcdEdges<R: BufRead> {
    file: String,
    parser: Parser<R>,
    pickup: IdCode,
    coil: IdCode,
    /// Femtoseconds of one step of the file's time.
    step_fs: u128,
    at_ps: u64,
    levels: Levels,
}

/// A signal that was looked for.
struct Wanted<'n> {
    name: &'n str,
    code: Option<IdCode>,
}

impl<R: BufRead> VcdEdges<R> {
    /// Reads the head of a dump and finds its signals, by their own names or with all their scopes before a dot each.
    ///
    /// # Errors
    /// A head that is none, and signals that are not in it.
    pub fn new(file: String, reader: R, names: &Names) -> Result<Self, TraceError> {
        let mut parser = Parser::new(reader);
        let mut wanted = [Wanted { name: &names.pickup, code: None }, Wanted { name: &names.coil, code: None }];
        let mut known = Vec::new();
        let mut scopes: Vec<String> = Vec::new();
        // IEEE 1364 leaves the step to the file; without one it is a second nowhere. Asked for below.
        let mut step_fs = None;
        loop {
            let Some(command) = parser.next() else {
                return Err(malformed(&file, parser.line(), "the head does not end: `$enddefinitions` is missing"));
            };
            match command.map_err(|error| unreadable(&file, parser.line(), error))? {
                Command::Enddefinitions => break,
                Command::Timescale(number, unit) => {
                    step_fs = Some(u128::from(number) * (1_000_000_000_000_000 / u128::from(unit.divisor())));
                }
                Command::ScopeDef(_, name) if scopes.len() < DEEPEST_SCOPE => scopes.push(name),
                Command::ScopeDef(..) => {
                    return Err(malformed(&file, parser.line(), "scopes lie too deep in each other"));
                }
                Command::Upscope => drop(scopes.pop()),
                Command::VarDef(_, 1, code, name, _) => {
                    let whole = scopes.iter().map(String::as_str).chain([name.as_str()]).collect::<Vec<_>>().join(".");
                    for one in &mut wanted {
                        if one.name != name && one.name != whole {
                            continue;
                        }
                        if one.code.is_some_and(|found| found != code) {
                            return Err(TraceError::Ambiguous { file, name: one.name.to_owned() });
                        }
                        one.code = Some(code);
                    }
                    if known.len() < NAMES_SHOWN {
                        known.push(whole);
                    }
                }
                _ => {}
            }
        }
        let step_fs = step_fs.filter(|&step| step > 0).ok_or_else(|| {
            malformed(&file, parser.line(), "the head says no `$timescale`, so its times have no unit")
        })?;
        let [pickup, coil] = wanted.map(|one| {
            one.code.ok_or_else(|| TraceError::NoSignal {
                file: file.clone(),
                name: one.name.to_owned(),
                known: known.clone(),
            })
        });
        let (pickup, coil) = (pickup?, coil?);
        if pickup == coil {
            return Err(TraceError::OneSignal { file, name: names.coil.clone() });
        }
        Ok(Self { file, parser, pickup, coil, step_fs, at_ps: 0, levels: Levels::default() })
    }

    /// Seconds of one step of the file's time.
    #[expect(clippy::cast_precision_loss, reason = "a step has a few digits")]
    pub fn step_s(&self) -> f64 {
        self.step_fs as f64 * 1e-15
    }

    fn changed(&mut self, code: IdCode, value: Value) -> Option<Edge> {
        let line = match code {
            code if code == self.pickup => Line::Pickup,
            code if code == self.coil => Line::Coil,
            _ => return None,
        };
        let level = match value {
            Value::V0 => Some(false),
            Value::V1 => Some(true),
            Value::X | Value::Z => None,
        };
        self.levels.moved(self.at_ps, line, level)
    }

    fn passed(&mut self, steps: u64) -> Result<(), TraceError> {
        let line = self.parser.line();
        let ps = u128::from(steps) * self.step_fs / 1_000;
        let at_ps = u64::try_from(ps).map_err(|_| malformed(&self.file, line, "the time is beyond 213 days"))?;
        if at_ps < self.at_ps {
            return Err(malformed(&self.file, line, "the time runs backwards"));
        }
        self.at_ps = at_ps;
        Ok(())
    }
}

impl<R: BufRead> Iterator for VcdEdges<R> {
    type Item = Result<Edge, TraceError>;

    fn next(&mut self) -> Option<Self::Item> {
        loop {
            let edge = match self.parser.next()? {
                Ok(Command::Timestamp(steps)) => match self.passed(steps) {
                    Ok(()) => None,
                    Err(error) => return Some(Err(error)),
                },
                Ok(Command::ChangeScalar(code, value)) => self.changed(code, value),
                Ok(Command::ChangeVector(code, value)) => {
                    let lowest = value.len().checked_sub(1).and_then(|last| value.get(last));
                    lowest.and_then(|value| self.changed(code, value))
                }
                Ok(_) => None,
                // A capture that was stopped ends in the middle of a line.
                Err(error) if error.kind() == ErrorKind::UnexpectedEof => return None,
                Err(error) => return Some(Err(unreadable(&self.file, self.parser.line(), error))),
            };
            if let Some(edge) = edge {
                return Some(Ok(edge));
            }
        }
    }
}

fn malformed(file: &str, line: u64, what: &str) -> TraceError {
    TraceError::Malformed { file: file.to_owned(), line, what: what.to_owned() }
}

fn unreadable(file: &str, line: u64, cause: std::io::Error) -> TraceError {
    match cause.kind() {
        // How the crate tells what it cannot read.
        ErrorKind::InvalidData | ErrorKind::InvalidInput | ErrorKind::Other | ErrorKind::UnexpectedEof => {
            malformed(file, line, &cause.to_string())
        }
        _ => TraceError::Unreadable { file: file.to_owned(), cause },
    }
}
