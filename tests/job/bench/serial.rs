//! A whole run through a real serial port library: a pseudo-terminal with the simulated stimulator behind it; and what can
//! happen on the way.
//!
//! The demo's figures are invented; what is tested is that a link changes none of them, and what is said when it fails.
#![cfg(target_os = "linux")]

mod board;
mod line;
mod terminal;
mod tool;

use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Child, Stdio};
use std::time::{Duration, Instant};

use board::Board;
use bobweight_tool::proof::Imperfections;
use bobweight_tool::record::bench::BenchResult;
use bobweight_tool::record::bench::FindingKind;
use bobweight_tool::record::verdict::Verdict;
use bobweight_tool::saved;
use bobweight_wire::HostMessage;
use line::Trouble;
use rustix::process::{Pid, Signal, kill_process};
use tool::{Ran, bench, demo, ran, unwrapped};

/// Benches what is behind a serial port; gives what was said, and what was saved, if anything.
fn run(port: &Path) -> (Ran, Option<BenchResult>) {
    let folder = tempfile::tempdir().expect("a folder");
    let json = folder.path().join("result.json");
    let mut command = bench(&demo(), &["--acknowledge-cautions", "--serial"]);
    let ran = ran({
        command.arg(port).arg("--json").arg(&json);
        command
    });
    (ran, saved(&json))
}

fn saved(path: &Path) -> Option<BenchResult> {
    path.exists().then(|| saved::read(path).expect("a result").into_bench().expect("of a bench"))
}

fn stimulator(imperfections: Imperfections, trouble: Trouble) -> Board {
    Board::stimulator(&demo(), imperfections, trouble)
}

#[test]
fn a_whole_run_passes_as_the_built_in_one_does() {
    let board = stimulator(Imperfections::default(), Trouble::None);
    let begun = Instant::now();
    let (ran, result) = run(board.path());
    assert_eq!(ran.exit, Some(0), "{}\n{}", ran.out, ran.err);
    let result = result.expect("a result");
    let seconds = begun.elapsed().as_secs_f64();
    println!("{} simulated sparks through a serial line in {seconds:.1} s", result.counts.pulses);
    let built_in = tool::ran(bench(&demo(), &["--json", "-"]));
    let built_in = saved::parse("-", &built_in.out).expect("a result").into_bench().expect("of a bench");
    assert_eq!((result.verdict, built_in.verdict), (Verdict::Pass, Verdict::Pass));
    assert_eq!(result.counts, built_in.counts);
    assert_eq!(result.cranking.len(), built_in.cranking.len());
    assert_eq!(result.disturbed_pulses.len(), built_in.disturbed_pulses.len());
    for (there, here) in result.test_points.iter().zip(&built_in.test_points) {
        assert_eq!(
            (there.speed_crank_rpm, there.depression_kpa, there.direction),
            (here.speed_crank_rpm, here.depression_kpa, here.direction)
        );
        let errors = [there, here].map(|point| point.mean_error_crank_degrees_early.expect("whole cycles"));
        // They run by other phases of the two clocks: half a tick of each at either end.
        let ticks = 6.0 * here.speed_crank_rpm * 1e-6;
        assert!((errors[0] - errors[1]).abs() <= ticks, "{errors:?} at {} crank rpm", here.speed_crank_rpm);
    }
    // The cautions came first, on standard error, and the outputs rest.
    assert!(ran.err.contains("stop a heart"), "{}", ran.err);
    assert_eq!(board.last_asked(), Some(HostMessage::Stop));
    // A pass behind a serial port does not say that it was simulated: nobody there can know.
    assert!(unwrapped(&ran.out).contains("benched by the stimulator at /dev/"), "{}", ran.out);
    assert!(ran.out.contains("not proven:"), "{}", ran.out);
}

/// Nobody says the battery's voltage: the dwell is held to the shortest that the sheet's own settings order at any.
#[test]
fn a_starved_coil_fails_at_a_battery_that_nobody_told() {
    let starved = Imperfections { longest_dwell_ms: Some(1.5), ..Imperfections::default() };
    let board = stimulator(starved, Trouble::None);
    let (ran, result) = run(board.path());
    assert_eq!(ran.exit, Some(1), "{}\n{}", ran.out, ran.err);
    let result = result.expect("a result");
    assert_eq!((result.counts.passed, result.verdict), (0, Verdict::Fail));
    let said = ran.out.split_whitespace().collect::<Vec<_>>().join(" ");
    // The demo's table ends with 2.6 ms at 16 V.
    assert!(said.contains("where the sheet's own settings order 2.60 ms"), "{said}");
    assert!(
        said.contains(
            "nobody said the battery's voltage at the box; bench again with it, such as `--battery \"12.6 V\"`"
        ),
        "{said}"
    );
}

