//! The steps of the job, once: help, `bobweight` alone, completions, manual pages and the README's list are made of this table.

use crate::words::wrap::{columns, paragraph};
use std::fmt::Write;

/// A command and its place in the job.
#[derive(Clone, Copy, Debug)]
pub struct Step {
    /// The number of the step that the command belongs to; none where it helps at any time.
    pub number: Option<u8>,
    /// The command's name.
    pub command: &'static str,
    /// What is typed behind the name, in short.
    pub usage: &'static str,
    /// What the command does, in a line.
    pub line: &'static str,
    /// Whole command lines to start from, each with what it does.
    pub examples: &'static [(&'static str, &'static str)],
}

/// Every command, in the order of the job.
pub const STEPS: [Step; 15] = [
    Step {
        number: None,
        command: "begin",
        usage: "[FOLDER]",
        line: "asks what you have, answers at once, and leads on one question at a time",
        examples: &[
            ("bobweight begin", "in this folder: what you have, figures at once, then the rest as it is wanted"),
            ("bobweight begin fire-float", "in a folder of the engine's own; the same again goes on from there"),
        ],
    },
    Step {
        number: Some(1),
        command: "survey",
        usage: "--out READINGS.csv",
        line: "leads you through measuring the old distributor",
        examples: &[
            ("bobweight survey --out readings.csv", "on the engine, with a timing light"),
            ("bobweight survey --out readings.csv --off-engine", "the distributor spun by a drill or a lathe"),
        ],
    },
    Step {
        number: Some(1),
        command: "tape",
        usage: "--diameter LENGTH ... --out TAPE.pdf",
        line: "draws a degree tape for the pulley at true size",
        examples: &[
            (
                "bobweight tape --diameter \"152 mm\" --from \"50 crank degrees ATDC\" --to \"50 crank degrees BTDC\" \
             --rotation clockwise --on pulley --out tape.pdf",
                "a tape that shows top dead centre and 50 crank degrees to either side",
            ),
            (
                "bobweight tape --diameter \"6 in\" --from \"10 crank degrees ATDC\" --to \"40 crank degrees BTDC\" \
             --rotation clockwise --on plate --out plate.svg",
                "a plate that stands still beside the pulley",
            ),
        ],
    },
    Step {
        number: Some(2),
        command: "fit",
        usage: "READINGS.csv [--new-sheet SHEET.toml]",
        line: "makes a curve of the readings; says what is worn and what is doubtful",
        examples: &[
            ("bobweight fit readings.csv", "tells what was found, and writes nothing"),
            ("bobweight fit readings.csv --new-sheet engine.toml", "makes a new sheet of it"),
            ("bobweight fit readings.csv --sheet engine.toml", "writes it into the sheet that you have"),
            ("bobweight fit readings.csv --sheet engine.toml --choose found", "and chooses it as the curve to use"),
        ],
    },
    Step {
        number: Some(3),
        command: "coil",
        usage: "--resistance OHMS ...",
        line: "tells from a meter and a clock what a coil needs: dwell, ballast, heat",
        examples: &[
            ("bobweight coil", "how to take the readings, and what can hurt you there"),
            (
                "bobweight coil --resistance \"1.7 ohm\" --leads \"0.2 ohm\" --cold \"20 C\" --supply \"12.3 V\" --across-coil \"6.2 V\" \
             --inductance \"7 mH\" --driver-drop \"1 V\" --energy \"40 mJ\" --cylinders 4 --top-speed \"5000 crank rpm\"",
                "a coil whose inductance is known, and its dwell table",
            ),
            ("bobweight coil --sheet engine.toml --energy \"60 mJ\"", "the coil of a sheet, for a stronger spark"),
        ],
    },
    Step {
        number: Some(3),
        command: "figures",
        usage: "SHEET.toml",
        line: "tells the timing in every use of the engine, the rotor's place, the dwell",
        examples: &[
            ("bobweight figures engine.toml", "all figures"),
            ("bobweight figures engine.toml --full-throttle \"34 crank degrees\"", "the initial timing for that total"),
            ("bobweight figures engine.toml --first-start", "the page to print and take to the engine"),
        ],
    },
    Step {
        number: Some(4),
        command: "check",
        usage: "SHEET.toml",
        line: "proves that the curve keeps your limits everywhere, or shows where not",
        examples: &[
            (
                "bobweight check engine.toml",
                "each limit, where the curve comes nearest to it, and how much is to spare",
            ),
            ("bobweight check engine.toml --json check.json", "and saves it for the report"),
        ],
    },
    Step {
        number: Some(5),
        command: "write",
        usage: "SHEET.toml --serial PATH",
        line: "puts the curve into an ignition over its serial port, and reads it back",
        examples: &[
            ("bobweight write engine.toml --serial /dev/ttyUSB0", "the engine stands, and the coil is off the board"),
            (
                "bobweight write engine.toml --serial /dev/ttyUSB0 --json written.json",
                "and saves what was written for the report",
            ),
        ],
    },
    Step {
        number: Some(5),
        command: "read",
        usage: "--serial PATH",
        line: "tells which curve is in an ignition",
        examples: &[
            ("bobweight read --serial /dev/ttyUSB0", "as the tables of a sheet"),
            ("bobweight read --serial /dev/ttyUSB0 --against engine.toml", "whether it is that sheet's"),
        ],
    },
    Step {
        number: Some(5),
        command: "export",
        usage: "SHEET.toml --as FORM",
        line: "hands the curve out: image, Intel HEX, Rust, C, or a table in CSV",
        examples: &[
            ("bobweight export engine.toml --as intel-hex --out engine.hex", "a file for an EEPROM programmer"),
            ("bobweight export engine.toml --as rust --out curve.rs", "constants for firmware of your own"),
            (
                "bobweight export engine.toml --as csv --speeds \"500..5000 crank rpm by 500\" --depressions \"0..12 inHg \
             depression by 3\"",
                "a table of the total advance",
            ),
        ],
    },
    Step {
        number: Some(6),
        command: "bench",
        usage: "SHEET.toml",
        line: "drives an ignition through every test point: pass, fail or undecided",
        examples: &[
            ("bobweight bench engine.toml", "the simulated ignition: nothing is connected"),
            ("bobweight bench engine.toml --serial /dev/ttyUSB0 --json box.json", "your box, behind a stimulator"),
            (
                "bobweight bench engine.toml --trace capture.vcd --pickup D0 --coil D1 --depression \"as planned\"",
                "what a logic analyser recorded",
            ),
        ],
    },
    Step {
        number: Some(7),
        command: "light",
        usage: "SHEET.toml",
        line: "proves the curve with a timing light, and says what to turn",
        examples: &[
            (
                "bobweight light engine.toml --json light.json",
                "asks for one reading after the other, and saves the proof",
            ),
            (
                "bobweight light engine.toml --light dial --light-lag \"30 us\"",
                "a light with a dial, whose own delay is known",
            ),
            ("bobweight light engine.toml --readings light.csv", "goes on with readings that were begun"),
        ],
    },
    Step {
        number: Some(7),
        command: "trials",
        usage: "SHEET.toml",
        line: "tries timings on a changed engine, from the late side, and finds the best",
        examples: &[
            ("bobweight trials engine.toml", "says where to begin, and asks for one trial after the other"),
            ("bobweight trials engine.toml --trials hill.csv --again", "goes over them once more on another day"),
            ("bobweight trials engine.toml --trials hill.csv --json trials.json", "and saves what they came to"),
        ],
    },
    Step {
        number: Some(8),
        command: "report",
        usage: "RESULT.json --out REPORT.html",
        line: "makes one page to keep of what `--json` saved, and the card for the engine",
        examples: &[
            (
                "bobweight report box.json light.json --out report.html --card",
                "both proofs, and the card for the engine",
            ),
            (
                "bobweight report before.json after.json --out report.html",
                "two bench runs, the later laid over the earlier",
            ),
            ("bobweight report . --out engine.html", "all that this folder holds of an engine, in pictures"),
        ],
    },
    Step {
        number: None,
        command: "serial",
        usage: "",
        line: "lists the serial ports, and opens none",
        examples: &[
            ("bobweight serial", "look which line is gone once the board is unplugged"),
            ("bobweight bench engine.toml --serial /dev/ttyUSB0", "then name it to another command"),
        ],
    },
];

