use super::*;
use crate::cli::tests::{Ran, on_buffers};
use crate::cli::{Cli, run as run_cli};
use crate::sheet::tests::demo_text;
use clap::Parser;
use std::path::Path;

fn light(folder: &Path, answers: Option<&str>, more: &[&str]) -> Ran {
    light_of(demo_text(), folder, answers, more)
}

fn light_of(text: &str, folder: &Path, answers: Option<&str>, more: &[&str]) -> Ran {
    let sheet = folder.join("engine.toml");
    std::fs::write(&sheet, text).expect("a sheet");
    let sheet = sheet.display().to_string();
    let arguments = ["bobweight", "light", &sheet].into_iter().chain(more.iter().copied());
    let cli = Cli::try_parse_from(arguments).unwrap_or_else(|error| panic!("{error}"));
    on_buffers(answers, |terminal| run_cli(&cli, terminal))
}

#[test]
fn readings_are_asked_for_kept_and_gone_on_with() {
    let folder = tempfile::tempdir().expect("a folder");
    // A wrong answer, a bare one, a distributor's, and the end of the input.
    let first =
        light(folder.path(), Some("yes\nyes\nabout 650\n650\n8\n325 distributor rpm\n4 distributor degrees\n"), &[]);
    assert_eq!(first.exit, Exit::Interrupted, "{}", first.err);
    assert!(first.err.contains("does not begin with a number"), "{}", first.err);
    let kept = std::fs::read_to_string(folder.path().join("engine.light.csv")).expect("kept");
    assert!(kept.ends_with("off,rising,650,8,\noff,steady,650,8,\n"), "{kept}");
    let rest = "yes\nno\n650\n8\n1300\n14\n2500\n24\n3800\n28\n3800\n28\n3800\n28\n3800\n28\n2000\n44\n31.5\n2000\n44\n31\ndone\n";
    let second = light(folder.path(), Some(rest), &["--light-lag", "0 us"]);
    assert_eq!(second.exit, Exit::Pass, "{}{}", second.out, second.err);
    assert!(second.err.contains("2 readings are there already"), "{}", second.err);
    assert!(second.out.contains("verdict: pass") && second.out.contains("hot restart"), "{}", second.out);
}

#[test]
fn a_result_goes_to_a_file_of_its_own_and_never_over_the_readings() {
    let folder = tempfile::tempdir().expect("a folder");
    let at = |name: &str| folder.path().join(name).display().to_string();
    let (readings, result) = (at("kept.csv"), at("light.json"));
    // Neither is there yet.
    let same = light(folder.path(), Some("yes\n"), &["--readings", &readings, "--json", &readings]);
    assert_eq!(same.exit, Exit::WrongInput, "{}", same.err);
    assert!(same.err.contains("is read by this command"), "{}", same.err);
    let rows = "off,rising,650,8,\noff,rising,1300,14,\noff,rising,2500,24,\noff,rising,3800,28,\n";
    std::fs::write(&readings, format!("hose,speed_was,crank_rpm,crank_degrees,vacuum_kPa\n{rows}")).expect("a file");
    let other = light(folder.path(), None, &["--acknowledge-cautions", "--readings", &readings, "--json", &result]);
    assert!(!other.err.contains("not written over"), "{}", other.err);
    assert!(std::fs::read_to_string(result).is_ok_and(|text| text.contains("bobweight-light/1")), "{}", other.err);
}

#[test]
fn a_script_gives_a_file_and_acknowledges_the_cautions() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("light.csv");
    let rows = "hose,speed_was,crank_rpm,crank_degrees\noff,steady,650,11\noff,steady,650,11\noff,steady,3800,31\n";
    std::fs::write(&file, format!("# light = dial\n# zero = true\n{rows}")).expect("a file");
    let file = file.display().to_string();
    let asked = light(folder.path(), None, &["--readings", &file]);
    assert_eq!(asked.exit, Exit::WrongInput);
    assert!(asked.err.contains("fan and the belts") && asked.err.contains("acknowledge"), "{}", asked.err);
    let acknowledged = ["--readings", &file, "--acknowledge-cautions"];
    let judged = light(folder.path(), None, &acknowledged);
    assert_eq!(judged.exit, Exit::Fail, "{}", judged.out);
    assert!(judged.said().contains("about 4 more readings with the hose off would settle it"), "{}", judged.out);
    let other = light(folder.path(), None, &["--readings", &file, "--acknowledge-cautions", "--light", "plain"]);
    assert_eq!(other.exit, Exit::WrongInput);
    let missing = light(folder.path(), None, &["--acknowledge-cautions"]);
    assert!(missing.err.contains("there is no such file"), "{}", missing.err);
}

