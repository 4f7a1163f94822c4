use super::*;
use crate::cli::tests::{Ran, on_buffers};
use crate::cli::{Cli, run as run_cli};
use clap::Parser;

fn survey(folder: &Path, answers: &str, more: &[&str]) -> Ran {
    let out = folder.join("readings.csv").display().to_string();
    let arguments = ["bobweight", "survey", "--out", &out].into_iter().chain(more.iter().copied());
    let cli = Cli::try_parse_from(arguments).unwrap_or_else(|error| panic!("{error}"));
    on_buffers(Some(answers), |terminal| run_cli(&cli, terminal))
}

#[test]
fn a_letter_is_an_answer_and_an_unclear_one_is_asked_again() {
    let folder = tempfile::tempdir().expect("a folder");
    let ran = survey(folder.path(), "perhaps\n\nYes please\nY\nnone\nn\nY\nmaybe\ny\n", &[]);
    assert_eq!(ran.exit, Exit::Interrupted, "{}", ran.err);
    assert_eq!(ran.err.matches("Type yes to go on:").count(), 4, "{}", ran.err);
    let kept = std::fs::read_to_string(folder.path().join("readings.csv")).expect("kept");
    for answer in ["shaft_shake = no", "weights_return = yes", "plate_returns = yes"] {
        assert!(kept.contains(&format!("# answer: {answer}\n")), "{kept}");
    }
}

#[test]
fn a_clear_no_and_the_end_of_the_input_go_no_further() {
    let folder = tempfile::tempdir().expect("a folder");
    for answers in ["N\nyes\nnone\n", "", "perhaps\n"] {
        let ran = survey(folder.path(), answers, &[]);
        assert_eq!(ran.exit, Exit::WrongInput, "{answers:?}: {}", ran.err);
        assert!(ran.err.contains("not acknowledged") && !ran.err.contains("Whose distributor"), "{}", ran.err);
    }
}

#[test]
fn a_chuck_has_cautions_of_its_own() {
    let folder = tempfile::tempdir().expect("a folder");
    let ran = survey(folder.path(), "y\n", &["--off-engine"]);
    assert!(ran.err.contains("A chuck winds up what it catches"), "{}", ran.err);
    for engine in ["fan and the belts", "Exhaust gas", "starting handle", "Rev an engine", "ISO 8846"] {
        assert!(!ran.err.contains(engine), "{engine}: {}", ran.err);
    }
}
