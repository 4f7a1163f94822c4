use crate::cli::tests::{Ran, bobweight, on_buffers};
use crate::cli::{Cli, Exit, command, run};
use crate::sheet::tests::demo_text;
use clap::FromArgMatches;
use std::path::{Path, PathBuf};

fn folder_with_sheet() -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().expect("a folder");
    let sheet = folder.path().join("engine.toml");
    std::fs::write(&sheet, demo_text()).expect("a sheet");
    (folder, sheet)
}

/// Runs the command with somebody who answers.
fn answered(sheet: &Path, answers: &str, more: &[&str]) -> Ran {
    let sheet = sheet.display().to_string();
    let words = [&["bobweight", "trials", &sheet, "--acknowledge-cautions"][..], more].concat();
    let matches = command().try_get_matches_from(words).expect("a command line");
    let cli = Cli::from_arg_matches(&matches).expect("a command line");
    on_buffers(Some(answers), |terminal| run(&cli, terminal))
}

const FACTS: &str = "yes\nfull throttle\n2000\ntorque\near\n";

fn kept(sheet: &Path) -> Vec<String> {
    let text = std::fs::read_to_string(sheet.with_extension("trials.csv")).expect("a log");
    text.lines().filter(|line| !line.starts_with('#')).skip(1).map(str::to_owned).collect()
}

#[test]
fn each_trial_is_kept_at_once_and_the_same_command_goes_on_from_there() {
    let (_folder, sheet) = folder_with_sheet();
    let ran = answered(&sheet, &format!("{FACTS}\n150.5\nno\nwarm, dry\n18.5\n151\nno\n\n\n"), &[]);
    assert_eq!(ran.exit, Exit::Interrupted, "{}", ran.err);
    assert_eq!(kept(&sheet), ["1,17.5,150.5,no,\"warm, dry\"", "1,18.5,151,no,\"warm, dry\""]);
    assert!(ran.told().contains("Begin with 17.5 crank degrees at full throttle at 2 000 crank rpm"), "{}", ran.err);
    assert!(ran.told().contains("Up to 18.5 crank degrees"), "{}", ran.err);
    // Half a trial, the timing alone, is none.
    assert!(ran.told().contains("the same command goes on from here"), "{}", ran.err);
    let ran = answered(&sheet, "yes\n\n152\nno\n\ndone\n", &[]);
    assert!(!ran.told().contains("Where on the curve?"), "{}", ran.err);
    assert_eq!(kept(&sheet)[2], "1,19.5,152,no,\"warm, dry\"");
    assert_eq!(ran.exit, Exit::Fail, "three trials settle nothing: {}", ran.out);
    assert!(
        ran.said().contains("These are too few trials") && ran.said().contains("try 20.5 crank degrees"),
        "{}",
        ran.out
    );
}

/// The measure is what a trial cost: it is kept whatever comes after it, and is no quiet trial where nobody says so.
#[test]
fn a_measure_that_was_typed_is_never_lost() {
    let (_folder, sheet) = folder_with_sheet();
    let ran = answered(&sheet, &format!("{FACTS}\n150.5\n"), &[]);
    assert_eq!((ran.exit, kept(&sheet)), (Exit::Interrupted, vec!["1,17.5,150.5,could not tell,".to_owned()]));
    let ran = answered(&sheet, "yes\n\n151\nno\n", &[]);
    assert_eq!((ran.exit, &kept(&sheet)[1]), (Exit::Interrupted, &"1,17.5,151,no,".to_owned()));
}

#[test]
fn nobody_types_while_driving() {
    let (_folder, sheet) = folder_with_sheet();
    let ran = answered(&sheet, "no\nnot now\nstop\n", &[]);
    assert_eq!(ran.exit, Exit::Interrupted);
    assert!(ran.told().contains("stop first, engine off, or let a helper do it"), "{}", ran.err);
    assert!(!sheet.with_extension("trials.csv").exists());
}

#[test]
fn a_timing_too_early_is_asked_about_and_kept_only_where_it_was_tried() {
    let (_folder, sheet) = folder_with_sheet();
    let ran = answered(&sheet, &format!("{FACTS}32\nno\n20\nno\n17.5\n150\nno\n\n20\nyes\n151\nno\n\nstop\n"), &[]);
    let told = ran.told();
    assert!(told.contains("32.0 is beyond the sheet's limit of 30.0: never set that. Set it back to 17.5."), "{told}");
    assert!(told.contains("20.0 is further than a step of 1 crank degree"), "{told}");
    assert_eq!(kept(&sheet), ["1,17.5,150,no,", "1,20,151,no,"]);
}

