use crate::cli::exit::Exit;
use crate::cli::tests::{Ran, bobweight};
use crate::sheet::tests::demo_text;
use crate::sheet::{Sheet, parse};

/// A coil in figures, as a person types them.
const READ: &[&str] = &[
    "--resistance",
    "1.7 ohm",
    "--leads",
    "0.2 ohm",
    "--cold",
    "20 C",
    "--supply",
    "12.3 V",
    "--across-coil",
    "6.26 V",
    "--across-switch",
    "0.2 V",
    "--hot",
    "1.94 ohm",
    "--after",
    "15 min",
    "--hotter",
    "2.03 ohm",
    "--mains",
    "50 Hz",
    "--series",
    "10 ohm",
    "--across-series",
    "6.66 V",
    "--across-primary",
    "1.89 V",
    "--across-both",
    "8.00 V",
    "--driver-drop",
    "1 V",
    "--energy",
    "40 mJ",
    "--cylinders",
    "4",
    "--top-speed",
    "5000 crank rpm",
    "--idle",
    "700 crank rpm",
    "--ohms-accuracy",
    "0.5 % + 0.02 ohm",
    "--dc-accuracy",
    "0.5 % + 0.02 V",
    "--ac-accuracy",
    "1 % + 0.01 V",
];

fn coil(options: &[&str]) -> Ran {
    let folder = tempfile::tempdir().expect("a folder");
    bobweight(folder.path(), &[&["coil"], options].concat())
}

#[test]
fn the_coil_of_known_readings() {
    let ran = coil(READ);
    assert_eq!((ran.exit, ran.err.as_str()), (Exit::Pass, ""));
    insta::assert_snapshot!("coil_of_known_readings", ran.out);
}

#[test]
fn alone_it_tells_how_to_read_and_what_can_hurt_where_it_does() {
    let ran = coil(&[]);
    assert_eq!((ran.exit, ran.err.as_str()), (Exit::Pass, ""));
    let said = ran.said();
    let mut from = 0;
    for part in [
        "stop a heart",
        "Fuel shut off",
        "Reading 1",
        "Battery off",
        "Reading 2",
        "a short that burns",
        "fuse",
        "Reading 3",
        "hot enough to burn",
        "The inductance",
        "Never the mains themselves",
        "HUNDREDS OF VOLTS",
    ] {
        let at =
            said[from..].find(part).unwrap_or_else(|| panic!("`{part}` is not there, or comes too early:\n{said}"));
        from += at;
    }
    assert!(ran.out.lines().all(|line| line.chars().count() <= 80), "{}", ran.out);
    // Every option that it names is one.
    let known = crate::cli::command();
    let known = known.find_subcommand("coil").expect("the command");
    let options: Vec<_> = known.get_arguments().filter_map(clap::Arg::get_long).collect();
    let named: Vec<_> = said.split("`--").skip(1).filter_map(|rest| rest.split('`').next()).collect();
    assert!(named.len() > 15 && named.iter().all(|name| options.contains(name)), "{named:?}");
    assert_eq!(coil(&["--json", "-"]).exit, Exit::WrongInput);
}

/// The lines of the printed result, pasted into a sheet by hand, are a coil that `figures` gives the same table.
#[test]
fn the_lines_for_the_sheet_are_pasted_as_they_stand() {
    let out = coil(READ).out;
    let lines =
        out.split_once("For `[coil]` of the sheet\n").expect("the lines").1.split_once("\n\n").expect("their end").0;
    let text = demo_text();
    let (before, after) = text.split_once("[coil]\n").expect("its coil");
    let rest = after.split_once("\nlargest_duty").expect("a key that stays").1;
    let energy = "least_energy = \"30 mJ\"\n";
    let pasted = format!("{before}[coil]\n{lines}\n{energy}largest_duty{rest}");
    let sheet: Sheet = parse("sheet.toml", &pasted).unwrap_or_else(|error| panic!("{error:?}\n{pasted}"));
    let battery = crate::curve::figures::coil::Battery { from: 6.0, to: 16.0 };
    let needed = crate::curve::figures::coil::needed_table(&sheet, battery).expect("a table");
    let dwell = sheet.coil.dwell.get().expect("a table");
    assert_eq!(dwell.len(), needed.len());
    for (pasted, needed) in dwell.iter().zip(&needed) {
        // The sheet's ohms and millihenries have lost their last digits.
        assert!((pasted.dwell_s - needed.dwell_s).abs() < 5e-5, "{pasted:?} {needed:?}");
    }
}

fn of_sheet(text: &str, options: &[&str]) -> Ran {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("engine.toml").display().to_string();
    std::fs::write(&path, text).expect("a sheet");
    bobweight(folder.path(), &[&["coil", "--sheet", &path], options].concat())
}

