//! The pages beside the manual, held to the program.

use super::{Path, words_of_line};
use crate::cli::{cautions, command};
use crate::sheet::tests::demo_text;
use crate::sheet::{Settings, SheetError, parse};

const FAULTS: &str = include_str!("../../../FAULTS.md");
const ENGINES: &str = include_str!("../../../ENGINES.md");

/// What a page says a command line is: between two backticks, from `bobweight` on.
fn command_lines(page: &str) -> impl Iterator<Item = &str> {
    page.split('`').skip(1).step_by(2).filter(|quoted| quoted.starts_with("bobweight "))
}

#[test]
fn every_command_line_of_the_pages_is_one() {
    for (page, least) in [(FAULTS, 30), (ENGINES, 1)] {
        let mut count = 0;
        for line in command_lines(page) {
            if let Err(error) = command().try_get_matches_from(words_of_line(line)) {
                panic!("{line}: {error}");
            }
            count += 1;
        }
        assert!(count >= least, "{count}");
    }
}

/// The parts of a fault in their order.
const PARTS: [&str; 5] = ["Measure", "Expect", "Cause", "Do", "Source"];

#[test]
fn twenty_faults_each_have_all_parts_and_say_where_they_come_from() {
    let faults: Vec<&str> = FAULTS.split("\n### ").skip(1).collect();
    assert_eq!(faults.len(), 20);
    let (mut sourced, mut practice, mut with_command) = (0, 0, 0);
    for (at, fault) in faults.iter().enumerate() {
        let (symptom, rest) = fault.split_once('\n').expect("a symptom");
        let number = format!("{}. ", at + 1);
        assert!(symptom.strip_prefix(&number).is_some_and(|symptom| symptom.len() > 15), "{symptom}");
        let lines: Vec<&str> = rest.lines().filter(|line| line.starts_with("- ")).collect();
        let parts = lines.iter().zip(PARTS).map(|(line, part)| {
            let text = line
                .strip_prefix(&format!("- {part}: "))
                .unwrap_or_else(|| panic!("{symptom}: {part} is not here: {line}"));
            assert!(text.split_whitespace().count() >= 3 && text.ends_with('.'), "{symptom}: {text}");
            text
        });
        let parts: Vec<&str> = parts.collect();
        assert_eq!((parts.len(), lines.len()), (5, 5), "{symptom}");
        match parts[4] {
            mark if mark.starts_with("sourced: ") => sourced += 1,
            mark if mark.starts_with("common practice, no source") => practice += 1,
            mark => panic!("{symptom}: {mark}"),
        }
        with_command += usize::from(command_lines(fault).next().is_some());
    }
    assert_eq!((sourced + practice, with_command), (20, 20));
    assert!(practice >= 4, "who finds a source for everything has not looked: {practice}");
}

/// Every work with a coil or an engine has its cautions, and they stand before the first fault.
#[test]
fn the_fault_page_begins_with_its_cautions() {
    let head = FAULTS.split("\n## No spark").next().expect("a head");
    for caution in [
        "Who wears a pacemaker keeps away",
        "ruins the coil",
        "Battery off before ohms",
        "No starting handle",
        "fan and belts",
        "outdoors",
        "Local codes",
    ] {
        assert!(head.contains(caution), "{caution}");
    }
    assert!(cautions::CAUTIONS.iter().any(|(_, caution)| caution.contains("ruins the coil")), "the tool says it, too");
}

/// A row of a table of four cells: what, mark, why, instead.
fn rows(page: &str) -> Vec<[&str; 4]> {
    let cells = |line: &'static str| -> Option<[&str; 4]> {
        let cells: Vec<&str> = line.strip_prefix("| ")?.strip_suffix('|')?.split(" |").map(str::trim).collect();
        let cells: [&str; 4] = cells.get(..4)?.try_into().ok()?;
        (cells[1] != "served" && !cells[1].starts_with("---")).then_some(cells)
    };
    assert_eq!(page.len(), ENGINES.len());
    ENGINES.lines().filter_map(cells).collect()
}

#[test]
fn every_row_of_the_engines_page_has_its_mark_and_its_reason() {
    let rows = rows(ENGINES);
    let lines = ENGINES.lines().filter(|line| line.starts_with("| ")).count();
    // Four tables, each with its heading and the line below it.
    assert_eq!(rows.len() + 8, lines);
    assert!(rows.len() > 45, "{}", rows.len());
    for [what, mark, why, instead] in &rows {
        assert!(["yes", "partly", "figures only", "no"].contains(mark), "{what}: {mark}");
        assert!(!why.is_empty() || *mark == "yes", "{what}");
        assert!(!instead.contains('|') && !what.is_empty());
    }
}

/// What the program makes of a sheet.
#[derive(Debug, PartialEq)]
enum Made {
    Driven,
    FiguresOnly,
    Refused,
}

