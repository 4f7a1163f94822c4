//! The binary as a script uses it: exit status, what goes to which stream, what is written.
//!
//! The demo's figures are invented; what is tested is what the tool says of them.
#![cfg(target_os = "linux")]

mod terminal;
mod tool;

use std::fs::File;
use std::io::{ErrorKind, Read};
use std::process::Stdio;

use bobweight_tool::record::bench::BenchResult;
use bobweight_tool::record::bench::FindingKind;
use bobweight_tool::record::verdict::Verdict;
use bobweight_tool::saved;
use tool::{bench, demo, ran, unwrapped};

#[test]
fn the_demo_passes_and_details_tell_each_test_point() {
    let ran = ran(bench(&demo(), &["--details"]));
    assert_eq!((ran.exit, ran.err.as_str()), (Some(0), ""));
    let said = unwrapped(&ran.out);
    for says in [
        "pump engine of the fire float",
        "Initial timing",
        "agrees with the readings within their uncertainty",
        "benched by the built-in simulation of stimulator and ignition",
        "0 missing, 0 extra",
        "verdict: pass 78 of 78 test points passed, 0 failed, 0 undecided",
        "not proven: a bench run proves the box and its program; it does not prove pickup, rotor, coil, leads",
    ] {
        assert!(said.contains(says), "{says}:\n{}", ran.out);
    }
    // One row for every settled test point, besides the verdict.
    assert_eq!(ran.out.lines().filter(|line| line.ends_with(" pass") && line.contains(" 0/0 ")).count(), 78);
    assert!(!ran.out.contains("FAIL"), "{}", ran.out);
    let early_or_late = ran.out.lines().filter(|line| line.contains(" early") || line.contains(" late"));
    assert!(early_or_late.count() > 0 && !said.contains(" -0.") && !said.contains(" +0."), "{}", ran.out);
}

/// One screen of any terminal: 24 lines of 80 columns, as a VT100 has (ECMA-48 names no size; common practice, no source).
#[test]
fn what_is_told_without_details_fits_one_screen() {
    // A path of common length: the tests run in the tool's own folder.
    let short = ran(bench(std::path::Path::new("demo/fire-float.toml"), &[]));
    assert_eq!((short.exit, short.err.as_str()), (Some(0), ""));
    let lines: Vec<&str> = short.out.lines().collect();
    assert!(lines.len() <= 24 && lines.iter().all(|line| line.chars().count() <= 80), "{}", short.out);
    let said = unwrapped(&short.out);
    for says in ["worst point", "limits all 4 kept", "Misread, line 23", "verdict: pass", "next: ", "not proven: "] {
        assert!(said.contains(says), "{says}:\n{}", short.out);
    }
    // What did not pass is never left to the details.
    let lagging = ran(bench(&demo(), &["--simulate", "lag=150 us"]));
    let said = unwrapped(&lagging.out);
    for says in
        ["besides FAIL: lost pulse at 2 000 and 650 crank rpm", "pass: cranking, ramp", "4.14 crank degrees late"]
    {
        assert!(said.contains(says), "{says}:\n{}", lagging.out);
    }
}

#[test]
fn the_same_seed_gives_the_same_run_and_another_seed_another() {
    let run = |seed| ran(bench(&demo(), &["--details", "--simulate", "scatter=0.3 crank degrees", "--seed", seed])).out;
    let without_seed =
        |text: &str| text.lines().filter(|line| !line.starts_with("seed ")).collect::<Vec<_>>().join("\n");
    let (first, again, other) = (run("7"), run("7"), run("8"));
    assert_eq!(first, again);
    assert_ne!(without_seed(&first), without_seed(&other));
}

#[test]
fn a_lag_fails_and_is_named() {
    let ran = ran(bench(&demo(), &["--simulate", "lag=150 us"]));
    assert_eq!((ran.exit, ran.err.as_str()), (Some(1), ""));
    let said = unwrapped(&ran.out);
    assert!(said.contains("simulation of stimulator and ignition, with lag=150 us"), "{}", ran.out);
    assert!(said.contains("- later with speed: a lag of 150 us (give or take "), "{}", ran.out);
    assert!(said.contains("verdict: FAIL"), "{}", ran.out);
}

