//! What is printed fits the terminal, and no word is broken.

use super::*;

/// A folder with the demo, and the same engine with a limit that its curve breaks.
fn demo() -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    let from = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo");
    for name in ["fire-float.toml", "fire-float-readings.csv"] {
        std::fs::copy(from.join(name), folder.path().join(name)).expect("the demo");
    }
    let text = std::fs::read_to_string(folder.path().join("fire-float.toml")).expect("the demo");
    let write = |name: &str, text: String| std::fs::write(folder.path().join(name), text).expect("a sheet");
    write("broken.toml", text.replacen("greatest = \"42", "greatest = \"37", 1));
    write("wrong.toml", text.replacen("6 inHg depression", "6 inHg", 1));
    write("early.toml", text.replacen("angle = \"60", "angle = \"38", 1));
    let light = "# light = plain\nhose,speed_was,crank_rpm,crank_degrees,vacuum_kPa\noff,rising,640,6,\noff,steady,655,7,\n\
                 off,steady,650,6,\noff,rising,1300,12,\noff,rising,2500,22,\noff,rising,3800,26,\noff,steady,3850,26,\n\
                 off,steady,3800,25,\noff,steady,3810,26,\non,falling,2000,30,44\non,steady,2010,29,44\n";
    write("light.csv", light.to_owned());
    folder
}

/// Every command on the demo, those for which there is no board as far as they come without one. Names that begin with `@` lie in
/// the folder.
const COMMANDS: &[&[&str]] = &[
    &[],
    &["survey", "--out", "@survey.csv", "--acknowledge-cautions"],
    &["survey", "--out", "@chuck.csv", "--off-engine", "--acknowledge-cautions"],
    &[
        "tape",
        "--diameter",
        "152 mm",
        "--from",
        "10 crank degrees ATDC",
        "--to",
        "50 crank degrees BTDC",
        "--rotation",
        "clockwise",
        "--on",
        "pulley",
        "--out",
        "@tape.pdf",
    ],
    &["fit", "@fire-float-readings.csv"],
    &["fit", "@fire-float-readings.csv", "--new-sheet", "@new.toml"],
    &["fit", "@fire-float-readings.csv", "--sheet", "@fire-float.toml", "--json", "@fit.json"],
    &["fit", "@fire-float-readings.csv", "--sheet", "@broken.toml", "--choose", "found"],
    &["figures", "@fire-float.toml"],
    &["figures", "@fire-float.toml", "--full-throttle", "34 crank degrees", "--altitude", "1500 m"],
    &["figures", "@fire-float.toml", "--first-start", "--acknowledge-cautions"],
    &["check", "@fire-float.toml"],
    &["check", "@broken.toml"],
    &["check", "@wrong.toml"],
    &["bench", "@early.toml"],
    &["bench", "@fire-float.toml", "--json", "@simulated.json"],
    &["bench", "@fire-float.toml", "--details"],
    &["bench", "@fire-float.toml", "--details", "--simulate", "lag=150 us, scatter=0.3 crank degrees, lose=1/400"],
    &["bench", "@fire-float.toml", "--simulate", "lag=150 us, pickup=1.5 crank degrees early, vacuum=80 %"],
    &["bench", "@broken.toml"],
    &["bench", "@fire-float.toml", "--serial", "/dev/none", "--acknowledge-cautions"],
    &["light", "@fire-float.toml", "--readings", "@light.csv", "--acknowledge-cautions", "--json", "@light.json"],
    &["export", "@fire-float.toml", "--as", "csv", "--speeds", "300..4800 crank rpm by 900"],
    &["write", "@fire-float.toml", "--serial", "/dev/none", "--acknowledge-cautions"],
    &["read", "--serial", "/dev/none", "--acknowledge-cautions"],
    &["report", "@fit.json", "@simulated.json", "@light.json", "--out", "@report.html", "--card"],
    &["serial"],
];

/// Lines that are too long, those excepted in which a single word without its blanks is: a path that was typed.
fn too_long(said: &str, columns: usize) -> Vec<&str> {
    let long = said.lines().filter(|line| line.chars().count() > columns);
    long.filter(|line| line.split_whitespace().all(|word| word.chars().count() < columns / 2)).collect()
}

fn ran(columns: usize, folder: &Path, command: &[&str]) -> Ran {
    let named = |word: &&str| match word.strip_prefix('@') {
        Some(name) => folder.join(name).display().to_string(),
        None => (*word).to_owned(),
    };
    let words: Vec<String> = command.iter().map(named).collect();
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    // Answers that nothing is said to: what is typed does not end the line of its question here.
    let asks = (command.first() == Some(&"survey")).then_some("31 B\nno\nyes\nyes\nyes\n");
    bobweight_on(columns, asks, folder, &words)
}

#[test]
fn every_command_fits_eighty_columns() {
    let folder = demo();
    for command in COMMANDS {
        let ran = ran(WIDTH, folder.path(), command);
        assert!(!format!("{}{}", ran.out, ran.err).is_empty(), "{command:?} says something");
        for said in [&ran.out, &ran.err] {
            assert_eq!(too_long(said, WIDTH), [""; 0], "{command:?}");
        }
    }
}

#[test]
fn a_narrow_terminal_gets_narrow_lines_and_narrow_tables() {
    for columns in [60, 50] {
        let folder = demo();
        for command in COMMANDS {
            // A page to print and a file have columns of their own.
            if command.contains(&"--first-start") || command.first() == Some(&"export") {
                continue;
            }
            let ran = ran(columns, folder.path(), command);
            for said in [&ran.out, &ran.err] {
                assert_eq!(too_long(said, columns), [""; 0], "{command:?}");
            }
        }
    }
    let folder = demo();
    let wide = ran(WIDTH, folder.path(), &["bench", "@fire-float.toml", "--details"]);
    let narrow = ran(60, folder.path(), &["bench", "@fire-float.toml", "--details"]);
    // Everything is said, whatever the width, and no word of it is broken.
    let words = |said: &str| {
        let mut words: Vec<String> = said.split_whitespace().map(str::to_owned).collect();
        words.sort();
        words
    };
    assert_eq!(words(&wide.out), words(&narrow.out));
}

#[test]
fn every_help_fits_the_terminal() {
    use crate::words::wrap::within;
    for columns in [WIDTH, 60] {
        let mut all = within(columns, command);
        all.build();
        for name in job::STEPS.map(|step| step.command) {
            let help = all.find_subcommand_mut(name).expect("a command").render_long_help().to_string();
            assert_eq!(too_long(&help, columns), [""; 0], "{name}");
            assert!(help.trim_end().lines().any(|line| line == "Examples:"), "{name}: {help}");
        }
    }
}
