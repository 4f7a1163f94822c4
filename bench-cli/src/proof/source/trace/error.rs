//! Why a trace cannot be used.

use miette::Diagnostic;

/// Why a trace cannot be used.
#[derive(Debug, Diagnostic, thiserror::Error)]
#[non_exhaustive]
pub enum TraceError {
    /// The system does not give it.
    #[error("{file}: the trace cannot be read: {cause}")]
    #[diagnostic(help("look at its path and its permissions"))]
    Unreadable {
        /// The file.
        file: String,
        /// What the system said.
        cause: std::io::Error,
    },
    /// Somebody interrupted.
    #[error("interrupted; the rest of {file} was not read")]
    Interrupted {
        /// The file.
        file: String,
    },
    /// Neither of the two formats.
    #[error("{file}: a trace is a `.vcd` or a `.csv` file")]
    #[diagnostic(help("export the capture from the logic analyser's program as VCD (IEEE 1364) or as CSV"))]
    UnknownFormat {
        /// The file.
        file: String,
    },
    /// A line that is not as the format has it.
    #[error("{file}, line {line}: {what}")]
    #[diagnostic(help("export the capture anew; a file that was edited by hand is easily spoilt"))]
    Malformed {
        /// The file.
        file: String,
        /// Which line, from 1.
        line: u64,
        /// What is wrong with it.
        what: String,
    },
    /// A signal that is not there.
    #[error("{file}: there is no signal `{name}`; it has {}", if known.is_empty() { "none of one bit".to_owned() } else { known.join(", ") })]
    #[diagnostic(help("name the pickup's signal with `--pickup` and the coil's with `--coil`"))]
    NoSignal {
        /// The file.
        file: String,
        /// The name that was looked for.
        name: String,
        /// Some of the signals that are there.
        known: Vec<String>,
    },
    /// A name that several signals have.
    #[error("{file}: several signals are called `{name}`")]
    #[diagnostic(help("give the whole name with its scopes, such as `board.pickup`"))]
    Ambiguous {
        /// The file.
        file: String,
        /// The name.
        name: String,
    },
    /// Both signals are one.
    #[error("{file}: pickup and coil are the same signal `{name}`")]
    #[diagnostic(help("name the pickup's signal with `--pickup` and the coil's with `--coil`"))]
    OneSignal {
        /// The file.
        file: String,
        /// The name.
        name: String,
    },
    /// A table whose times have no unit.
    #[error("{file}, line {line}: the time column `{heading}` does not say its unit")]
    #[diagnostic(help("head it with its unit in brackets, such as `Time [s]`, `Time [us]` or `Time [ns]`"))]
    NoUnit {
        /// The file.
        file: String,
        /// Which line, from 1.
        line: u64,
        /// The heading.
        heading: String,
    },
}
