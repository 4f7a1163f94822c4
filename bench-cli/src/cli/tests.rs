mod bounds;
mod columns;
mod not_driven;
mod pages;
mod shown;

use super::*;
use crate::words::wrap::WIDTH;
use std::path::Path;

/// What a command left on its streams.
pub(crate) struct Ran {
    pub(crate) exit: Exit,
    pub(crate) out: String,
    pub(crate) err: String,
}

impl Ran {
    /// What was printed, without the places where it wraps.
    pub(super) fn said(&self) -> String {
        self.out.split_whitespace().collect::<Vec<_>>().join(" ")
    }

    /// What was told as an error, likewise.
    pub(super) fn told(&self) -> String {
        self.err.replace('│', " ").split_whitespace().collect::<Vec<_>>().join(" ")
    }
}

/// Runs a piece of the command line on buffers; `answers` is what the user types, if there is one.
pub(super) fn on_buffers(answers: Option<&str>, command: impl FnOnce(&mut Terminal) -> Exit) -> Ran {
    on_columns(WIDTH, answers, command)
}

/// As [`on_buffers`], on a terminal of so many columns.
fn on_columns(columns: usize, answers: Option<&str>, command: impl FnOnce(&mut Terminal) -> Exit) -> Ran {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let exit = command(&mut Terminal {
        input: &mut answers.unwrap_or_default().as_bytes(),
        out: &mut out,
        err: &mut err,
        can_ask: answers.is_some(),
        err_is_terminal: false,
        colour_out: false,
        colour_err: false,
        columns,
    });
    let text = |bytes| String::from_utf8(bytes).expect("only text is written");
    Ran { exit, out: text(out), err: text(err) }
}

/// Runs `bobweight` with these arguments. The folder's name is taken out of what was said.
pub(crate) fn bobweight(folder: &Path, arguments: &[&str]) -> Ran {
    bobweight_on(WIDTH, None, folder, arguments)
}

/// As [`bobweight`], on a terminal of so many columns at which somebody may answer.
pub(crate) fn bobweight_on(columns: usize, answers: Option<&str>, folder: &Path, arguments: &[&str]) -> Ran {
    let words = std::iter::once("bobweight").chain(arguments.iter().copied());
    let cli = command()
        .try_get_matches_from(words)
        .and_then(|matches| Cli::from_arg_matches(&matches))
        .unwrap_or_else(|error| panic!("{error}"));
    let ran = on_columns(columns, answers, |terminal| run(&cli, terminal));
    let shorter = |text: &str| text.replace(&format!("{}/", folder.display()), "");
    Ran { exit: ran.exit, out: shorter(&ran.out), err: shorter(&ran.err) }
}

/// The words of a command line as a page has it: blanks part them, quotes keep them together.
pub(crate) fn words_of_line(typed: &str) -> Vec<String> {
    let parts = typed.split('"').enumerate().flat_map(|(place, part)| match place % 2 {
        0 => part.split_whitespace().map(str::to_owned).collect(),
        _ => vec![part.to_owned()],
    });
    parts.collect()
}

/// A text without its figures: a snapshot of the words must not hold the last digits of a fit.
pub(crate) fn without_figures(text: &str) -> String {
    let mut words = String::new();
    for letter in text.chars() {
        let figure = letter.is_ascii_digit() || (letter == '.' && words.ends_with('#'));
        match letter {
            _ if figure && words.ends_with('#') => {}
            _ if figure => words.push('#'),
            ' ' if words.ends_with("  ") => {}
            _ => words.push(letter),
        }
    }
    words
}

#[test]
fn the_command_line_is_consistent() {
    command().debug_assert();
}

#[test]
fn alone_it_tells_the_steps_on_standard_output() {
    let ran = bobweight(Path::new(""), &[]);
    assert_eq!((ran.exit, ran.err.as_str()), (Exit::Pass, ""));
    assert!(ran.out.starts_with(&job::in_words()) && ran.out.contains("\nNext: "), "{}", ran.out);
}

#[test]
fn the_exit_status_of_each_end_is_the_one_that_scripts_know() {
    let numbers = [Exit::Pass, Exit::Fail, Exit::WrongInput, Exit::LinkFailed, Exit::NotWritten, Exit::Interrupted];
    assert_eq!(numbers.map(|exit| exit as u8), [0, 1, 2, 3, 4, 130]);
}

/// A pipe whose reader has gone.
struct Closed;

impl Write for Closed {
    fn write(&mut self, _: &[u8]) -> std::io::Result<usize> {
        Err(std::io::ErrorKind::BrokenPipe.into())
    }

    fn flush(&mut self) -> std::io::Result<()> {
        Err(std::io::ErrorKind::BrokenPipe.into())
    }
}

#[test]
fn a_reader_that_has_seen_enough_ends_the_run_without_a_word() {
    let mut err = Vec::new();
    let exit = run(
        &Cli { command: None },
        &mut Terminal {
            input: &mut "".as_bytes(),
            out: &mut Closed,
            err: &mut err,
            can_ask: false,
            err_is_terminal: false,
            colour_out: false,
            colour_err: false,
            columns: WIDTH,
        },
    );
    assert_eq!((exit, err.as_slice()), (Exit::NotWritten, [].as_slice()));
}

/// A key of another keyboard's code, such as 0xE4 alone, is no UTF-8.
#[test]
fn a_key_that_is_no_text_is_asked_again_and_ends_no_sitting() {
    let folder = tempfile::tempdir().expect("a folder");
    let kept = folder.path().join("survey.csv");
    let line = ["bobweight", "survey", "--acknowledge-cautions", "--out", kept.to_str().expect("a plain path")];
    let cli = Cli::try_parse_from(line).expect("a command line");
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let exit = run(
        &cli,
        &mut Terminal {
            input: &mut &b"\xe4\nstop\n"[..],
            out: &mut out,
            err: &mut err,
            can_ask: true,
            err_is_terminal: false,
            colour_out: false,
            colour_err: false,
            columns: WIDTH,
        },
    );
    let said = String::from_utf8_lossy(&err);
    assert!(said.contains("a key that is no text"), "{said}");
    assert!(exit == Exit::Interrupted && said.contains("the same command goes on from here"), "{exit:?}: {said}");
    let mut question = Terminal {
        input: &mut &b"\xff\xfe\n12\n"[..],
        out: &mut Vec::new(),
        err: &mut Vec::new(),
        can_ask: true,
        err_is_terminal: false,
        colour_out: false,
        colour_err: false,
        columns: WIDTH,
    };
    let answered = ask::ask(&mut question, "How many?", |text| text.parse::<u8>().map_err(|error| error.to_string()));
    assert!(matches!(answered, Ok(ask::Answered::Value(12))), "an answer after the key");
}