#[test]
fn readings_of_before_a_change_are_put_aside() {
    let folder = tempfile::tempdir().expect("a folder");
    let first = light(folder.path(), Some("yes\nyes\n650\n8\n"), &[]);
    assert_eq!(first.exit, Exit::Interrupted, "{}", first.err);
    let second = light(folder.path(), Some("yes\nperhaps\nyes\n650\n9\n"), &[]);
    assert!(second.err.contains("answer yes or no") && second.err.contains("reading anew"), "{}", second.err);
    let text = |name: &str| std::fs::read_to_string(folder.path().join(name)).expect("kept");
    assert!(text("engine.light.1.csv").ends_with("off,rising,650,8,\n"));
    assert!(text("engine.light.csv").ends_with("off,rising,650,9,\n") && !text("engine.light.csv").contains("650,8,"));
}

#[test]
fn readings_that_disagree_turn_nothing() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("light.csv");
    // One of them is a slip of ten times.
    let rows = "hose,speed_was,crank_rpm,crank_degrees\noff,steady,650,80\noff,steady,650,8\noff,steady,1300,14\noff,steady,3800,28\n";
    std::fs::write(&file, rows).expect("a file");
    let file = file.display().to_string();
    let judged = light(folder.path(), None, &["--readings", &file, "--acknowledge-cautions"]);
    let said = judged.said();
    assert!(!said.contains("turn the pickup") && !said.contains("set `angle`"), "{}", judged.out);
}

#[test]
fn a_second_flank_beyond_the_cranking_limit_is_not_offered() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("light.csv");
    // Six crank degrees early everywhere: the second flank at 8 would stand at 14, and 10 is the limit.
    let rows =
        ["off,steady,650,14\n".repeat(8), "off,steady,1300,20\n".to_owned(), "off,steady,3800,34\n".repeat(6)].concat();
    std::fs::write(&file, format!("# light_lag = 0 us\n# zero = true\nhose,speed_was,crank_rpm,crank_degrees\n{rows}"))
        .expect("a file");
    let file = file.display().to_string();
    let judged = light(folder.path(), None, &["--readings", &file, "--acknowledge-cautions"]);
    let said = judged.said();
    assert!(said.contains("turn the pickup 3.0 distributor degrees with rotation"), "{}", judged.out);
    assert!(!said.contains("set `angle`"), "{}", judged.out);
}

#[test]
fn readings_of_the_old_distributor_prove_nothing() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("old.csv");
    let rows =
        "# survey of an old distributor, on the engine\nhose,speed_was,crank_rpm,crank_degrees\noff,steady,650,8\n";
    std::fs::write(&file, rows).expect("a file");
    let file = file.display().to_string();
    let refused = light(folder.path(), None, &["--readings", &file, "--acknowledge-cautions"]);
    assert_eq!(refused.exit, Exit::WrongInput);
    assert!(refused.told().contains("old.csv, line 1: these are readings of the old distributor"), "{}", refused.err);
}

/// What somebody would answer to every question that an ignition 14 crank degrees early ever got.
const FOURTEEN_EARLY: &str = "650\n20\n650\n20\n650\n20\n650\n20\n650\n20\n650\n20\n650\n20\n650\n20\n650\n20\n650\n20\n650\n20\n650\n20\n1300\n26\n2500\n36\n3800\n40\n3800\n40\n3800\n40\n3800\n40\n2000\n44\n45\n";

