use super::*;
use crate::cli::tests::{Ran, bobweight_on};
use crate::sheet::{parse, tests::demo_text};
use crate::words::wrap::WIDTH;

fn begin_on(columns: usize, folder: &Path, answers: &str) -> Ran {
    let place = folder.join("engine").display().to_string();
    bobweight_on(columns, Some(answers), folder, &["begin", &place])
}

fn begin(folder: &Path, answers: &[&str]) -> Ran {
    let ended = |answers: &[&str]| if answers.is_empty() { String::new() } else { answers.join("\n") + "\n" };
    begin_on(WIDTH, folder, &ended(answers))
}

fn kept(folder: &Path) -> String {
    std::fs::read_to_string(folder.join("engine/engine.toml")).expect("a sheet")
}

fn kept_sheet(folder: &Path) -> Sheet {
    parse("engine.toml", &kept(folder)).expect("a sheet that can be read")
}

/// As somebody has them who knows three numbers, and little else.
const THREE: [&str; 15] = [
    "1",
    "yes",
    "14",
    "22 crank degrees by 3000 crank rpm",
    "12 crank degrees",
    "manifold",
    "8",
    "12 V negative earth",
    "700",
    "5000",
    "52",
    "38",
    "15",
    "0",
    "assume",
];

#[test]
fn three_numbers_come_to_a_simulated_pass_that_says_what_it_rests_on() {
    let folder = tempfile::tempdir().expect("a folder");
    let ran = begin(folder.path(), &THREE);
    assert_eq!(ran.exit, Exit::Pass, "{}\n{}", ran.out, ran.err);
    assert!(ran.out.contains("verdict: pass (simulated, 28 assumptions)"), "{}", ran.out);
    // Pencil sums: 14 + 22, and 12 of vacuum (common practice, no source).
    assert!(ran.out.contains("3 000        36.0            48.0"), "{}", ran.out);
    assert!(ran.said().contains("28 assumptions stand, and as many questions are open"), "{}", ran.out);
    let sheet = kept_sheet(folder.path());
    assert_eq!(sheet.assumptions().len(), 28);
    assert!(sheet.assumptions().iter().all(|key| !key.starts_with("limits.") && !key.starts_with("advance.initial")));
    let saved = std::fs::read_to_string(folder.path().join("engine/simulated.json")).expect("a result");
    assert!(saved.contains("\"assumptions\": [") && saved.contains("\"coil.dwell\""), "{saved}");
    insta::assert_snapshot!("three_numbers_80", format!("{}\n=== on standard output\n{}", ran.err, ran.out));
    let narrow = tempfile::tempdir().expect("a folder");
    let ran = begin_on(60, narrow.path(), &THREE.join("\n"));
    let long: Vec<&str> = ran.err.lines().chain(ran.out.lines()).filter(|line| line.chars().count() > 60).collect();
    // A prompt and what follows its answer stand in one line here, for nobody's return key is shown.
    let long: Vec<&&str> = long.iter().filter(|line| !line.contains("kept: ")).collect();
    assert!(long.is_empty(), "{long:#?}");
    insta::assert_snapshot!("three_numbers_60", format!("{}\n=== on standard output\n{}", ran.err, ran.out));
}

