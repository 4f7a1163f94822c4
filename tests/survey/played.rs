//! The survey on a pseudo-terminal, as somebody with oily hands plays it: wrong answers, units mixed, an interruption and a
//! resume, a mark that lies 1.5 crank degrees off, a tachometer that reads 3 % too much.
//!
//! The distributor is invented, and its truth is arithmetic of this file.
#![cfg(target_os = "linux")]

#[path = "../bench/terminal.rs"]
mod terminal;

use std::fs::File;
use std::io::{ErrorKind, Read, Write};
use std::path::Path;
use std::process::{Child, Command};
use std::time::{Duration, Instant};

use bobweight_bench::fit::{FitOptions, fit};
use bobweight_bench::readings;

/// Initial timing, and the whole centrifugal advance from 1 100 to 2 600 crank rpm.
const INITIAL: f64 = 8.0;
const WHOLE: f64 = 20.0;
/// The mark reads this much before top dead centre at top dead centre.
const MARK: f64 = 1.5;
/// Vacuum advance: from 12 to 36 kPa, 12 crank degrees.
const VACUUM: (f64, f64, f64) = (12.0, 36.0, 12.0);

fn centrifugal(crank_rpm: f64) -> f64 {
    WHOLE * ((crank_rpm - 1_100.0) / 1_500.0).clamp(0.0, 1.0)
}

fn vacuum(kpa: f64) -> f64 {
    VACUUM.2 * ((kpa - VACUUM.0) / (VACUUM.1 - VACUUM.0)).clamp(0.0, 1.0)
}

/// Somebody at the terminal.
struct Player {
    near: File,
    child: Child,
    said: String,
    heard: usize,
    /// Counts up, for a scatter of a fixed course.
    turn: usize,
    /// How wrong the tachometer is, as a factor.
    tachometer: f64,
}

impl Player {
    fn begin(out: &Path, tachometer: f64) -> Self {
        let (near, far) = terminal::pair();
        let child = Command::new(env!("CARGO_BIN_EXE_bobweight"))
            .args(["survey", "--out"])
            .arg(out)
            .stdin(far.try_clone().expect("a terminal"))
            .stdout(far.try_clone().expect("a terminal"))
            .stderr(far)
            .spawn()
            .expect("the binary runs");
        Self { near, child, said: String::new(), heard: 0, turn: 0, tachometer }
    }

    /// Waits until something new ends with a question; none where the command has ended.
    fn question(&mut self) -> Option<String> {
        let begun = Instant::now();
        let mut bytes = [0; 4096];
        loop {
            assert!(begun.elapsed() < Duration::from_secs(60), "it says nothing more:\n{}", self.said);
            match self.near.read(&mut bytes) {
                Ok(count) => self.said.push_str(&String::from_utf8_lossy(&bytes[..count])),
                Err(error) if error.kind() == ErrorKind::WouldBlock => {
                    let new = &self.said[self.heard..];
                    if new.ends_with(": ") || new.ends_with("? ") || new.ends_with(") ") {
                        let last = new.rsplit('\n').next().unwrap_or("").trim().to_owned();
                        self.heard = self.said.len();
                        return Some(last);
                    }
                    if self.child.try_wait().expect("it can be asked").is_some() && new.is_empty() {
                        return None;
                    }
                    if self.child.try_wait().expect("it can be asked").is_some() {
                        self.heard = self.said.len();
                        return None;
                    }
                    std::thread::sleep(Duration::from_millis(5));
                }
                Err(_) => return None,
            }
        }
    }

    fn answer(&mut self, text: &str) {
        self.near.write_all(format!("{text}\n").as_bytes()).expect("it listens");
    }

    /// A scatter of some half a degree that is the same at every run.
    fn scatter(&mut self) -> f64 {
        self.turn += 1;
        [0.4, -0.3, 0.1, -0.6, 0.5, 0.0, -0.4, 0.7, -0.2, 0.2, -0.5, 0.3][self.turn % 12]
    }

    /// Answers readings as they are asked for, until `stop_after` of them or the end of the questions.
    fn play(&mut self, stop_after: Option<usize>) -> usize {
        let (mut crank_rpm, mut kpa, mut taken) = (0.0, 0.0, 0);
        while let Some(question) = self.question() {
            if question.starts_with("speed") {
                if Some(taken) == stop_after {
                    self.answer("stop");
                    continue;
                }
                crank_rpm = self.asked_for(" crank rpm");
                // What the tachometer shows of it.
                let shown = crank_rpm * self.tachometer;
                // Every third in the distributor's unit.
                if taken % 3 == 2 {
                    self.answer(&format!("{} distributor rpm", shown / 2.0))
                } else {
                    self.answer(&format!("{shown}"))
                }
                kpa = 0.0;
            } else if question.starts_with("depression") {
                kpa = self.asked_for(" kPa");
                if taken % 2 == 0 {
                    self.answer(&format!("{:.2} inHg depression", kpa / 3.386_389))
                } else {
                    self.answer(&format!("{kpa}"))
                }
            } else if question.starts_with("timing") {
                let true_timing = INITIAL + centrifugal(crank_rpm) + vacuum(kpa);
                let shown = ((true_timing + MARK + self.scatter()) * 2.0).round() / 2.0;
                if taken == 1 {
                    // A wrong answer first.
                    self.answer("eight or so");
                    assert_eq!(
                        self.question().as_deref(),
                        Some(question.as_str()),
                        "it is asked again:\n{}",
                        self.said
                    );
                }
                if taken % 4 == 3 {
                    self.answer(&format!("{} distributor degrees", shown / 2.0))
                } else {
                    self.answer(&format!("{shown}"))
                }
                taken += 1;
            } else {
                let answer = fact(&question);
                self.answer(answer);
            }
        }
        taken
    }