/// A sheet of the demo's in a folder with its readings, with its text changed.
fn changed(folder: &tempfile::TempDir, from: &str, to: &str) -> std::path::PathBuf {
    let text = std::fs::read_to_string(demo()).expect("the demo");
    let other = text.replacen(from, to, 1);
    assert_ne!(text, other, "{from}");
    let readings = "fire-float-readings.csv";
    std::fs::copy(demo().with_file_name(readings), folder.path().join(readings)).expect("the demo's readings");
    let path = folder.path().join("sheet.toml");
    std::fs::write(&path, other).expect("a sheet");
    path
}

/// The clamp holds every total at the limit, so no spark would ever leave it; the curve breaks it all the same. A serial port
/// that does not exist shows that none was opened.
#[test]
fn a_curve_that_breaks_its_limits_fails_and_drives_nothing() {
    let folder = tempfile::tempdir().expect("a folder");
    let sheet = changed(&folder, "greatest = \"42", "greatest = \"37");
    let json = folder.path().join("result.json");
    let json_text = json.display().to_string();
    let ran = ran(bench(&sheet, &["--serial", "/dev/bobweight-none", "--json", &json_text]));
    assert_eq!(ran.exit, Some(1), "{ran:?}");
    let said = unwrapped(&ran.out);
    assert!(
        said.contains(
            "greatest advance: BROKEN by 1 crank degrees (38, and 37 is allowed, at 3 300 crank rpm with full vacuum)"
        ),
        "{}",
        ran.out
    );
    assert!(
        said.contains("0 of 0 test points passed")
            && said.contains("nothing was driven; `bobweight check")
            && said.contains("verdict: FAIL"),
        "{}",
        ran.out
    );
    let result = saved(&json);
    assert!(result.test_points.is_empty() && result.cranking.is_empty() && result.ramps.is_empty());
    assert_eq!((result.verdict, result.limits.kept), (Verdict::Fail, false));
}

fn saved(path: &std::path::Path) -> BenchResult {
    saved::read(path).expect("a result").into_bench().expect("of a bench")
}

#[test]
fn wrong_input_is_refused_with_status_2_and_without_a_result() {
    let folder = tempfile::tempdir().expect("a folder");
    let wrong = changed(&folder, "idle = \"650 crank rpm\"", "idle = \"650 rpm\"");
    for (sheet, arguments, says) in [
        (folder.path().join("none.toml"), [].as_slice(), "none.toml"),
        (folder.path().to_owned(), &[], "folder"),
        (wrong, &[], "sheet.toml:"),
        (demo(), &["--simulate", "lag=150 ms"], "lag=150 us"),
        (demo(), &["--simulate", "lag=1 us", "--serial", "/dev/none"], "cannot be used with"),
        (demo(), &["--seed", "one"], "--seed"),
        (demo(), &["--serial", "/dev/none"], "--acknowledge-cautions"),
        (demo(), &["--sreial", "/dev/none"], "--serial"),
    ] {
        let ran = ran(bench(&sheet, arguments));
        assert_eq!((ran.exit, ran.out.as_str()), (Some(2), ""), "{sheet:?} {arguments:?}: {ran:?}");
        assert!(unwrapped(&ran.err).contains(says), "{says}: {}", ran.err);
        assert!(!ran.err.contains("panicked"), "{}", ran.err);
    }
}

#[test]
fn json_on_standard_output_is_alone_there() {
    let ran = ran(bench(&demo(), &["--simulate", "lag=150 us", "--json", "-"]));
    assert_eq!(ran.exit, Some(1));
    let value: serde_json::Value = serde_json::from_str(&ran.out).expect("JSON and nothing else");
    assert_eq!(value["schema"], "bobweight-result/2");
    let result = saved::parse("-", &ran.out).expect("a result").into_bench().expect("of a bench");
    assert_eq!((result.verdict, result.test_points.len()), (Verdict::Fail, 78));
    assert!(result.findings.iter().any(|finding| finding.kind == FindingKind::Lag));
    // The table and the verdict for people went the other way.
    assert!(ran.err.contains("crank rpm") && ran.err.contains("verdict: FAIL"), "{}", ran.err);
}