impl Step {
    /// What is typed, in short: `bobweight check SHEET.toml`.
    pub fn typed(&self) -> String {
        format!("bobweight {} {}", self.command, self.usage).trim_end().to_owned()
    }

    /// The examples below the command's help; empty where there are none.
    pub fn examples_in_words(&self) -> String {
        let mut words = String::new();
        for (typed, what) in self.examples {
            let before = if words.is_empty() { "Examples:" } else { "" };
            let _ = write!(words, "{before}\n  {}\n      {what}", broken(typed));
        }
        words
    }
}

/// A usage behind `Usage: `, broken before its options where the terminal is narrow.
pub fn folded_usage(usage: &str) -> String {
    const USAGE: &str = "Usage: ";
    let mut text = String::new();
    paragraph(&mut text, USAGE, usage);
    text.trim_end().trim_start_matches(USAGE).to_owned()
}

/// A command line over as many lines of a terminal as it takes, broken before an option as a shell reads it.
fn broken(typed: &str) -> String {
    let mut lines = String::new();
    let mut column = 0;
    for (place, part) in typed.split(" --").enumerate() {
        let option = if place == 0 { part.to_owned() } else { format!(" --{part}") };
        if column + option.len() > columns() - 6 {
            lines.push_str(" \\\n     ");
            column = 5;
        }
        column += option.len();
        lines.push_str(&option);
    }
    lines
}