#[test]
fn a_lag_behind_a_serial_port_is_named() {
    let board = stimulator(Imperfections { lag_us: 150.0, ..Imperfections::default() }, Trouble::None);
    let (ran, result) = run(board.path());
    assert_eq!(ran.exit, Some(1), "{}\n{}", ran.out, ran.err);
    let result = result.expect("a result");
    assert!(result.findings.iter().any(|finding| finding.kind == FindingKind::Lag), "{:?}", result.findings);
    let lag = result.regression.and_then(|all| all.lag_us).expect("a lag");
    assert!((lag.value - 150.0).abs() <= lag.expanded_uncertainty, "{lag:?}");
}

#[test]
fn unplugged_in_the_middle_it_saves_what_was_measured() {
    for after in [0, 40_000, 90_000] {
        let board = stimulator(Imperfections::default(), Trouble::Unplugged(after));
        let (ran, result) = run(board.path());
        assert_eq!(ran.exit, Some(3), "after {after} bytes: {}\n{}", ran.out, ran.err);
        let port = board.path().display().to_string();
        let said = unwrapped(&ran.err);
        assert!(said.contains(&port) && said.contains("run the bench again"), "{}", ran.err);
        let result = result.expect("a result");
        let measured = result.test_points.len();
        assert_eq!(measured > 0, after > 0, "{measured} after {after} bytes");
        assert!(measured < 78 && result.verdict == Verdict::Undecided, "{measured}, {:?}", result.verdict);
        assert!(result.broken_off.is_some_and(|reason| reason.contains(&port)));
        right_figures(&result.test_points, after);
        if after > 0 {
            assert!(said.contains("look at the cable") && said.contains("what was measured before is kept"), "{said}");
            assert!(ran.out.contains("verdict: undecided"), "{}", ran.out);
        }
    }
}

/// A reset in mid-run: the board answers as before, but has forgotten the pickup, and its crank stands.
#[test]
fn a_board_that_restarts_in_mid_run_is_not_waited_for() {
    let greeted = "the stimulator restarted in the middle of the run";
    let silent = "the stimulator answers, but its crank stands in the middle of a motion";
    for (greets, says) in [(true, greeted), (false, silent)] {
        let board = stimulator(Imperfections::default(), Trouble::Restarts { after: 40_000, greets });
        let (ran, result) = run(board.path());
        assert_eq!(ran.exit, Some(3), "{greets}: {}\n{}", ran.out, ran.err);
        let (said, port) = (unwrapped(&ran.err), board.path().display().to_string());
        // A board that a busy machine holds up for three seconds does not answer either, and is given up by another rule.
        let held_up = !greets && said.contains("the stimulator stopped answering");
        assert!(said.contains(&port) && (said.contains(says) || held_up), "{greets}: {}", ran.err);
        assert!(said.contains("look at its supply") || held_up, "{}", ran.err);
        assert!(said.contains("run the bench again"), "{}", ran.err);
        let result = result.expect("a result");
        assert!(!result.test_points.is_empty() && result.test_points.len() < 78, "{}", result.test_points.len());
        assert!(result.broken_off.is_some_and(|why| why.contains(&port)) && result.verdict == Verdict::Undecided);
        right_figures(&result.test_points, greets);
    }
}

/// The demo's ignition is perfect: whatever is told of a test point must say so.
fn right_figures(points: &[bobweight_tool::record::bench::TestPointResult], what: impl std::fmt::Debug) {
    for point in points {
        let error = point.mean_error_crank_degrees_early.expect("whole cycles");
        assert!(error.abs() <= point.bound_crank_degrees, "{what:?}: {error} at {} crank rpm", point.speed_crank_rpm);
        assert_eq!((point.missing, point.extra, point.verdict), (0, 0, Verdict::Pass), "{what:?}: {point:?}");
    }
}

