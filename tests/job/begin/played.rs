//! `bobweight begin` on a pseudo-terminal: from three numbers to a simulated pass in a few answers, and nothing lost wherever it is interrupted.
//! The engine is invented; its sums are a pencil's (common practice, no source).
#![cfg(target_os = "linux")]

#[path = "../survey/sitting.rs"]
mod sitting;
#[path = "../bench/terminal.rs"]
mod terminal;

use sitting::{Interruption, Sitting};
use std::os::unix::process::ExitStatusExt;
use std::path::Path;

/// What somebody answers who knows three numbers, by what the question holds.
const ANSWERS: [(&str, &str); 15] = [
    ("What have you of the old ignition?", "1"),
    ("Type yes to go on", "yes"),
    ("What is the initial timing", "14"),
    ("Which advance does speed add?", "22 crank degrees by 3000 crank rpm"),
    ("Which advance does vacuum add?", "12 crank degrees"),
    ("Where is the vacuum taken", "manifold"),
    ("How many cylinders has it?", "8"),
    ("What is its supply", "12 V negative earth"),
    ("How fast does it idle?", "700"),
    ("How fast may it turn", "5000"),
    ("What is the greatest advance that the engine stands", "52"),
    ("What is the greatest at full throttle", "38"),
    ("What is the greatest while cranking", "15"),
    ("What is the least, running and held?", "0"),
    ("assume them and bench it", "assume"),
];
/// What is asked of the way from three numbers to a simulated pass.
const MOST_ANSWERS: usize = 15;
/// A slow typist's keys a second.
const KEYS_A_SECOND: usize = 3;

/// The answer to the question that was asked last.
fn answer_to(said: &str) -> &'static str {
    let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
    let last = ANSWERS.iter().filter_map(|(asked, answer)| Some((said.rfind(asked)?, answer))).max();
    last.map_or_else(|| panic!("{said}"), |(_, answer)| answer)
}

fn begin(folder: &Path, how: Option<Interruption>) -> Sitting {
    Sitting::begin(&["begin".as_ref(), folder.as_os_str()], how)
}

fn sheet(folder: &Path) -> Option<String> {
    std::fs::read_to_string(folder.join("engine.toml")).ok()
}

#[test]
fn three_numbers_come_to_a_simulated_pass_in_fifteen_answers_and_no_edit() {
    let folder = tempfile::tempdir().expect("a folder");
    let engine = folder.path().join("fire-float");
    let (mut answers, mut keys) = (0, 0);
    let mut sitting = begin(&engine, None);
    while sitting.question().is_some() {
        let answer = answer_to(&sitting.said);
        sitting.answer(answer);
        answers += 1;
        keys += answer.len() + 1;
        if answers == 5 {
            assert!(sitting.question().is_some());
            // Three numbers are answered with figures, before anything else is asked.
            assert!(sitting.said.contains("3 000        36.0            48.0"), "{}", sitting.said);
            let answer = answer_to(&sitting.said);
            sitting.answer(answer);
            answers += 1;
            keys += answer.len() + 1;
        }
    }
    println!("{answers} answers, {keys} keys: {} s at {KEYS_A_SECOND} keys a second", keys.div_ceil(KEYS_A_SECOND));
    assert_eq!(sitting.end().code(), Some(0), "{}", sitting.said);
    assert!(sitting.said.contains("pass") && sitting.said.contains("(simulated, 28 assumptions)"), "{}", sitting.said);
    assert!(answers <= MOST_ANSWERS, "{answers}");
    assert!(keys.div_ceil(KEYS_A_SECOND) <= 60, "{keys} keys take more than a minute");
    assert!(engine.join("simulated.json").exists());
}

/// At every question, each of the three ways: the sheet stays as it was, the next sitting asks the same, and in the end it is the sheet of
/// one sitting.
#[test]
fn nothing_is_lost_and_nothing_asked_twice_wherever_it_is_interrupted() {
    let folder = tempfile::tempdir().expect("a folder");
    let whole = folder.path().join("whole").join("engine");
    let mut sitting = begin(&whole, None);
    while sitting.question().is_some() {
        sitting.answer(answer_to(&sitting.said));
    }
    for how in [Interruption::Stop, Interruption::CtrlC, Interruption::Killed] {
        let engine = folder.path().join(format!("{how:?}")).join("engine");
        let mut asked: Option<String> = None;
        // Before the cautions are acknowledged there is no sheet that could know it.
        for after in 0..ANSWERS.len() {
            let mut sitting = begin(&engine, Some(how));
            let question = sitting.question().expect("a question");
            if let Some(asked) = &asked {
                assert_eq!(&question, asked, "{how:?} after {after}: {}", sitting.said);
            }
            let mut question = Some(question);
            let due = if sheet(&engine).is_some() { 1 } else { 2 };
            for _ in 0..due {
                if question.is_none() || sitting.said.contains("assume them and bench it") {
                    break;
                }
                sitting.answer(answer_to(&sitting.said));
                question = sitting.question();
            }
            let before = sheet(&engine);
            asked.clone_from(&question);
            sitting.interrupt(how);
            let status = sitting.end();
            let expected = match how {
                Interruption::Stop | Interruption::CtrlC => (Some(130), None),
                Interruption::Killed => (None, Some(9)),
            };
            assert_eq!((status.code(), status.signal()), expected, "{}", sitting.said);
            assert_eq!(sheet(&engine), before, "{how:?}: {}", sitting.said);
        }
        let mut sitting = begin(&engine, None);
        while sitting.question().is_some() {
            sitting.answer(answer_to(&sitting.said));
        }
        assert_eq!(sitting.end().code(), Some(0), "{}", sitting.said);
        assert_eq!(sheet(&engine), sheet(&whole), "{how:?}");
    }
}