#[test]
fn what_is_assumed_is_given_to_no_ignition_and_degrees_say_it() {
    let folder = tempfile::tempdir().expect("a folder");
    begin(folder.path(), &THREE);
    let sheet = folder.path().join("engine/engine.toml").display().to_string();
    for refused in [
        &["write", &sheet, "--serial", "/dev/none", "--acknowledge-cautions"][..],
        &["export", &sheet, "--as", "image"],
        &["export", &sheet, "--as", "intel-hex"],
        &["export", &sheet, "--as", "rust"],
        &["export", &sheet, "--as", "c"],
        &["bench", &sheet, "--serial", "/dev/none", "--acknowledge-cautions"],
    ] {
        let ran = bobweight_on(WIDTH, None, folder.path(), refused);
        // An image has a sensor in it, which nobody asked for so far.
        let held = ran.told().contains("only assumed and that an ignition lives by")
            && ran.told().contains("`pickup.angle`: True top dead centre by a stop first")
            && ran.told().contains("`coil.burn_time`: ");
        let missing = ran.told().contains("missing");
        assert_eq!(
            (ran.exit, held || missing, ran.out.as_str()),
            (Exit::WrongInput, true, ""),
            "{refused:?}: {}",
            ran.err
        );
    }
    let csv = bobweight_on(
        WIDTH,
        None,
        folder.path(),
        &["export", &sheet, "--as", "csv", "--speeds", "1000..3000 crank rpm by 1000"],
    );
    assert_eq!(csv.exit, Exit::Pass, "{}", csv.err);
    assert!(csv.out.contains("# Assumed, and known to nobody so far: centrifugal.breakpoints"), "{}", csv.out);
    assert!(csv.out.contains("3000,36.000,48.000"), "{}", csv.out);
}

#[test]
fn an_answer_takes_a_key_from_the_list_and_the_next_sitting_asks_for_the_rest() {
    let folder = tempfile::tempdir().expect("a folder");
    begin(folder.path(), &THREE);
    let ran = begin(folder.path(), &["22 crank degrees, 900..3000 crank rpm", "don't know", "", "back", "40", "stop"]);
    assert_eq!(ran.exit, Exit::Interrupted, "{}", ran.err);
    let sheet = kept_sheet(folder.path());
    assert!(!sheet.assumptions().iter().any(|key| key == "centrifugal.breakpoints"), "{:?}", sheet.assumptions());
    assert!(sheet.assumptions().iter().any(|key| key == "vacuum.breakpoints"));
    assert!(kept(folder.path()).contains("breakpoints = [[900, 0], [3000, 22]]"));
    assert!(ran.err.contains("assumed so far: "), "{}", ran.err);
    assert!(ran.err.contains("the same command goes on from here"), "{}", ran.err);
}

#[test]
fn a_slip_is_asked_back_a_limit_is_never_assumed_and_back_asks_again() {
    let folder = tempfile::tempdir().expect("a folder");
    let answers = [
        "1",
        "yes",
        "85",
        "8.5",
        "back",
        "9",
        "22 crank degrees, 900..3000 crank rpm",
        "none",
        "4",
        "12 V negative earth",
        "65",
        "650",
        "4600",
        "don't know",
        "dont know",
        "?",
        "42",
    ];
    let ran = begin(folder.path(), &answers);
    assert_eq!(ran.exit, Exit::Interrupted, "{}", ran.err);
    let said = ran.err.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(said.contains("85 crank degrees: 8.5 crank degrees? That is far from what is usual"), "{said}");
    assert!(said.contains("65 crank rpm: 650 crank rpm?"), "{said}");
    assert_eq!(said.matches("a limit is never assumed").count(), 3, "{said}");
    let sheet = kept_sheet(folder.path());
    assert_eq!(sheet.advance.initial_crank_degrees.value(), Some(&9.0));
    assert_eq!(sheet.engine.idle_crank_rpm.value(), Some(&650.0));
    assert_eq!(sheet.limits.of(bobweight::Limit::Greatest).value(), Some(&42.0));
    assert_eq!(sheet.assumptions(), [""; 0]);
    assert!(said.contains("(3 open)"), "it says how many are left: {said}");
}

#[test]
fn a_book_is_kept_as_the_book_and_chosen() {
    let folder = tempfile::tempdir().expect("a folder");
    let ran = begin(
        folder.path(),
        &["2", "yes", "8", "0 at 450, 6 at 850, 10 at 1650, distributor", "0 at 5, 10 at 12, inHg depression, crank"],
    );
    assert_eq!(ran.exit, Exit::Interrupted);
    let sheet = kept_sheet(folder.path());
    let chosen = sheet.centrifugal.breakpoints.value().expect("a curve");
    // Distributor degrees and rpm count twice (U.S. Army TM 10-3930-644-14&P).
    assert_eq!((chosen[1].crank_rpm, chosen[1].crank_degrees), (1700.0, 12.0));
    let book = sheet.specified.as_ref().expect("the book's curve");
    assert_eq!(book.centrifugal.value(), Some(chosen));
    assert_eq!(book.initial_crank_degrees.value(), Some(&8.0));
    assert_eq!(book.vacuum.value(), sheet.vacuum.breakpoints.value());
    assert!(ran.out.contains("1 700        20.0"), "{}", ran.out);
}