#[test]
fn noise_on_the_line_never_makes_a_wrong_figure() {
    let mut ends = Vec::new();
    for seed in 1..=4 {
        for trouble in [
            Trouble::Pushed(20_000, seed),
            Trouble::Changed(20_000, seed),
            Trouble::Pushed(200, seed),
            Trouble::Misheard(2_000, seed),
        ] {
            let (ran, result) = run(stimulator(Imperfections::default(), trouble).path());
            let exit = ran.exit.unwrap_or(-1);
            let result = result.expect("a result");
            ends.push((trouble, exit, result.test_points.len()));
            right_figures(&result.test_points, trouble);
            match exit {
                0 => assert_eq!(result.verdict, Verdict::Pass),
                3 => {
                    assert_eq!(result.verdict, Verdict::Undecided, "{trouble:?}");
                    assert!(unwrapped(&ran.err).contains("run the bench again"), "{trouble:?}: {}", ran.err);
                    assert!(result.broken_off.is_some(), "{trouble:?}");
                }
                _ => panic!("{trouble:?}: {exit}\n{}\n{}", ran.out, ran.err),
            }
        }
    }
    println!("{ends:?}");
    assert!(ends.iter().any(|(_, exit, _)| *exit == 3), "no noise reached the host");
    assert!(ends.iter().any(|(_, _, measured)| *measured > 1), "no figure was looked at");
}

#[test]
fn an_interrupt_stops_the_outputs_saves_the_result_and_is_status_130() {
    interrupted_by(Signal::INT);
}

/// A shut-down and a closed terminal must lose as little as Ctrl-C does.
#[test]
fn a_termination_and_a_hang_up_are_an_interrupt() {
    for signal in [Signal::TERM, Signal::HUP] {
        interrupted_by(signal);
    }
}

fn interrupted_by(signal: Signal) {
    let folder = tempfile::tempdir().expect("a folder");
    let json = folder.path().join("result.json");
    let board = stimulator(Imperfections::default(), Trouble::None);
    let port = board.path().display().to_string();
    let mut command = bench(&demo(), &["--details", "--serial", &port, "--acknowledge-cautions"]);
    command.arg("--json").arg(&json);
    let mut child = command.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().expect("the binary runs");
    let mut lines = BufReader::new(child.stdout.take().expect("a pipe")).lines().map_while(Result::ok);
    let row = lines.find(|line| line.ends_with(" pass"));
    assert!(row.is_some(), "no row of the table came");
    kill_process(process_of(&child), signal).expect("it runs");
    let rest = lines.collect::<Vec<_>>().join("\n");
    let ran: Ran = child.wait_with_output().expect("it ends").into();
    assert_eq!(ran.exit, Some(130), "{signal:?}: {rest}\n{}", ran.err);
    assert!(unwrapped(&ran.err).contains("interrupted; the stimulator's outputs were stopped"), "{}", ran.err);
    assert_eq!(board.last_asked(), Some(HostMessage::Stop));
    let result = saved(&json).expect("a result");
    assert!(!result.test_points.is_empty() && result.test_points.len() < 78, "{}", result.test_points.len());
    assert!(result.broken_off.is_some() && result.verdict == Verdict::Undecided, "{:?}", result.broken_off);
    assert!(rest.contains("verdict: undecided"), "{rest}");
    let left = std::fs::read_dir(folder.path()).expect("the folder").map(|entry| entry.expect("an entry").file_name());
    assert_eq!(left.collect::<Vec<_>>(), ["result.json"], "{signal:?}");
}

/// Nothing comes any more of a motion that was asked for, and somebody stops waiting.
#[test]
fn an_interrupt_is_heard_while_the_board_has_nothing_to_say() {
    let folder = tempfile::tempdir().expect("a folder");
    let json = folder.path().join("result.json");
    let board = stimulator(Imperfections::default(), Trouble::Restarts { after: 40_000, greets: false });
    let port = board.path().display().to_string();
    let mut command = bench(&demo(), &["--serial", &port, "--acknowledge-cautions", "--json"]);
    let child = command.arg(&json).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().expect("the binary runs");
    board.wait_for_restart();
    kill_process(process_of(&child), Signal::INT).expect("it runs");
    let ran: Ran = child.wait_with_output().expect("it ends").into();
    assert_eq!(ran.exit, Some(130), "{}\n{}", ran.out, ran.err);
    assert!(unwrapped(&ran.err).contains("interrupted; the stimulator's outputs were stopped"), "{}", ran.err);
    assert_eq!(board.last_asked(), Some(HostMessage::Stop));
    let result = saved(&json).expect("a result");
    assert!(!result.test_points.is_empty() && result.verdict == Verdict::Undecided, "{:?}", result.verdict);
}

