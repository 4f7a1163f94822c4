//! Errors as a person reads them: what, where in which file, and what to do next.

use crate::words::shown::{is_obeyed, shown};
use miette::{Diagnostic, GraphicalReportHandler, GraphicalTheme, Severity, SourceCode};
use std::fmt::{self, Display};

/// The longest line that is printed around a place, bytes. Longer ones are a wall to whoever reads them, and beyond 65 535
/// columns they cannot be laid out at all.
const LONGEST_LINE: usize = 1_000;

/// An error with its place in the text and its remedy, wrapped to `width` columns.
pub fn render(error: &dyn Diagnostic, colour: bool, width: usize) -> String {
    let laid_out = |theme: GraphicalTheme| {
        let mut text = String::new();
        let handler = GraphicalReportHandler::new_themed(theme).with_width(width).with_links(false);
        let done = match too_long(error) {
            Some(column) => handler.render_report(&mut text, &WithoutText { error, column }),
            None => handler.render_report(&mut text, error),
        };
        // A place outside its text must not cost the message.
        if done.is_err() { format!("{error}\n") } else { text }
    };
    let plain = laid_out(GraphicalTheme::unicode_nocolor());
    if plain.chars().any(is_obeyed) {
        // A colour in what a file holds is none of ours.
        return clipped(&shown(&plain), width);
    }
    clipped(&if colour { laid_out(GraphicalTheme::unicode()) } else { plain }, width)
}

/// Cuts the lines of a file that are shown around a place to `width` columns; what we say ourselves is wrapped already.
fn clipped(text: &str, width: usize) -> String {
    text.split_inclusive('\n')
        .map(|line| if of_a_file(line) { clipped_line(line, width) } else { line.to_owned() })
        .collect()
}

/// Whether a line is one of a file, ` 30 │ angle = ...`, or marks a place in it, `    · ────`.
fn of_a_file(line: &str) -> bool {
    let bare = without_colours(line);
    let bare = bare.trim_start();
    let behind_number = bare.trim_start_matches(|letter: char| letter.is_ascii_digit());
    bare.starts_with('·') || (behind_number.len() < bare.len() && behind_number.starts_with(" │"))
}

fn without_colours(line: &str) -> String {
    let mut bare = String::new();
    let mut letters = line.chars();
    while let Some(letter) = letters.next() {
        if letter == '\u{1b}' {
            letters.by_ref().find(|end| *end == 'm');
        } else {
            bare.push(letter);
        }
    }
    bare
}

fn clipped_line(line: &str, width: usize) -> String {
    if without_colours(line).trim_end().chars().count() <= width {
        return line.to_owned();
    }
    let (mut cut, mut columns, mut coloured) = (String::new(), 0, false);
    let mut letters = line.chars();
    while let Some(letter) = letters.next() {
        if letter == '\u{1b}' {
            coloured = true;
            cut.push(letter);
            for of_colour in letters.by_ref() {
                cut.push(of_colour);
                if of_colour == 'm' {
                    break;
                }
            }
        } else if columns + 1 < width {
            cut.push(letter);
            columns += 1;
        } else {
            break;
        }
    }
    cut + "…" + if coloured { "\u{1b}[0m\n" } else { "\n" }
}

/// The column, from 1, of a place whose lines are too long to be printed.
fn too_long(error: &dyn Diagnostic) -> Option<usize> {
    let text = error.source_code()?;
    error.labels()?.find_map(|label| {
        let around = text.read_span(label.inner(), 1, 1).ok()?;
        let long = around.data().split(|byte| *byte == b'\n').any(|line| line.len() > LONGEST_LINE);
        let at = text.read_span(label.inner(), 0, 0).ok()?;
        long.then(|| at.column() + 1)
    })
}

/// An error whose text is not printed; its place is told in figures.
#[derive(Debug)]
struct WithoutText<'a> {
    error: &'a dyn Diagnostic,
    column: usize,
}

impl Display for WithoutText<'_> {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "{} (at column {} of lines too long to be shown)", self.error, self.column)
    }
}

impl std::error::Error for WithoutText<'_> {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        self.error.source()
    }
}

impl Diagnostic for WithoutText<'_> {
    fn code<'a>(&'a self) -> Option<Box<dyn Display + 'a>> {
        self.error.code()
    }

    fn severity(&self) -> Option<Severity> {
        self.error.severity()
    }

    fn help<'a>(&'a self) -> Option<Box<dyn Display + 'a>> {
        self.error.help()
    }

    fn source_code(&self) -> Option<&dyn SourceCode> {
        None
    }
}

#[cfg(test)]
mod tests;