#[test]
fn a_file_holds_the_same_result_as_standard_output() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("result.json");
    let file = ran(bench(&demo(), &["--json", &path.display().to_string()]));
    let stream = ran(bench(&demo(), &["--json", "-"]));
    assert_eq!((file.exit, stream.exit), (Some(0), Some(0)));
    assert_eq!(std::fs::read_to_string(&path).expect("a saved result"), stream.out);
    assert_eq!(file.out, stream.err);
    // Nothing half written stays beside it.
    assert_eq!(std::fs::read_dir(folder.path()).expect("a folder").count(), 1);
}

#[test]
fn a_result_that_cannot_be_written_is_status_4() {
    // Before anything is driven, where that can be known.
    let nowhere = ran(bench(&demo(), &["--json", "/bobweight-none/result.json"]));
    assert_eq!((nowhere.exit, nowhere.out.as_str()), (Some(4), ""), "{nowhere:?}");
    assert!(nowhere.err.contains("/bobweight-none/result.json") && nowhere.err.contains("--json"), "{}", nowhere.err);
    let device = ran(bench(&demo(), &["--json", "/dev/full"]));
    assert_eq!((device.exit, device.out.as_str()), (Some(2), ""), "{device:?}");
    assert!(device.err.contains("/dev/full: this is no plain file"), "{}", device.err);
    let mut command = bench(&demo(), &[]);
    command.stdout(File::options().write(true).open("/dev/full").expect("a full device"));
    let full = ran_as_set(command);
    assert_eq!(full.exit, Some(4), "{full:?}");
    assert!(full.err.contains("standard output: the result cannot be written"), "{}", full.err);
}

/// As [`ran`], with the standard output left as it was set.
fn ran_as_set(mut command: std::process::Command) -> tool::Ran {
    let child = command.stderr(Stdio::piped()).spawn().expect("the binary runs");
    child.wait_with_output().expect("it ends").into()
}

#[test]
fn a_pipe_gets_no_escape_sequences() {
    let ran = ran(bench(&demo(), &["--simulate", "lag=150 us"]));
    assert!(!ran.out.contains('\u{1b}') && !ran.err.contains('\u{1b}'), "{ran:?}");
    let wrong = tool::ran(bench(&demo(), &["--simulate", "lag=1"]));
    assert!(!wrong.err.contains('\u{1b}'), "{wrong:?}");
}

/// Source of the rule: the convention of `NO_COLOR`, present and not empty (from memory).
#[test]
fn a_terminal_gets_a_coloured_verdict_unless_colours_are_unwanted() {
    let on_a_terminal = |no_color: &str| {
        let (mut near, far) = terminal::pair();
        let mut command = bench(&demo(), &[]);
        command.env("TERM", "xterm").env("NO_COLOR", no_color).stdout(far).stderr(Stdio::null());
        let mut child = command.spawn().expect("the binary runs");
        // The last copy of the far end is the child's now.
        drop(command);
        let mut text = Vec::new();
        loop {
            match near.read_to_end(&mut text) {
                Err(error) if error.kind() == ErrorKind::WouldBlock => {
                    terminal::wait(&near, &String::from_utf8_lossy(&text));
                }
                // The far end is closed.
                Ok(_) | Err(_) => break,
            }
        }
        assert_eq!(child.wait().expect("it ends").code(), Some(0));
        String::from_utf8(text).expect("only text is written")
    };
    let (coloured, plain) = (on_a_terminal(""), on_a_terminal("1"));
    assert!(coloured.contains("verdict: \u{1b}["), "{coloured}");
    assert!(plain.contains("verdict: pass") && !plain.contains('\u{1b}'), "{plain}");
}
