//! One question at a time on a terminal, asked again until the answer can be read.

use super::failure::Failure;
use super::terminal::Terminal;
use crate::quantity::QuantityError;
use crate::words::wrap::folded;

/// What somebody answered.
#[derive(Clone, Debug, PartialEq)]
pub enum Answered<T> {
    /// A value.
    Value(T),
    /// `done`: no more of these.
    Done,
    /// The input ended, or `stop`: go on another time.
    Ended,
}

/// Asks, and asks again with what was wrong.
///
/// # Errors
/// Where nothing can be written or read any more.
pub fn ask<T>(
    terminal: &mut Terminal,
    question: &str,
    read: impl Fn(&str) -> Result<T, String>,
) -> Result<Answered<T>, Failure> {
    loop {
        write!(terminal.err, "{} ", folded(question))?;
        terminal.err.flush()?;
        let Some(answer) = terminal.line()? else { return Ok(Answered::Ended) };
        match answer.trim() {
            "done" => return Ok(Answered::Done),
            "stop" => return Ok(Answered::Ended),
            text => match read(text) {
                Ok(value) => return Ok(Answered::Value(value)),
                Err(wrong) => terminal.say("  ", &wrong)?,
            },
        }
    }
}

/// A figure in its range, or what is wrong with it.
///
/// # Errors
/// What cannot be read, and what lies outside the range, which is given in words.
pub fn in_range(
    read: Result<f64, QuantityError>,
    range: std::ops::RangeInclusive<f64>,
    in_words: &str,
) -> Result<f64, String> {
    match read {
        Ok(value) if range.contains(&value) => Ok(value),
        Ok(_) => Err(format!("that is outside {in_words}: read it again")),
        Err(error) => Err(format!("{error}: {}", error.help())),
    }
}