#[test]
fn readings_are_fitted_and_the_rest_is_asked() {
    let folder = tempfile::tempdir().expect("a folder");
    let engine = folder.path().join("engine");
    std::fs::create_dir(&engine).expect("a folder");
    std::fs::copy(
        concat!(env!("CARGO_MANIFEST_DIR"), "/demo/fire-float-readings.csv"),
        engine.join("fire-float-readings.csv"),
    )
    .expect("readings");
    let ran = begin(folder.path(), &["3", "yes", "", "manifold"]);
    assert_eq!(ran.exit, Exit::Interrupted, "{}", ran.err);
    let sheet = kept_sheet(folder.path());
    assert!(sheet.found.is_some() && sheet.vacuum.breakpoints.value().is_some());
    assert_eq!(sheet.readings.value().map(String::as_str), Some("fire-float-readings.csv"));
    assert!(ran.out.contains("hose off") && ran.err.contains("How many cylinders has it?"), "{}", ran.err);
}

#[test]
fn a_whole_sheet_is_benched_and_two_sheets_are_refused() {
    let folder = tempfile::tempdir().expect("a folder");
    let engine = folder.path().join("engine");
    std::fs::create_dir(&engine).expect("a folder");
    std::fs::write(engine.join("mine.toml"), demo_text().replacen("readings = ", "# readings = ", 1)).expect("a sheet");
    let ran = begin(folder.path(), &[]);
    assert_eq!(ran.exit, Exit::Pass, "{}", ran.err);
    assert!(ran.out.contains("verdict: pass   78 of 78") && ran.said().contains("no question is open"), "{}", ran.out);
    let again = begin(folder.path(), &[]);
    assert!(again.said().contains("is of this sheet as it is: pass"), "{}", again.out);
    std::fs::write(engine.join("other.toml"), demo_text()).expect("a sheet");
    let ran = begin(folder.path(), &[]);
    assert_eq!(ran.exit, Exit::WrongInput);
    assert!(ran.told().contains("two sheets lie in one folder"), "{}", ran.err);
}

#[test]
fn the_old_distributor_alone_is_surveyed_and_goes_on_where_it_stopped() {
    let folder = tempfile::tempdir().expect("a folder");
    let ran = begin(folder.path(), &["4", "wherever", "engine", "yes", "31 B", "no"]);
    assert_eq!(ran.exit, Exit::Interrupted, "{}", ran.err);
    let readings = std::fs::read_to_string(folder.path().join("engine/readings.csv")).expect("what was answered");
    assert!(readings.contains("# answer: numbers = 31 B") && readings.contains("shaft_shake = no"), "{readings}");
    assert_eq!(ran.err.matches("Before you go on:").count(), 1, "cautions whole once: {}", ran.err);
    let again = begin(folder.path(), &["yes", "yes"]);
    assert!(
        !again.err.contains("where is it? (engine, drill)") && !again.err.contains("Whose distributor"),
        "{}",
        again.err
    );
    assert!(again.err.contains("does it move freely and return?"), "{}", again.err);
}

#[test]
fn an_engine_that_is_not_driven_gets_its_figures_and_is_told_so() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut answers = THREE;
    answers[7] = "6 V positive earth";
    let ran = begin(folder.path(), &answers);
    assert_eq!(ran.exit, Exit::Pass, "{}", ran.err);
    assert!(ran.said().contains("drive circuits are made for 12 V negative earth alone"), "{}", ran.out);
    assert!(ran.out.contains("3 000        36.0") && !ran.out.contains("verdict"), "{}", ran.out);
}