#[test]
fn readings_that_are_too_far_off_are_led_no_higher() {
    let folder = tempfile::tempdir().expect("a folder");
    let six = demo_text().replacen("initial = \"8", "initial = \"6", 1);
    let ran = light_of(&six, folder.path(), Some(&format!("yes\nyes\n{FOURTEEN_EARLY}")), &[]);
    assert_eq!(ran.exit, Exit::Fail, "{}{}", ran.out, ran.err);
    for higher in ["1 300 crank rpm", "2 500 crank rpm", "3 800 crank rpm", "Hand pump"] {
        assert!(!ran.err.contains(higher), "asked for: {higher}\n{}", ran.err);
    }
    let said = ran.out.split_whitespace().collect::<Vec<_>>().join(" ");
    // Arithmetic: 20 less 6 are 14 at the crank. By idling alone a lag of up to 150 us of the ignition and up to 200 of the light is not
    // told from it: half of both shows 0.7 late at 650 crank rpm. Half of 14.7 is at the distributor.
    for part in [
        "Stop: 14.0 crank degrees early at 650 crank rpm, hose off, where 2.0 are allowed. Go no higher",
        "turn the pickup 7.3 distributor degrees with rotation (the rotor turns anticlockwise",
        "Do not drive",
    ] {
        assert!(said.contains(part), "{part}: {said}");
    }
    let kept = std::fs::read_to_string(folder.path().join("engine.light.csv")).expect("kept");
    // Idling on tells what to turn, which a few readings do not.
    let idling = kept.lines().filter(|line| line.starts_with("off,") && line.ends_with(",650,20,")).count();
    assert!(
        (3..=12).contains(&idling) && idling == kept.lines().filter(|line| line.starts_with("off,")).count(),
        "{kept}"
    );
    // The same command, nothing changed: it is not led on either.
    let again = light_of(&six, folder.path(), Some(&format!("yes\nno\n{FOURTEEN_EARLY}")), &[]);
    assert!(again.exit == Exit::Fail && again.out.contains("Go no higher"), "{}{}", again.out, again.err);
}

#[test]
fn a_mark_that_was_never_held_against_top_dead_centre_turns_nothing() {
    let folder = tempfile::tempdir().expect("a folder");
    let ran = light(folder.path(), Some(&format!("yes\nno\n{FOURTEEN_EARLY}")), &[]);
    let said = ran.out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(ran.exit == Exit::Fail && said.contains("never held against true top dead centre"), "{said}");
    assert!(!said.contains("turn the pickup") && !said.contains("set `angle`"), "{said}");
    let kept = std::fs::read_to_string(folder.path().join("engine.light.csv")).expect("kept");
    assert!(kept.contains("# zero = never held\n"), "{kept}");
}

#[test]
fn a_limit_that_the_error_seen_would_break_is_not_led_to() {
    let folder = tempfile::tempdir().expect("a folder");
    // 1.8 early are within the light's tolerance of 2, and 28 and 1.8 beyond the 29 of full throttle.
    let tight = demo_text().replacen("vacuum = \"30", "vacuum = \"29", 1);
    let (idle, ramps) = ("650\n9.8\n", "1300\n15.8\n2500\n25.8\n");
    let answers = format!("yes\nyes\n{}{ramps}{}", idle.repeat(3), idle.repeat(9));
    let ran = light_of(&tight, folder.path(), Some(&answers), &[]);
    assert_eq!(ran.exit, Exit::Fail, "{}{}", ran.out, ran.err);
    assert!(!ran.err.contains("about 3 800 crank rpm"), "{}", ran.err);
    let said = ran.out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(said.contains("the spark would come at 29.8 crank degrees BTDC"), "{said}");
    assert!(said.contains("the greatest without vacuum is 29.0. Go no higher"), "{said}");
    // Half of the lags that idling alone does not tell from an offset, 0.7, on top.
    assert!(said.contains("turn the pickup 1.2 distributor degrees with rotation"), "{said}");
}

#[test]
fn a_sheet_that_breaks_its_limits_is_not_led_to_a_reading() {
    let folder = tempfile::tempdir().expect("a folder");
    let broken = demo_text().replacen("greatest = \"42", "greatest = \"37", 1);
    let ran = light_of(&broken, folder.path(), Some("yes\nyes\n650\n8\n"), &[]);
    let said = ran.err.split_whitespace().filter(|word| *word != "│").collect::<Vec<_>>().join(" ");
    assert!(ran.exit == Exit::Fail && said.contains("no reading is asked for"), "{:?} {said}", ran.exit);
    assert!(!ran.err.contains("about 650 crank rpm"), "{}", ran.err);
}
