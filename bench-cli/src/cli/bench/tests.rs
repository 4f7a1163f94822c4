use super::*;
use crate::cli::exit::Exit;
use crate::cli::tests::on_buffers;
use crate::files::digest::digest;
use crate::sheet::tests::demo_text;
use clap::Parser;

#[derive(Debug, Parser)]
struct Bench {
    #[command(flatten)]
    arguments: BenchArguments,
}

fn arguments(arguments: &[&str]) -> Result<BenchArguments, String> {
    Bench::try_parse_from(["bench", "sheet.toml"].iter().chain(arguments))
        .map(|bench| bench.arguments)
        .map_err(|error| error.to_string())
}

#[test]
fn a_simulated_run_asks_nothing() {
    let arguments = arguments(&["--simulate", "lag=150 us"]).expect("right arguments");
    assert!(
        arguments
            .simulate
            .as_ref()
            .is_some_and(|simulate| simulate.typed == "lag=150 us" && simulate.imperfections.lag_us > 0.0)
    );
    let ran = on_buffers(None, |terminal| arguments.acknowledge(terminal).map_or(Exit::WrongInput, |()| Exit::Pass));
    assert_eq!((ran.exit, ran.out.as_str(), ran.err.as_str()), (Exit::Pass, "", ""));
}

#[test]
fn hardware_is_driven_only_after_the_cautions() {
    let drive = |flags: &[&str], answers| {
        let arguments = arguments(flags).expect("right arguments");
        on_buffers(answers, |terminal| match arguments.acknowledge(terminal) {
            Ok(()) => Exit::Pass,
            Err(failure) => terminal.tell(&failure),
        })
    };
    let serial = ["--serial", "/dev/none"];
    for (flags, answers, wanted) in [
        (serial.as_slice(), None, Exit::WrongInput),
        (&serial, Some("yes\n"), Exit::Pass),
        (&serial, Some("no\n"), Exit::WrongInput),
        (&serial, Some(""), Exit::WrongInput),
        (&["--serial", "/dev/none", "--acknowledge-cautions"], None, Exit::Pass),
    ] {
        let ran = drive(flags, answers);
        assert_eq!(ran.exit, wanted, "{flags:?} {answers:?}");
        assert!(ran.out.is_empty() && ran.err.contains("stop a heart"), "{}", ran.err);
        assert_eq!(ran.err.contains("Type yes to go on"), answers.is_some(), "{}", ran.err);
        assert_eq!(ran.err.contains("--acknowledge-cautions"), wanted != Exit::Pass, "{}", ran.err);
        assert!(!ran.err.contains("fan"), "no engine runs on the bench");
    }
}

#[test]
fn wrong_arguments_are_named() {
    for (flags, says) in [
        (["--simulate", "lag=150 ms"].as_slice(), "write it as `lag=150 us`"),
        (&["--serial", "/dev/none", "--simulate", "lag=150 us"], "cannot be used with"),
        (&["--seed", "one"], "--seed"),
    ] {
        let error = arguments(flags).expect_err("wrong arguments");
        assert!(error.contains(says), "{flags:?}: {error}");
    }
}

#[test]
fn a_curve_that_breaks_its_limits_is_prepared_but_not_passed() {
    let demo = demo_text();
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("sheet.toml");
    let prepared = |text: &str| {
        std::fs::write(&path, text).expect("a sheet");
        Bench::parse_from(["bench", &path.display().to_string()]).arguments.prepare()
    };
    assert!(prepared(demo).expect("the demo").limits().kept);
    // The clamp would hold the total within the limit; the sum passes it all the same.
    let broken = demo.replacen("greatest = \"42", "greatest = \"37", 1);
    let limits = prepared(&broken).expect("a sheet").limits();
    assert!(!limits.kept);
    assert!(
        limits.statements[0].starts_with(
            "greatest advance: BROKEN by 1 crank degrees (38, and 37 is allowed, at 3 300 crank rpm with full vacuum)"
        ),
        "{limits:?}"
    );
    let unfinished = prepared(&demo.replacen("lag = ", "# lag = ", 1)).expect_err("a key is missing");
    assert_eq!(unfinished.exit, Exit::WrongInput);
}

#[test]
fn a_run_says_first_where_its_curve_comes_from() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("sheet.toml");
    let prepared = |text: &str| {
        std::fs::write(&path, text).expect("a sheet");
        let arguments = Bench::parse_from(["bench", &path.display().to_string()]).arguments;
        arguments.prepare().unwrap_or_else(|failure| panic!("{failure:?}"))
    };
    let demo = prepared(demo_text());
    assert_eq!(demo.curve_source().expect_err("the readings do not lie there").exit, Exit::WrongInput);
    let text = crate::cli::fit::tests::readings();
    std::fs::write(folder.path().join("fire-float-readings.csv"), &text).expect("readings");
    let source = demo.curve_source().unwrap_or_else(|failure| panic!("{failure:?}"));
    let said = source.statements.join("\n");
    assert!(
        said.contains("Initial timing") && said.contains("agrees with the readings within their uncertainty"),
        "{said}"
    );
    assert_eq!(source.readings_digest, Some(digest(text.as_bytes())));
    assert_eq!(demo.identity().unwrap_or_else(|failure| panic!("{failure:?}")).name, "pump engine of the fire float");
    let without = prepared(&demo_text().replacen("readings =", "# readings =", 1));
    let source = without.curve_source().unwrap_or_else(|failure| panic!("{failure:?}"));
    assert!(source.readings_file.is_none() && source.statements[0].contains("names no readings"), "{source:?}");
}