/// 5 A in 1.2 ohm and 6 mH behind 1 V take -(6 / 1.2) ln(1 - 1.2 x 5 / 7) = 9.73 ms at 8 V; in the 0.9 ohm of the winding alone the same time
/// comes to 7 / 0.9 (1 - exp(-0.9 x 9.73 / 6)) = 5.97 A: a series RL circuit, any electrical-engineering text.
#[test]
fn a_ballast_that_the_starter_bypasses_is_taken_out_and_judged() {
    let bypassed =
        demo_text().replacen("\"kept\"", "\"bypassed\"", 1).replacen("[\"8 V\", \"12 V\"]", "[\"8 V\", \"8 V\"]", 1);
    let ran = of_sheet(&bypassed, &[]);
    let says = "on the starter, its ballast of 0.3 ohm bypassed, the same dwell comes to 5.97 A at 8 V. The sheet allows 8 A: OK";
    assert!(ran.said().contains(says), "{}", ran.out);
    let weak = of_sheet(&bypassed.replacen("greatest_current = \"8 A\"", "greatest_current = \"5.9 A\"", 1), &[]);
    assert!(weak.said().contains("5.97 A at 8 V. The sheet allows 5.9 A: BROKEN"), "{}", weak.out);
    assert!(!of_sheet(demo_text(), &[]).said().contains("bypassed, the same dwell"));
    let hot = of_sheet(&demo_text().replacen("greatest_heat = \"30 W\"", "greatest_heat = \"3 W\"", 1), &[]);
    assert!(hot.said().contains("The sheet allows 3 W: BROKEN"), "{}", hot.out);
    // What was read counts more than what the sheet says.
    let read = ["--resistance", "1.1 ohm", "--leads", "0.1 ohm", "--ballast", "0.5 ohm"];
    assert!(of_sheet(&bypassed, &read).said().contains("with 0.5 ohm of ballast and wiring"));
}

#[test]
fn a_sheet_gives_what_no_option_does_and_its_ignition_says_what_is_left() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("engine.toml").display().to_string();
    std::fs::write(&path, demo_text()).expect("a sheet");
    let of = |options: &[&str]| bobweight(folder.path(), &[&["coil", "--sheet", &path], options].concat());
    let plain = of(&[]);
    assert_eq!((plain.exit, plain.err.as_str()), (Exit::Pass, ""));
    assert!(plain.said().contains("5 A wanted, at which the coil holds 75 mJ"), "{}", plain.out);
    assert!(plain.said().contains("asked edge by edge"), "{}", plain.out);
    // The sheet parts its ballast from the winding, and says what coil and driver bear.
    assert!(plain.said().contains("as it is, with 0.3 ohm of ballast and wiring"), "{}", plain.out);
    assert!(
        plain.said().contains("The sheet allows 8 A: OK") && plain.said().contains("The sheet allows 30 W: OK"),
        "{}",
        plain.out
    );
    let unparted = of_sheet(&demo_text().replacen("ballast = ", "# ballast = ", 1), &[]);
    assert!(unparted.said().contains("only the whole loop is known"), "{}", unparted.out);
    let stronger = of(&["--energy", "48 mJ"]);
    assert!(stronger.said().contains("4 A wanted"), "{}", stronger.out);
    let other = of(&["--largest-duty", "50 %"]);
    assert!(other.said().contains("on 50 % of the time") && !other.said().contains("edge by edge"), "{}", other.out);
    // The supply's own range.
    std::fs::write(&path, demo_text().replacen("12 V negative", "24 V negative", 1)).expect("a sheet");
    assert!(of(&[]).said().contains("left on at 32 V"));
}

#[test]
fn options_that_tell_nothing_without_others_and_values_without_sense_are_refused() {
    let refused = |words: &[&str], says: &str| {
        let words = [&["bobweight", "coil"], words].concat();
        let error = crate::cli::command().try_get_matches_from(words.clone()).expect_err(says).to_string();
        let error = error.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(error.contains(says), "{words:?}: {error}");
    };
    refused(&["--resistance", "1.7 ohm"], "--leads");
    refused(&["--resistance", "1.7", "--leads", "0 ohm"], "has no unit");
    refused(&["--resistance", "1700 ohm", "--leads", "0 ohm"], "from 0.1 ohm to 40 ohm");
    refused(&["--hot", "1.9 ohm", "--after", "10 min"], "--resistance");
    refused(&["--mains", "50 Hz"], "--across-both");
    refused(&["--inductance", "7 mH", "--mains", "50 Hz"], "cannot be used with");
    refused(&["--energy", "40 mJ", "--current", "5 A"], "cannot be used with");
    refused(&["--ohms-accuracy", "1 % + 2 digits"], "no unit of a resistance");
    refused(
        &["--supply", "12 V", "--across-coil", "0 V", "--resistance", "1 ohm", "--leads", "0 ohm"],
        "from 0.01 V to 48 V",
    );
    refused(&["--cold", "20 F"], "no unit of a temperature");
    let cannot = coil(&["--resistance", "1.7 ohm", "--leads", "1.8 ohm"]);
    assert_eq!((cannot.exit, cannot.out.as_str()), (Exit::WrongInput, ""));
    assert!(cannot.told().contains("hold the meter's tips firmly together"), "{}", cannot.err);
}