#[test]
fn pinking_ends_the_series_and_again_begins_another_that_stays_away_from_it() {
    let (_folder, sheet) = folder_with_sheet();
    let ran = answered(&sheet, &format!("{FACTS}\n150\nno\n\n\n151\nno\n\n\n152\nyes\n\n"), &[]);
    assert_eq!(ran.exit, Exit::Fail, "{}", ran.err);
    assert!(ran.told().contains("It pinked at 19.5: the series has ended."), "{}", ran.err);
    assert!(ran.told().contains("set it back to 17.5 crank degrees or later"), "{}", ran.err);
    assert!(ran.said().contains("set nothing earlier than 17.5"), "{}", ran.out);
    // Without a word the series stays ended.
    let ran = answered(&sheet, "yes\n", &[]);
    assert!(ran.exit == Exit::Fail && kept(&sheet).len() == 3, "{}", ran.err);
    let ran = answered(&sheet, "yes\n\n150\nno\n\n18.5\nno\nstop\n", &["--again"]);
    assert!(ran.told().contains("It pinked at 19.5: 18.5 is too near to that."), "{}", ran.err);
    assert_eq!(kept(&sheet)[3], "2,13.5,150,no,");
}

#[test]
fn where_an_ear_hears_nothing_it_says_so_before_the_first_trial() {
    let (_folder, sheet) = folder_with_sheet();
    let ran = answered(&sheet, "yes\nfull throttle\n3500\ntime\near\nstop\n", &[]);
    assert!(
        ran.told().contains("Here an engine pinks unheard. Use a dynamometer with knock detection."),
        "{}",
        ran.err
    );
    assert!(ran.told().contains("Silence proves nothing at this speed and full load"), "{}", ran.err);
}

#[test]
fn a_script_gives_a_file_and_is_told_what_it_comes_to() {
    let (folder, sheet) = folder_with_sheet();
    let trials = folder.path().join("trials.csv");
    std::fs::write(&trials, include_str!("../../../demo/fire-float-trials.csv")).expect("trials");
    let [sheet, trials] = [&sheet, &trials].map(|path| path.display().to_string());
    let ran = bobweight(folder.path(), &["trials", &sheet, "--trials", &trials, "--acknowledge-cautions"]);
    assert_eq!(ran.exit, Exit::Pass, "{}{}", ran.out, ran.err);
    assert!(ran.told().contains("Nobody reads, writes or types while driving"), "{}", ran.err);
    assert!(
        ran.said().contains("The best timing here is") && ran.said().contains("no trial proves a timing safe"),
        "{}",
        ran.out
    );
    assert!(!ran.said().contains("is safe"), "{}", ran.out);
    let ran = bobweight(folder.path(), &["trials", &sheet, "--trials", &trials]);
    assert_eq!(ran.exit, Exit::WrongInput, "{}", ran.err);
    let ran = bobweight(folder.path(), &["trials", &sheet, "--acknowledge-cautions"]);
    assert!(ran.exit == Exit::WrongInput && ran.told().contains("there is no such file"), "{}", ran.err);
}

#[test]
fn a_curve_that_breaks_its_limits_is_not_tried() {
    let (_folder, sheet) = folder_with_sheet();
    std::fs::write(&sheet, demo_text().replacen("greatest = \"42", "greatest = \"37", 1)).expect("a sheet");
    let ran = answered(&sheet, "", &[]);
    assert!(ran.exit == Exit::Fail && ran.told().contains("no trial is asked for"), "{}", ran.err);
}

#[test]
fn a_log_without_series_takes_no_second_one() {
    let (folder, sheet) = folder_with_sheet();
    let trials = folder.path().join("own.csv");
    let text = "# place = full throttle\n# speed = 2000 crank rpm\n# listening = ear\ncrank_degrees,time_s,pinking\n18,12.5,no\n";
    std::fs::write(&trials, text).expect("trials");
    let own = trials.display().to_string();
    let ran = answered(&sheet, "yes\n", &["--trials", &own, "--again"]);
    assert!(ran.exit == Exit::WrongInput && ran.told().contains("no column `series`"), "{}", ran.err);
    let ran = answered(&sheet, "yes\n\n12.25\nno\n\nstop\n", &["--trials", &own]);
    assert_eq!(ran.exit, Exit::Interrupted, "{}", ran.err);
    assert_eq!(std::fs::read_to_string(&trials).expect("a log"), format!("{text}19,12.25,no\n"), "only added to");
}
