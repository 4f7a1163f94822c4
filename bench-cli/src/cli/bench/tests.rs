use super::*;
use crate::cli::exit::Exit;
use crate::cli::tests::on_buffers;
use crate::result::digest;
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
            "greatest advance: BROKEN by 1 crank degrees (38, and 37 is allowed, at 3300 crank rpm with full vacuum)"
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