fn process_of(child: &Child) -> Pid {
    Pid::from_raw(i32::try_from(child.id()).expect("a process")).expect("a process")
}

/// Whoever closes the terminal reads no more and hangs up, and a shut-down may follow at once; the reader of a pipe only goes.
#[test]
fn a_table_that_nobody_reads_any_more_loses_no_point() {
    for signals in [[].as_slice(), &[Signal::HUP, Signal::TERM, Signal::HUP]] {
        let folder = tempfile::tempdir().expect("a folder");
        let json = folder.path().join("result.json");
        let board = stimulator(Imperfections::default(), Trouble::None);
        let port = board.path().display().to_string();
        let mut command = bench(&demo(), &["--details", "--serial", &port, "--acknowledge-cautions", "--json"]);
        command.arg(&json).stdout(Stdio::piped()).stderr(Stdio::piped());
        let mut child = command.spawn().expect("the binary runs");
        let mut lines = BufReader::new(child.stdout.take().expect("a pipe")).lines().map_while(Result::ok);
        assert!(lines.any(|line| line.ends_with(" pass")), "no row of the table came");
        drop(lines);
        for signal in signals {
            kill_process(process_of(&child), *signal).expect("it runs");
        }
        let ran: Ran = child.wait_with_output().expect("it ends").into();
        // Nobody could be told what came out, which the exit status says.
        assert_eq!(ran.exit, Some(4), "{signals:?}: {}", ran.err);
        let result = saved(&json).expect("a result");
        assert_eq!(result.broken_off.is_some(), !signals.is_empty(), "{:?}", result.broken_off);
        let measured = result.test_points.len();
        assert!(if signals.is_empty() { measured == 78 } else { (1..78).contains(&measured) }, "{measured}");
        assert_eq!(std::fs::read_dir(folder.path()).expect("the folder").count(), 1, "nothing else is left");
    }
}

#[test]
fn a_port_that_does_not_exist_is_told_with_what_to_do() {
    let (ran, result) = run(Path::new("/dev/bobweight-none"));
    assert_eq!((ran.exit, ran.out.contains("verdict: pass")), (Some(3), false), "{ran:?}");
    let said = unwrapped(&ran.err);
    assert!(said.contains("/dev/bobweight-none: there is no such serial port; plug the stimulator in"), "{}", ran.err);
    // Nothing was measured; what was found out before, of sheet and limits, is saved.
    let result = result.expect("a result");
    assert!(result.test_points.is_empty() && result.limits.kept && result.verdict == Verdict::Undecided);
}

#[test]
fn a_folder_is_no_serial_port() {
    let (ran, _) = run(&std::env::temp_dir());
    assert_eq!(ran.exit, Some(3), "{ran:?}");
    assert!(unwrapped(&ran.err).contains("this is a folder; give a serial port"), "{}", ran.err);
}

/// What another device may say: lines of text, one frame's worth of zeros between them or none at all, slowly, or without an end.
#[test]
fn a_stranger_is_told_from_a_stimulator() {
    let strangers: [(&[u8], u64); 4] = [
        (b"", 100),
        (b"login: \r\n", 700),
        (b"temperature 21.5\r\n\0", 50),
        (b"$NOISE,1234,5678,WITHOUT,A,ZERO\r\n", 1),
    ];
    std::thread::scope(|scope| {
        for (says, every) in strangers {
            scope.spawn(move || {
                let board = Board::stranger(says, Duration::from_millis(every));
                let begun = Instant::now();
                let (ran, result) = run(board.path());
                assert_eq!(ran.exit, Some(3), "{says:?}: {ran:?}");
                let said = unwrapped(&ran.err);
                assert!(said.contains("no stimulator answered") && said.contains("its serial port"), "{}", ran.err);
                assert!(result.is_some_and(|result| result.test_points.is_empty()));
                println!("{:.0} s for {:?}", begun.elapsed().as_secs_f64(), String::from_utf8_lossy(says));
            });
        }
    });
}
