//! The binary, run as a user or a script runs it.

use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

/// The demo's sheet. Its figures are invented; only what the tool does with it is tested.
pub fn demo() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("demo/fire-float.toml")
}

/// `bobweight bench SHEET ARGUMENTS`, with no terminal at any end.
pub fn bench(sheet: &Path, arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_bobweight"));
    command.arg("bench").arg(sheet).args(arguments).stdin(Stdio::null());
    command
}

/// How a run ended and what it said.
#[derive(Debug)]
pub struct Ran {
    /// The exit status; none where a signal ended it.
    pub exit: Option<i32>,
    /// Standard output.
    pub out: String,
    /// Standard error.
    pub err: String,
}

/// Waits for a run.
pub fn ran(mut command: Command) -> Ran {
    Ran::from(command.output().expect("the binary runs"))
}

impl From<Output> for Ran {
    fn from(output: Output) -> Self {
        let text = |bytes| String::from_utf8(bytes).expect("only text is written");
        let (out, err) = (text(output.stdout), text(output.stderr));
        Self { exit: output.status.code(), out, err }
    }
}

/// A text in one line, whatever the width that it was wrapped at.
pub fn unwrapped(text: &str) -> String {
    let words = text.split_whitespace().filter(|word| *word != "│");
    words.collect::<Vec<_>>().join(" ")
}