    /// The figure before this unit in what was said last.
    fn asked_for(&self, unit: &str) -> f64 {
        let line = self.said.lines().rev().find(|line| line.contains("about ")).expect("a proposal");
        let before = line.rsplit("about ").find(|part| part.contains(unit)).expect("a figure");
        before.split(unit).next().and_then(|number| number.trim().parse().ok()).unwrap_or_else(|| panic!("{line}"))
    }

    fn exit(mut self) -> (Option<i32>, String) {
        let status = self.child.wait().expect("it ended");
        (status.code(), self.said)
    }
}

/// The answer to a fact, by its question.
fn fact(question: &str) -> &'static str {
    match question {
        _ if question.starts_with("Type yes") => "yes",
        _ if question.starts_with("numbers") => "31 B <stamped>",
        _ if question.starts_with("does it shake") => "a little",
        _ if question.contains("BTDC") => "36.5 BTDC",
        _ if question.contains("ATDC") => "33.5 ATDC",
        _ if question.starts_with("how far does it dance") => "1 crank degree",
        _ if question.starts_with("which speed") => "speed",
        _ if question.starts_with("vacuum") => "17.5",
        _ => "yes",
    }
}

fn survey(folder: &Path, tachometer: f64) -> readings::Readings {
    let out = folder.join("readings.csv");
    let mut first = Player::begin(&out, tachometer);
    // The facts, with one wrong answer to a speed on the way.
    let mut speeds = ["fast", "700", "4000 crank rpm"].into_iter();
    let mut taken = 0;
    while let Some(question) = first.question() {
        if question.starts_with("which speed") {
            let answer = speeds.next().expect("three answers are enough");
            first.answer(answer);
        } else if question.starts_with("speed") && speeds.len() == 0 {
            // Put back for the player: the question was taken already.
            first.heard = first.said.rfind("\n  speed").expect("the question");
            taken = first.play(Some(7));
            break;
        } else {
            first.answer(fact(&question));
        }
    }
    assert_eq!(taken, 7);
    let (exit, said) = first.exit();
    assert_eq!(exit, Some(130), "{said}");
    assert!(said.contains("1.50 crank degrees BTDC: that is taken out of every reading"), "{said}");
    assert!(said.contains("does not begin with a number"), "{said}");
    let mut second = Player::begin(&out, tachometer);
    let more = second.play(None);
    let (exit, said) = second.exit();
    assert_eq!(exit, Some(0), "{said}");
    assert!(said.contains("Going on from 7 readings"), "{said}");
    assert!(said.contains("That is enough") && said.contains("Next: bobweight fit"), "{said}");
    assert!(said.contains("(+ rising, x falling, o steady)"), "{said}");
    let read = readings::read(&out).expect("readings for `fit`");
    assert_eq!(read.readings.len(), 7 + more);
    read
}

#[test]
fn a_survey_with_an_interruption_gives_readings_that_hold_the_truth() {
    let folder = Folder::new("right");
    let read = survey(&folder.0, 1.0);
    let off = read.hose_off().count();
    assert!(off <= 20, "{off} readings with the hose off");
    let found = fit(&read, &FitOptions::default()).expect("a fit");
    assert!(found.initial.holds(INITIAL), "{:?}", found.initial);
    for rpm in [700.0, 1_850.0, 3_800.0] {
        let band = found.band_at(rpm);
        let truth = INITIAL + centrifugal(rpm);
        assert!((band.low..=band.high).contains(&truth), "at {rpm}: {band:?}, {truth}");
    }
    assert_eq!(read.hose_on().count(), 10);
}

/// The levels do not hang on the tachometer; the corners lie where it shows them.
#[test]
fn a_tachometer_3_percent_out_moves_the_corners_and_not_the_levels() {
    let folder = Folder::new("tachometer");
    let found = fit(&survey(&folder.0, 1.03), &FitOptions::default()).expect("a fit");
    assert!(found.initial.holds(INITIAL), "{:?}", found.initial);
    let top = found.band_at(3_800.0);
    assert!((top.low..=top.high).contains(&(INITIAL + WHOLE)), "{top:?}");
    assert!(found.knots[0].holds(1_100.0 * 1.03), "{:?}", found.knots);
}

/// A folder that is taken away again.
struct Folder(std::path::PathBuf);

impl Folder {
    fn new(name: &str) -> Self {
        let path = std::env::temp_dir().join(format!("bobweight-survey-{name}-{}", std::process::id()));
        std::fs::create_dir_all(&path).expect("a folder");
        Self(path)
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}