/// The steps for a person who starts: the number, what is typed, what it does.
pub fn in_words() -> String {
    let mut words = String::from("From a worn mechanical distributor to an electronic ignition that is proven:\n");
    let mut before = None;
    for step in &STEPS {
        let number = match step.number {
            Some(number) if step.number != before => format!("{number}."),
            _ => String::new(),
        };
        before = step.number;
        let _ = write!(words, "\n {number:>2} {}\n      {}", step.typed(), step.line);
    }
    words.push_str("\n\n`bobweight help COMMAND` tells more of each, with examples.\n");
    words
}

/// The steps as a table of the README, which a test holds to it.
#[cfg(test)]
pub fn as_markdown() -> String {
    let mut table = String::from("| step | command | what it does |\n| --- | --- | --- |\n");
    for step in &STEPS {
        let number = step.number.map(|number| number.to_string()).unwrap_or_default();
        let _ = writeln!(table, "| {number} | `{}` | {} |", step.typed(), step.line);
    }
    table
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cli::command;
    use crate::cli::tests::words_of_line;

    #[test]
    fn every_command_has_its_row_and_every_row_its_command() {
        let command = command();
        let commands: Vec<&str> =
            command.get_subcommands().map(clap::Command::get_name).filter(|name| *name != "help").collect();
        assert_eq!(commands, STEPS.map(|step| step.command));
    }

    #[test]
    fn every_command_has_two_examples_or_three_and_more() {
        for step in STEPS {
            assert!(step.examples.len() >= 2, "{}", step.command);
        }
    }

    #[test]
    fn every_example_is_a_command_line_that_is_taken() {
        for (typed, _) in STEPS.iter().flat_map(|step| step.examples) {
            if let Err(error) = command().try_get_matches_from(words_of_line(typed)) {
                panic!("{typed}: {error}");
            }
        }
    }

    #[test]
    fn the_readme_lists_these_commands() {
        let readme = include_str!("../../../README.md");
        assert!(readme.contains(&as_markdown()), "put this into README.md:\n{}", as_markdown());
    }

    #[test]
    fn steps_and_help_fit_eighty_columns() {
        let mut command = command();
        let mut texts = vec![in_words(), command.render_long_help().to_string()];
        texts.extend(command.get_subcommands_mut().map(|command| command.render_long_help().to_string()));
        for text in texts {
            let long: Vec<&str> = text.lines().filter(|line| line.chars().count() > 80).collect();
            assert_eq!(long, [""; 0], "{text}");
        }
    }
}
