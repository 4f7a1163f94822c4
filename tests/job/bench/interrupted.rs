//! Ctrl-C, a termination and a hang-up at commands that take long or write: what was recorded is saved, and nothing else is left.
//!
//! The demo's figures are invented; what is tested is what is left of a run. `bench` behind a serial port is in `serial.rs`,
//! `write` in `ignition.rs`.
#![cfg(target_os = "linux")]

mod terminal;
#[allow(dead_code, reason = "other ends are looked at elsewhere")]
mod tool;

use std::fmt::Write as _;
use std::fs::{File, OpenOptions};
use std::io::{BufRead, BufReader, ErrorKind, Read, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdout, Command, ExitStatus, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::time::{Duration, Instant};

use bobweight_tool::record::verdict::Verdict;
use bobweight_tool::saved;
use rustix::fs::{CWD, FileType, Mode, mknodat};
use rustix::process::{Pid, Signal, kill_process};
use tool::{Ran, bench, demo, unwrapped};

/// Nothing that is waited for takes longer on a busy machine.
const MINUTE: Duration = Duration::from_mins(1);

const SIGNALS: [Signal; 3] = [Signal::INT, Signal::TERM, Signal::HUP];

fn send(child: &Child, signal: Signal) {
    let process = Pid::from_raw(i32::try_from(child.id()).expect("a process")).expect("a process");
    kill_process(process, signal).expect("it runs");
}

/// The names in a folder, in their order.
fn names(folder: &Path) -> Vec<String> {
    let entries = std::fs::read_dir(folder).expect("the folder").map(|entry| entry.expect("an entry").file_name());
    let mut names: Vec<String> = entries.map(|name| name.into_string().expect("a plain name")).collect();
    names.sort();
    names
}

/// Somebody at a terminal with a command on it.
struct Played {
    near: File,
    child: Child,
    said: String,
}

impl Played {
    fn begin(arguments: &[&str]) -> Self {
        let (near, far) = terminal::pair();
        let end = || far.try_clone().expect("a terminal");
        let mut command = Command::new(env!("CARGO_BIN_EXE_bobweight"));
        command.args(arguments).stdin(end()).stdout(end()).stderr(end());
        Self { near, child: command.spawn().expect("the binary runs"), said: String::new() }
    }

    /// Reads until the command has said this, or ended; whether it did say it.
    fn hears(&mut self, text: &str) -> bool {
        let mut bytes = [0; 4096];
        while !self.said.contains(text) {
            match self.near.read(&mut bytes) {
                Ok(length) if length > 0 => self.said.push_str(&String::from_utf8_lossy(&bytes[..length])),
                Err(error) if error.kind() == ErrorKind::WouldBlock => terminal::wait(&self.near, &self.said),
                // The far end is closed.
                Ok(_) | Err(_) => return false,
            }
        }
        true
    }

    #[track_caller]
    fn answer(&mut self, question: &str, answer: &str) {
        assert!(self.hears(question), "{}", self.said);
        self.said.clear();
        self.near.write_all(format!("{answer}\n").as_bytes()).expect("it listens");
    }

    /// Sends a signal at a question, and waits for the end.
    #[track_caller]
    fn interrupted_at(&mut self, question: &str, signal: Signal) -> ExitStatus {
        assert!(self.hears(question), "{}", self.said);
        send(&self.child, signal);
        assert!(!self.hears("what nobody says"), "{}", self.said);
        self.child.wait().expect("it ended")
    }
}

#[test]
fn a_survey_keeps_its_answers_and_leaves_nothing_else() {
    for signal in SIGNALS {
        let folder = tempfile::tempdir().expect("a folder");
        let out = folder.path().join("survey.csv").display().to_string();
        let mut survey = Played::begin(&["survey", "--acknowledge-cautions", "--out", &out]);
        survey.answer("numbers", "31 B");
        let status = survey.interrupted_at("does it shake", signal);
        assert_eq!(status.code(), Some(130), "{signal:?}: {}", survey.said);
        assert!(survey.said.contains("the same command goes on from here"), "{}", survey.said);
        assert_eq!(names(folder.path()), ["survey.csv"], "{signal:?}");
        assert!(std::fs::read_to_string(&out).expect("readings").contains("31 B"), "{signal:?}");
        let mut again = Played::begin(&["survey", "--acknowledge-cautions", "--out", &out]);
        assert_eq!(again.interrupted_at("does it shake", signal).code(), Some(130), "{}", again.said);
        assert!(!again.said.contains("numbers"), "nothing is asked twice:\n{}", again.said);
    }
}

#[test]
fn a_light_keeps_its_readings_and_leaves_nothing_else() {
    for signal in SIGNALS {
        let folder = tempfile::tempdir().expect("a folder");
        let readings = folder.path().join("light.csv").display().to_string();
        let sheet = demo().display().to_string();
        let light = ["light", &sheet, "--readings", &readings];
        let mut first = Played::begin(&light);
        // Nothing is there yet, and nobody has taken note of anything.
        assert_eq!(first.interrupted_at("Type yes to go on:", signal).code(), Some(130), "{}", first.said);
        assert_eq!(names(folder.path()), Vec::<String>::new(), "{signal:?}");
        let mut second = Played::begin(&light);
        second.answer("Type yes to go on:", "yes");
        second.answer("held against true top dead centre", "yes");
        second.answer("speed, crank rpm:", "650");
        second.answer("timing, crank degrees before TDC:", "8");
        let status = second.interrupted_at("speed, crank rpm:", signal);
        assert_eq!(status.code(), Some(130), "{signal:?}: {}", second.said);
        assert_eq!(names(folder.path()), ["light.csv"], "{signal:?}");
        assert!(std::fs::read_to_string(&readings).expect("readings").contains("650,8"), "{signal:?}");
    }
}

/// Nothing has begun that would have to be stopped.
#[test]
fn a_question_before_the_work_ends_at_once() {
    for signal in SIGNALS {
        let folder = tempfile::tempdir().expect("a folder");
        let json = folder.path().join("result.json").display().to_string();
        let sheet = demo().display().to_string();
        let mut bench = Played::begin(&["bench", &sheet, "--serial", "/dev/bobweight-none", "--json", &json]);
        let status = bench.interrupted_at("Type yes to go on:", signal);
        assert_eq!(status.code(), Some(130), "{signal:?}: {}", bench.said);
        assert_eq!(names(folder.path()), Vec::<String>::new(), "{signal:?}");
    }
}

/// Time in a trace, ns, and what its two signals do: sparks at the demo's 8 crank degrees BTDC below 900 crank rpm, by a pickup
/// with four pulses in two turns whose flanks lie 60 and 8 degrees BTDC. A crank at N crank rpm turns by 6 N degrees a second.
fn pulse(trace: &mut String, at_ns: &mut f64, crank_rpm: f64) {
    let degree_ns = 1e9 / (6.0 * crank_rpm);
    let dwell_ns = 3.5e6;
    let spark = *at_ns + 52.0 * degree_ns;
    for (at, change) in [(*at_ns, "0p"), (spark - dwell_ns, "1c"), (spark, "0c"), (spark + 1e3, "1p")] {
        writeln!(trace, "#{at:.0}\n{change}").expect("a text takes it");
    }
    *at_ns += 180.0 * degree_ns;
}

/// The lines that a command writes, as they come.
fn lines_of(out: ChildStdout) -> Receiver<String> {
    let (sender, lines) = channel();
    std::thread::spawn(move || {
        BufReader::new(out).lines().map_while(Result::ok).try_for_each(|line| sender.send(line))
    });
    lines
}

/// A pipe in the place of the file: what comes through it next is the test's affair.
fn piped(folder: &Path) -> PathBuf {
    let path = folder.join("trace.vcd");
    mknodat(CWD, &path, FileType::Fifo, Mode::from_raw_mode(0o600), 0).expect("a pipe");
    path
}

#[test]
fn a_trace_is_judged_as_far_as_it_was_read() {
    for signal in SIGNALS {
        let folder = tempfile::tempdir().expect("a folder");
        let (path, json) = (piped(folder.path()), folder.path().join("result.json"));
        let mut command = bench(&demo(), &["--details", "--pickup", "pickup", "--coil", "coil", "--trace"]);
        command.arg(&path).arg("--json").arg(&json).stdout(Stdio::piped()).stderr(Stdio::piped());
        let mut child = command.spawn().expect("the binary runs");
        let mut trace = OpenOptions::new().write(true).open(&path).expect("it is read");
        let mut text =
            "$timescale 1 ns $end\n$var wire 1 p pickup $end\n$var wire 1 c coil $end\n$enddefinitions $end\n\
                        #0\n1p\n0c\n"
                .to_owned();
        let mut at_ns = 1e8;
        for crank_rpm in [650.0; 100].into_iter().chain([900.0; 100]).chain([750.0; 20]) {
            pulse(&mut text, &mut at_ns, crank_rpm);
        }
        trace.write_all(text.as_bytes()).expect("it is read");
        let lines = lines_of(child.stdout.take().expect("a pipe"));
        let is_row = |line: &String| [" pass", " fail", " undecided"].iter().any(|end| line.ends_with(end));
        let mut heard = Vec::new();
        while !heard.last().is_some_and(is_row) {
            let Ok(line) = lines.recv_timeout(MINUTE) else {
                let _ = child.kill();
                panic!("no row of the table came:\n{}", heard.join("\n"));
            };
            heard.push(line);
        }
        send(&child, signal);
        // The capture goes on until nobody reads it any more.
        let begun = Instant::now();
        loop {
            text.clear();
            pulse(&mut text, &mut at_ns, 750.0);
            if trace.write_all(text.as_bytes()).is_err() {
                break;
            }
            if begun.elapsed() > MINUTE {
                let _ = child.kill();
                panic!("{signal:?} does not end it");
            }
        }
        let rest = lines.iter().collect::<Vec<_>>().join("\n");
        let ran: Ran = child.wait_with_output().expect("it ends").into();
        assert_eq!(ran.exit, Some(130), "{signal:?}: {rest}\n{}", ran.err);
        assert!(unwrapped(&ran.err).contains("interrupted; the rest of"), "{}", ran.err);
        let result = saved::read(&json).expect("a result").into_bench().expect("of a bench");
        assert!(!result.test_points.is_empty() && result.every_pulse.is_some(), "{:?}", result.counts);
        assert!(result.broken_off.is_some() && result.verdict != Verdict::Pass, "{:?}", result.verdict);
        assert_eq!(names(folder.path()), ["result.json", "trace.vcd"], "{signal:?}");
    }
}