fn made(changes: &[(&str, &str)]) -> Made {
    let mut text = demo_text().to_owned();
    for (old, new) in changes {
        assert!(text.contains(old), "{old}");
        text = text.replacen(old, new, 1);
    }
    let settings = parse("sheet.toml", &text).and_then(|sheet| Settings::from_sheet(&sheet));
    match settings {
        Ok(_) => Made::Driven,
        Err(error) if SheetError::is_not_driven(&error) || error.key() == Some("engine.supply") => Made::FiguresOnly,
        Err(_) => Made::Refused,
    }
}

const ONE: [(&str, &str); 2] = [("cylinders = 4", "cylinders = 1"), ("[1, 3, 4, 2]", "[1]")];
const TWO: [(&str, &str); 2] = [("cylinders = 4", "cylinders = 2"), ("[1, 3, 4, 2]", "[1, 2]")];
const CRANK: (&str, &str) = ("place = \"distributor\"", "place = \"crank\"");
const PULSES: &str = "pulses_in_two_turns = 4";
const RELUCTOR: [(&str, &str); 3] = [
    ("kind = \"vane\"", "kind = \"coil\""),
    ("\nangle = \"60 ", "\nangle = \"8 "),
    (
        "second_flank_angle = \"8 crank degrees BTDC\"",
        "moving_flank = [\"18 crank degrees BTDC\", \"13 crank degrees BTDC\"]",
    ),
];

/// Each row that a sheet can say, and the demo changed to say it.
#[test]
fn what_the_engines_page_says_of_a_sheet_is_what_the_program_does() {
    let supply = |to: &'static str| vec![("12 V negative earth", to)];
    let cylinders = |count: &'static str, order: &'static str, pulses: &'static str| {
        vec![("cylinders = 4", count), ("[1, 3, 4, 2]", order), (PULSES, pulses)]
    };
    let with = |one: &[(&'static str, &'static str)], other: &[(&'static str, &'static str)]| [one, other].concat();
    let crank_and = |pulses: &'static str| [CRANK, (PULSES, pulses)];
    let uneven = ("cylinders = 2", "cylinders = 2\nfiring_intervals = [\"270 crank degrees\", \"450 crank degrees\"]");
    let cases: &[(&str, Vec<(&str, &str)>)] = &[
        ("One cylinder, four-stroke", with(&ONE, &crank_and("pulses_in_two_turns = 2"))),
        ("Two cylinders, even", with(&TWO, &crank_and("pulses_in_two_turns = 2"))),
        ("Two cylinders that fire unevenly", with(&with(&TWO, &crank_and("pulses_in_two_turns = 2")), &[uneven])),
        ("Three to seven cylinders", cylinders("cylinders = 7", "[1, 2, 3, 4, 5, 6, 7]", "pulses_in_two_turns = 7")),
        ("Eight cylinders", cylinders("cylinders = 8", "[1, 2, 3, 4, 5, 6, 7, 8]", "pulses_in_two_turns = 8")),
        ("More than twelve", cylinders("cylinders = 13", "[1]", "pulses_in_two_turns = 12")),
        ("Two-stroke, one cylinder", with(&ONE, &crank_and("pulses_in_two_turns = 2"))),
        ("Engines without a battery", vec![("supply = \"12 V negative earth\"", "#")]),
        ("Magneto", vec![("supply = \"12 V negative earth\"", "#")]),
        ("Wasted spark, two cylinders", with(&TWO, &crank_and("pulses_in_two_turns = 2"))),
        ("Hall vane in the distributor", vec![]),
        ("Reluctor", RELUCTOR.to_vec()),
        ("Pickup in the distributor, weights working", vec![("\"locked\"", "\"working\"")]),
        ("Pickup on the camshaft", vec![("place = \"distributor\"", "place = \"cam\"")]),
        ("Crank trigger, evenly spaced", vec![CRANK]),
        ("Crank trigger without", with(&ONE, &crank_and("pulses_in_two_turns = 2"))),
        ("Toothed wheel with more pulses", vec![CRANK, (PULSES, "pulses_in_two_turns = 8")]),
        ("12 V, negative earth", vec![]),
        ("12 V, positive earth", supply("12 V positive earth")),
        ("6 V, either earth", supply("6 V negative earth")),
        ("24 V, either earth", supply("24 V positive earth")),
    ];
    let rows = rows(ENGINES);
    for (begins, changes) in cases {
        let [what, mark, ..] =
            rows.iter().find(|[what, ..]| what.starts_with(begins)).unwrap_or_else(|| panic!("{begins}"));
        let wanted = match *mark {
            "yes" | "partly" => Made::Driven,
            "figures only" => Made::FiguresOnly,
            _ => Made::Refused,
        };
        assert_eq!(made(changes), wanted, "{what}: {changes:?}");
    }
    // A third or fourth pulse of a twin is refused.
    for pulses in ["pulses_in_two_turns = 4", "pulses_in_two_turns = 6"] {
        assert_eq!(made(&with(&TWO, &crank_and(pulses))), Made::Refused, "{pulses}");
    }
}

#[test]
fn the_readme_leads_to_both_pages() {
    let readme = include_str!("../../../../README.md");
    for page in ["bench-cli/ENGINES.md", "bench-cli/FAULTS.md"] {
        assert!(readme.contains(&format!("]({page})")) && Path::new("..").join(page).exists(), "{page}");
    }
}