/// Source: FIPS 180-4, the digest of "abc" (from memory; Python's hashlib agrees).
#[test]
fn a_digest_is_that_of_the_standard() {
    assert_eq!(digest(b"abc"), "sha-256:ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
}

/// A bench of the demo in a folder, with its text changed: exit, text, result.
fn benched(changes: &[(&str, &str)], options: &[&str]) -> (Exit, String, crate::record::bench::BenchResult) {
    let folder = tempfile::tempdir().expect("a folder");
    let mut text = demo_text().replacen("readings = \"fire-float-readings.csv\"", "", 1);
    for (old, new) in changes {
        assert!(text.contains(old), "{old}");
        text = text.replacen(old, new, 1);
    }
    let sheet = folder.path().join("engine.toml");
    std::fs::write(&sheet, text).expect("a sheet");
    let (sheet, json) = (sheet.display().to_string(), folder.path().join("result.json"));
    let json_text = json.display().to_string();
    let ran = crate::cli::tests::bobweight(
        folder.path(),
        &[&["bench", &sheet, "--details", "--json", &json_text], options].concat(),
    );
    let record = crate::saved::read(&json).unwrap_or_else(|error| panic!("{error}\n{}", ran.err));
    let said = ran.out.split_whitespace().collect::<Vec<_>>().join(" ");
    (ran.exit, said, record.into_bench().expect("of a bench"))
}

/// The demo's line; a sheet of before has none.
const LEAST: &str = "least_energy = \"30 mJ\"";

#[test]
fn a_starved_coil_fails_at_every_speed_and_is_named() {
    let (exit, said, result) = benched(&[], &["--simulate", "dwell=1.5 ms"]);
    assert_eq!((exit, result.counts.failed), (Exit::Fail, 78), "{said}");
    // 13 V less 1 V through 1.2 ohm are 10 A at last; 1 - exp(-1.5 / 5) of them are 2.5918 A, and 6 mH hold 20.15 mJ then.
    for point in &result.test_points {
        let energy = point.dwell.and_then(|dwell| dwell.energy_mj).expect("it is worked out");
        assert!((energy - 20.15).abs() < 0.1, "{energy}");
    }
    assert!(
        said.contains("a starved coil: the shortest dwell of 1.50 ms leaves it 20.1 mJ at 13 V, worked out, at"),
        "{said}"
    );
    assert!(said.contains("where the sheet asks for 30 mJ, and too little at 77 other test points"), "{said}");
    assert!(said.contains("energy at least 20.1 mJ"), "{said}");
}

#[test]
fn a_sheet_without_a_least_energy_still_reads_and_a_starved_coil_fails_by_the_ordered_dwell() {
    let (exit, said, _) = benched(&[(LEAST, "")], &["--simulate", "dwell=1.5 ms"]);
    assert_eq!(exit, Exit::Fail, "{said}");
    assert!(
        said.contains(
            "too short a dwell: 1.50 ms in the mean at 650 crank rpm, where the sheet's own settings order 3.50 ms"
        ),
        "{said}"
    );
    let (exit, said, result) = benched(&[(LEAST, "")], &[]);
    assert_eq!((exit, result.counts.passed), (Exit::Pass, 78), "{said}");
    assert!(
        said.contains("energy at least 76.0 mJ, at") && said.contains("no least energy in the sheet: not judged"),
        "{said}"
    );
    let next = said.split_once("next:").expect("it is said").1;
    assert!(next.contains("write `least_energy` under `[coil]` of "), "{next}");
}

#[test]
fn a_weak_battery_leaves_too_little_at_speed_and_the_ordered_dwell_is_the_cores_own() {
    let (exit, said, result) = benched(&[(LEAST, "least_energy = \"45 mJ\"")], &["--battery", "8 V"]);
    assert_eq!(exit, Exit::Fail, "{said}");
    assert!(result.counts.passed > 20 && result.counts.failed > 10, "{:?}", result.counts);
    for point in &result.test_points {
        let dwell = point.dwell.expect("it is recorded");
        let ordered = dwell.ordered_ms.expect("it is known");
        assert!((dwell.mean_ms / ordered - 1.0).abs() < 0.01, "{} rpm: {dwell:?}", point.speed_crank_rpm);
    }
    assert!(!said.contains("too short a dwell"), "the box does what it is told: {said}");
    // At 8 V the coil gets its 9.7 ms at idle; at the top the largest duty leaves it less.
    let by_speed = said.split_once("by speed ").expect("it is told").1;
    assert!(by_speed.contains(" mJ at 650 ") && by_speed.contains(" mJ at 4 600 crank rpm"), "{by_speed}");
    assert!(said.contains("at 8 V, worked out, at 4 600 crank rpm, where the sheet asks for 45 mJ"), "{said}");
}

#[test]
fn a_least_energy_that_the_coil_never_holds_is_refused_with_its_line() {
    let sheet = |energy: &str| demo_text().replacen(LEAST, &format!("least_energy = \"{energy}\""), 1);
    assert!(sheet::parse("engine.toml", &sheet("75 mJ")).is_ok());
    let error = sheet::parse("engine.toml", &sheet("76 mJ")).expect_err("6 mH at 5 A hold 75 mJ");
    assert!(
        error.to_string().contains("`coil.least_energy` is 76 mJ, and this coil holds 75 mJ at its `current`"),
        "{error}"
    );
    for (energy, says) in [("30", "mJ"), ("30 J", "out of range"), ("0 mJ", "out of range"), ("30 kJ", "mJ")] {
        let error = sheet::parse("engine.toml", &sheet(energy)).expect_err("wrong");
        assert!(format!("{error:?}").contains(says), "{energy}: {error:?}");
    }
}
