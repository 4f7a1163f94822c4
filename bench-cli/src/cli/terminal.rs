//! The three streams of a command, and what may be written to them.

use super::answers::Answers;
use super::exit::Exit;
use super::failure::Failure;
use super::render::render;
use crate::interrupt::Interrupt;
use crate::words::wrap::{WIDTH, columns, paragraph};
use std::io::{BufRead, IsTerminal, Read, Write};

/// Where a command reads and writes. Tests put buffers in place of the streams.
#[expect(clippy::struct_excessive_bools, reason = "each is a plain fact of its own stream")]
pub struct Terminal<'a> {
    /// Answers of the user.
    pub input: &'a mut dyn BufRead,
    /// Results, and nothing else.
    pub out: &'a mut dyn Write,
    /// Everything else.
    pub err: &'a mut dyn Write,
    /// Whether somebody can be asked: both ends are a terminal.
    pub can_ask: bool,
    /// Whether a progress bar can be drawn on `err`.
    pub err_is_terminal: bool,
    /// Whether results may be coloured.
    pub colour_out: bool,
    /// Whether messages may be coloured.
    pub colour_err: bool,
    /// How wide what is printed may be.
    pub columns: usize,
}

/// The longest answer, bytes.
const LONGEST_ANSWER: u64 = 4_096;

impl Terminal<'_> {
    /// A sentence beside the results, wrapped.
    ///
    /// # Errors
    /// Where it cannot be written.
    pub fn say(&mut self, lead: &str, sentence: &str) -> std::io::Result<()> {
        let mut text = String::new();
        paragraph(&mut text, lead, sentence);
        self.err.write_all(text.as_bytes())
    }

    /// A sentence of the results, wrapped.
    ///
    /// # Errors
    /// Where it cannot be written.
    pub fn tell_result(&mut self, lead: &str, sentence: &str) -> std::io::Result<()> {
        let mut text = String::new();
        paragraph(&mut text, lead, sentence);
        self.out.write_all(text.as_bytes())
    }

    /// Tells a failure, and gives its exit status.
    pub fn tell(&mut self, failure: &Failure) -> Exit {
        if let Some(report) = &failure.report {
            let diagnostic: &dyn miette::Diagnostic = report.as_ref();
            // Where even this cannot be written, the exit status still says it.
            let _ = write!(self.err, "{}", render(diagnostic, self.colour_err, columns()));
        }
        failure.exit
    }

    /// One line as somebody typed it; none where the input ended, or an interrupt came before the line was whole. A key that
    /// is no text is asked again: a slip of the keyboard must not end a sitting.
    ///
    /// # Errors
    /// Where nothing can be written or read any more.
    pub fn line(&mut self) -> std::io::Result<Option<String>> {
        loop {
            let mut typed = Vec::new();
            if (&mut *self.input).take(LONGEST_ANSWER).read_until(b'\n', &mut typed)? == 0 {
                return Ok(None);
            }
            if typed.last() != Some(&b'\n') && Interrupt::of_process().asked() {
                return Ok(None);
            }
            if typed.len() as u64 == LONGEST_ANSWER && typed.last() != Some(&b'\n') {
                self.input.skip_until(b'\n')?;
                write!(self.err, "  that was longer than any answer ({LONGEST_ANSWER} bytes); type it again: ")?;
                self.err.flush()?;
                continue;
            }
            if let Ok(text) = String::from_utf8(typed) {
                return Ok(Some(text));
            }
            write!(self.err, "  that held a key that is no text (UTF-8); type the answer again: ")?;
            self.err.flush()?;
        }
    }
}

/// Runs a command on the process's own streams.
pub fn on_standard_streams(command: impl FnOnce(&mut Terminal) -> Exit) -> Exit {
    let (stdin, stdout, stderr) = (std::io::stdin(), std::io::stdout(), std::io::stderr());
    let (out_is_terminal, err_is_terminal) = (stdout.is_terminal(), stderr.is_terminal());
    let colour = colour_wanted(|name| std::env::var_os(name).and_then(|value| value.into_string().ok()));
    let can_ask = stdin.is_terminal() && err_is_terminal;
    command(&mut Terminal {
        input: &mut Answers::of(stdin, Interrupt::of_process()),
        out: &mut stdout.lock(),
        err: &mut stderr.lock(),
        can_ask,
        err_is_terminal,
        colour_out: colour && out_is_terminal,
        colour_err: colour && err_is_terminal,
        columns: columns_of_terminal(),
    })
}

/// How wide the terminal is that this process writes to; [`WIDTH`] where there is none.
pub fn columns_of_terminal() -> usize {
    let of_out = || terminal_size::terminal_size_of(std::io::stdout());
    let of_err = || terminal_size::terminal_size_of(std::io::stderr());
    of_out().or_else(of_err).map_or(WIDTH, |(terminal_size::Width(columns), _)| usize::from(columns))
}

/// Whether a terminal may show colours: `NO_COLOR` forbids them when it holds anything, a dumb terminal has none.
fn colour_wanted(variable: impl Fn(&str) -> Option<String>) -> bool {
    variable("NO_COLOR").is_none_or(|value| value.is_empty()) && variable("TERM").is_none_or(|term| term != "dumb")
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source of the rule: the convention of `NO_COLOR`, present and not empty (from memory).
    #[test]
    fn colours_are_given_up_where_somebody_asks_for_it() {
        let wanted = |no_color: Option<&str>, term: Option<&str>| {
            colour_wanted(|name| if name == "NO_COLOR" { no_color } else { term }.map(str::to_owned))
        };
        assert!(wanted(None, Some("xterm")));
        assert!(wanted(Some(""), None));
        assert!(!wanted(Some("1"), Some("xterm")));
        assert!(!wanted(None, Some("dumb")));
    }
}
