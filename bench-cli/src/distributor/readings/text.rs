//! The file as text: byte order mark, comments, places.

use miette::{NamedSource, SourceSpan};

use super::error::{Problem, ReadingsError, Refusal};

/// The text of a file with its comments blanked out, so that byte places stay what they were.
pub(crate) struct Text<'a> {
    name: &'a str,
    /// What the user wrote, without a byte order mark.
    pub(crate) written: String,
    /// The same length, comments replaced by spaces.
    pub(crate) data: Vec<u8>,
    /// The comments: place of their `#`, and what follows it.
    pub(crate) comments: Vec<(usize, String)>,
}

impl<'a> Text<'a> {
    pub(crate) fn new(name: &'a str, bytes: &[u8]) -> Result<Self, ReadingsError> {
        let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
        let written = String::from_utf8_lossy(bytes).into_owned();
        let mut text = Self { name, written, data: Vec::new(), comments: Vec::new() };
        if let Err(error) = std::str::from_utf8(bytes) {
            let place = error.valid_up_to();
            let remedy = "save it again as `CSV UTF-8 (comma separated)`";
            return Err(text.refuse(place..place + 3, None, Problem::NotUtf8, remedy));
        }
        text.blank_comments();
        Ok(text)
    }

    fn blank_comments(&mut self) {
        let mut place = 0;
        for line in self.written.split_inclusive(['\n', '\r']) {
            let end = line.trim_end_matches(['\n', '\r']).len();
            let kept = line[..end].find('#').unwrap_or(end);
            self.data.extend_from_slice(&line.as_bytes()[..kept]);
            self.data.resize(place + end, b' ');
            self.data.extend_from_slice(&line.as_bytes()[end..]);
            if kept < end {
                self.comments.push((place + kept, line[kept + 1..end].to_owned()));
            }
            place += line.len();
        }
    }

    /// Line of a byte place, from 1. The sign of a line's end may be LF, CR or both.
    pub(crate) fn line_of(&self, place: usize) -> usize {
        let before = &self.written.as_bytes()[..place.min(self.written.len())];
        let breaks = before.iter().enumerate().filter(|&(at, &byte)| match byte {
            b'\n' => true,
            b'\r' => self.written.as_bytes().get(at + 1) != Some(&b'\n'),
            _ => false,
        });
        1 + breaks.count()
    }

    /// A refusal of the bytes at `place`.
    pub(crate) fn refuse(
        &self,
        place: std::ops::Range<usize>,
        column: Option<&str>,
        problem: Problem,
        remedy: impl Into<String>,
    ) -> ReadingsError {
        let span = SourceSpan::new(place.start.into(), place.end.saturating_sub(place.start));
        ReadingsError::Refused(Box::new(Refusal {
            name: self.name.to_owned(),
            line: self.line_of(place.start),
            column: column.map(str::to_owned),
            problem,
            remedy: remedy.into(),
            text: NamedSource::new(self.name, self.written.clone()),
            span,
        }))
    }
}
