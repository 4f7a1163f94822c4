//! One field of a line: its word or its number, or why not.

use std::ops::{Range, RangeInclusive};

use super::columns::Place;
use super::error::{Problem, ReadingsError};
use super::lines::Fields;
use super::text::Text;

/// One field with its place and column, and what can be said of it.
pub(crate) struct Field<'a> {
    text: &'a Text<'a>,
    pub(crate) value: &'a str,
    pub(crate) place: Range<usize>,
    column: &'static str,
}

impl<'a> Field<'a> {
    pub(super) fn new(text: &'a Text<'a>, line: &'a Fields, place: Place) -> Self {
        Self::at(text, line, place.index, place.column.name)
    }

    /// The field of this index, in the column of this name.
    pub(crate) fn at(text: &'a Text<'a>, line: &'a Fields, index: usize, column: &'static str) -> Self {
        let (value, span) = &line[index];
        Self { text, value, place: span.clone(), column }
    }

    /// Refuses what stands here.
    pub(crate) fn refuse(&self, problem: Problem, remedy: impl Into<String>) -> ReadingsError {
        self.text.refuse(self.place.clone(), Some(self.column), problem, remedy)
    }

    /// What stands here, which must be something.
    pub(super) fn filled(&self, remedy: &str) -> Result<&'a str, ReadingsError> {
        if self.value.is_empty() { Err(self.refuse(Problem::MissingValue, remedy)) } else { Ok(self.value) }
    }

    /// A number that lies in its range once it is converted.
    pub(crate) fn number(
        &self,
        convert: impl Fn(f64) -> f64,
        range: RangeInclusive<f64>,
        range_in_words: impl Fn() -> String,
        other_unit: &str,
    ) -> Result<f64, ReadingsError> {
        let value = self.filled("write the number, or take the line out")?;
        let number = match value.parse::<f64>() {
            Ok(number) if number.is_finite() => number,
            _ if value.replacen(',', ".", 1).parse::<f64>().is_ok_and(f64::is_finite) => {
                let remedy = format!("write `{}`", value.replacen(',', ".", 1));
                return Err(self.refuse(Problem::DecimalComma(value.to_owned()), remedy));
            }
            _ => {
                let remedy = "write the bare number; its unit stands in the name of the column";
                return Err(self.refuse(Problem::NotANumber(value.to_owned()), remedy));
            }
        };
        let inside = convert(number);
        if range.contains(&inside) {
            return Ok(inside);
        }
        let problem = Problem::OutOfRange { value: value.to_owned(), range: range_in_words() };
        Err(self.refuse(problem, format!("correct the value, or take the line out{other_unit}")))
    }

    /// The meaning of a word among those known.
    pub(crate) fn word<T: Copy>(&self, expected: &'static str, words: &[(&str, T)]) -> Result<T, ReadingsError> {
        let value = self.filled(&format!("write one of {expected}"))?;
        let found = words.iter().find(|(word, _)| *word == value).map(|&(_, meaning)| meaning);
        found.ok_or_else(|| {
            let problem = Problem::Word { value: value.to_owned(), expected };
            self.refuse(problem, format!("write one of {expected}, in small letters"))
        })
    }
}
