//! Many sittings of `bobweight begin` with answers at random, wrong ones too: none panics, none loses what was answered, and whatever is in the
//! sheet can be read.

#[allow(dead_code, reason = "nothing is counted here")]
#[path = "../../tools/support/seeds.rs"]
mod seeds;

use bobweight_tool::cli::{Cli, Exit, Terminal, run};
use bobweight_tool::sheet::{Sheet, parse};
use clap::Parser;
use rand::seq::IndexedRandom;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use seeds::Seeds;
use std::collections::BTreeMap;
use std::path::Path;

/// Engines in the long run, each begun in several sittings: 15 000 of them.
const ENGINES: u32 = 500;
const SITTINGS: usize = 5;

/// Right answers to one question or another, and what anybody may type anywhere.
const ANSWERS: [&str; 64] = [
    "1",
    "1",
    "1",
    "2",
    "yes",
    "yes",
    "14",
    "8",
    "10 crank degrees",
    "4 distributor degrees",
    "22 crank degrees by 3000 crank rpm",
    "22 crank degrees, 900..3000 crank rpm",
    "0 at 450, 6 at 850, 10 at 1650, distributor",
    "12 crank degrees",
    "none",
    "12 crank degrees, 5..12 inHg depression",
    "0 at 5, 10 at 12, inHg depression, crank",
    "manifold",
    "ported",
    "8",
    "4",
    "6",
    "12 V negative earth",
    "6 V positive earth",
    "700",
    "650 crank rpm",
    "5000",
    "4600",
    "52",
    "38",
    "15",
    "0",
    "-5",
    "don't know",
    "dont know",
    "don't know",
    "don't know",
    "ask",
    "ask",
    "back",
    "back",
    "?",
    "vane",
    "points",
    "coil",
    "crank",
    "distributor",
    "locked",
    "falling",
    "60",
    "0.5",
    "9.7 at 8, 5.5 at 10, 3.9 at 12",
    "",
    "85",
    "85",
    "-1",
    "NaN",
    "1e400",
    "\u{0}",
    "fire",
    "0,5",
    "[[",
    "\"]\nassumed = [\"limits.least\"]",
    "stop",
];

/// What somebody answers who knows three numbers, in the order of the questions.
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
    "ask",
];
/// What is no answer anywhere, and is asked again.
const WRONG: [&str; 9] = ["?", "{", "NaN", "\u{0}", "1e400 crank rpm", "0,5 V", "[[", "nobody knows", "\"]"];

/// The first of them, with slips between.
fn three_with_slips(rng: &mut ChaCha8Rng) -> Vec<&'static str> {
    let count = rng.random_range(3..=THREE.len());
    let mut answers: Vec<&'static str> = Vec::new();
    for answer in THREE.into_iter().take(count) {
        while rng.random_bool(0.3) {
            answers.extend(WRONG.choose(rng).copied());
        }
        answers.push(answer);
    }
    answers
}

fn sit(folder: &Path, answers: &[&str]) -> (Exit, String) {
    let place = folder.display().to_string();
    let cli = Cli::try_parse_from(["bobweight", "begin", &place]).expect("a command line");
    let typed = answers.iter().fold(String::new(), |typed, answer| typed + answer + "\n");
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let exit = run(
        &cli,
        &mut Terminal {
            input: &mut typed.as_bytes(),
            out: &mut out,
            err: &mut err,
            can_ask: true,
            err_is_terminal: false,
            colour_out: false,
            colour_err: false,
            columns: 80,
        },
    );
    (exit, String::from_utf8(err).expect("text"))
}

fn text(folder: &Path) -> Option<String> {
    std::fs::read_to_string(folder.join("engine.toml")).ok()
}

fn read(text: &str) -> Sheet {
    parse("engine.toml", text).unwrap_or_else(|error| panic!("{error:?}\n{text}"))
}

/// Every value of a sheet by its table and key, as it is written.
fn values(text: &str) -> BTreeMap<String, String> {
    let mut table = "";
    let mut values = BTreeMap::new();
    for line in text.lines() {
        if let Some(name) = line.strip_prefix('[').and_then(|rest| rest.strip_suffix(']')) {
            table = name;
        } else if let Some((key, value)) = line.split_once(" = ").filter(|_| !line.starts_with('#')) {
            values.insert(format!("{table}.{key}"), value.to_owned());
        }
    }
    values
}

#[test]
fn no_sitting_panics_loses_an_answer_or_leaves_a_sheet_that_cannot_be_read() {
    let (mut kept, mut assumed, mut whole) = (0, 0, 0);
    for seed in Seeds::of(ENGINES).iter() {
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        let folder = tempfile::tempdir().expect("a folder");
        let mut comments = 0;
        for sitting in 0..SITTINGS {
            let count = rng.random_range(0..25);
            let answers: Vec<&str> = match sitting {
                0 => three_with_slips(&mut rng),
                _ => (0..count).filter_map(|_| ANSWERS.choose(&mut rng).copied()).collect(),
            };
            let (exit, said) = sit(folder.path(), &answers);
            assert!(
                matches!(exit, Exit::Interrupted | Exit::Pass | Exit::Fail | Exit::WrongInput),
                "seed {seed}: {said}"
            );
            let Some(now) = text(folder.path()) else { continue };
            let sheet = read(&now);
            assert!(sheet.assumptions().iter().all(|key| !key.starts_with("limits.")), "seed {seed}: {now}");
            // What explains the sheet stays in it, whatever is answered.
            let prose = now.lines().filter(|line| line.starts_with("# ") && line.ends_with(['?', '.'])).count();
            assert!(prose >= comments, "seed {seed}: {prose} lines of {comments}: {now}");
            comments = prose;
            // Who only looks changes nothing, and neither does who types nothing that is an answer.
            for idle in [
                &["stop"][..],
                &["?", "?", "stop"],
                &["{", "?", "perhaps not"],
                &["back", "stop"],
                &["back", "back", "back"],
            ] {
                let (_, said) = sit(folder.path(), idle);
                let after = text(folder.path()).expect("it is there");
                assert_eq!(after, now, "seed {seed}: {idle:?}: {said}");
            }
            kept += values(&now).len();
            assumed += sheet.assumptions().len();
            whole += usize::from(exit == Exit::Pass);
        }
    }
    println!("{kept} values kept, {assumed} of them assumed, {whole} sittings to the end");
    assert!(kept > 1_000 && assumed > 50, "too little was answered to show anything: {kept}, {assumed}");
}

/// An answer that was taken stands in the sheet, and no later answer to another question takes it away.
#[test]
fn what_was_answered_stays_until_it_is_answered_again() {
    for seed in Seeds::of(ENGINES).iter() {
        let mut rng = ChaCha8Rng::seed_from_u64(seed ^ 0x5eed);
        let folder = tempfile::tempdir().expect("a folder");
        sit(folder.path(), &["1", "yes", "stop"]);
        let mut before = values(&text(folder.path()).expect("a sheet"));
        for _ in 0..20 {
            let answer = ANSWERS.choose(&mut rng).copied().unwrap_or_default();
            if ["stop", "back", "none", "ask"].contains(&answer) {
                continue;
            }
            sit(folder.path(), &[answer, answer]);
            let now = values(&text(folder.path()).expect("a sheet"));
            for key in before.keys() {
                assert!(now.contains_key(key), "seed {seed}: {answer} took {key} away");
            }
            before = now;
        }
    }
}
