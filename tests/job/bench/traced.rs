//! Two ways to measure the same sparks: the simulated stimulator's own, and a trace of its wires.

use std::fmt::Write as _;
use std::path::Path;

use bobweight_tests::plain::voltage;
use bobweight_tests::whole_bench::{Demo, VOLTS};
use bobweight_tests::witness::{Witness, dump};
use bobweight_tool::cli::Exit;
use bobweight_tool::cli::Terminal;
use bobweight_tool::cli::{BenchArguments, bench_run};
use bobweight_tool::link::Link;
use bobweight_tool::proof::{Bench, EveryPulse, Measurements, TracedDepression, Watcher};
use bobweight_tool::proof::{CoreIgnition, ImperfectIgnition, Imperfections, SimulatedBench};
use bobweight_tool::proof::{Names, Trace};
use bobweight_tool::record::bench::Direction;
use bobweight_tool::record::bench::{BenchResult, TestPointResult};
use bobweight_tool::record::verdict::Verdict;
use bobweight_tool::sheet::{self, Settings};

/// Tick of the simulated stimulator, seconds.
const TICK_S: f64 = 0.5e-6;

/// Benches the demo's ignition with a witness on its wires.
fn witnessed(imperfections: &str) -> (BenchResult, String) {
    let demo = Demo::read();
    let imperfections: Imperfections = imperfections.parse().unwrap();
    let settings = &demo.settings;
    let ignition = ImperfectIgnition::new(&settings.model, &settings.pickup, &imperfections).unwrap();
    let table = ignition.timetable(&settings.dwell, &settings.firmware).unwrap();
    let bench = SimulatedBench::new(CoreIgnition::new(&table, settings.firmware, voltage(VOLTS)), imperfections, 1);
    let (witness, heard) = Witness::of(bench);
    let result = demo.run_link(Link::open(witness, "a witnessed bench").unwrap());
    let text = dump(&heard.borrow());
    (result, text)
}

struct Collected(Vec<TestPointResult>);

impl Watcher for Collected {
    fn step(&mut self, _: usize, _: usize) {}
    fn test_point(&mut self, point: &TestPointResult) {
        self.0.push(point.clone());
    }
}

struct Judged {
    points: Vec<TestPointResult>,
    not_covered: usize,
    elsewhere: usize,
    every_pulse: EveryPulse,
}

fn judge(text: &str, depression: TracedDepression) -> Judged {
    let coil = "bench.coil";
    judge_file("trace.vcd", coil, text, depression)
}

fn judge_file(file: &str, coil: &str, text: &str, depression: TracedDepression) -> Judged {
    let folder = tempfile();
    let path = folder.join(file);
    std::fs::write(&path, text).unwrap();
    let names = Names { pickup: "pickup".to_owned(), coil: coil.to_owned() };
    let mut trace = Trace::open(&path, &names).unwrap();
    let sheet = sheet::read(&Path::new(env!("CARGO_MANIFEST_DIR")).join("../bench-cli/demo/fire-float.toml")).unwrap();
    let settings = Settings::from_sheet(&sheet).unwrap();
    let bench = Bench::new(&sheet, &settings, [3e-3; 2]).unwrap();
    let setting = bench.setting_of(1e-7, 0.0, 0.0).unwrap();
    let (mut measurements, mut points) = (Measurements::default(), Collected(Vec::new()));
    let coverage = bench
        .judge_trace(&mut trace, false, depression, &setting, &mut measurements, &mut points)
        .expect("a good trace");
    std::fs::remove_dir_all(folder).unwrap();
    let every_pulse = measurements.every_pulse().expect("a trace has pulses");
    Judged {
        points: points.0,
        not_covered: coverage.not_covered.len(),
        elsewhere: coverage.elsewhere_count,
        every_pulse,
    }
}

/// A folder of this test's own.
fn tempfile() -> std::path::PathBuf {
    use std::sync::atomic::{AtomicU32, Ordering};
    static NEXT: AtomicU32 = AtomicU32::new(0);
    let name = format!("bobweight-traced-{}-{}", std::process::id(), NEXT.fetch_add(1, Ordering::Relaxed));
    let folder = std::env::temp_dir().join(name);
    std::fs::create_dir_all(&folder).unwrap();
    folder
}

fn the_same(a: &TestPointResult, b: &TestPointResult) -> bool {
    a.direction == b.direction
        && (a.depression_kpa - b.depression_kpa).abs() < 0.1
        && (a.speed_crank_rpm - b.speed_crank_rpm).abs() < 1.0
}

/// The trace's tick is the stimulator's; the ignition's sparks fall on any moment, so each mean is good to a tick.
#[test]
fn a_trace_of_the_simulated_bench_agrees_with_it_within_one_tick_at_every_test_point() {
    for imperfections in ["lag=0 us", "lag=150 us, pickup=1.5 crank degrees early, vacuum=80 %, clock=0.5 %"] {
        let (own, text) = witnessed(imperfections);
        let judged = judge(&text, TracedDepression::AsPlanned);
        assert_eq!(
            (judged.points.len(), judged.not_covered),
            (78, 0),
            "{imperfections}: {} elsewhere",
            judged.elsewhere
        );
        let mut worst: f64 = 0.0;
        for point in &own.test_points {
            let traced =
                judged.points.iter().find(|traced| the_same(traced, point)).expect("every test point is covered");
            let errors =
                (point.mean_error_crank_degrees_early.unwrap(), traced.mean_error_crank_degrees_early.unwrap());
            let ticks = (errors.0 - errors.1).abs() / (6.0 * point.speed_crank_rpm * TICK_S);
            assert!(
                ticks <= 1.0,
                "{imperfections}: at {:.0} crank rpm, {:.1} kPa the bench says {} and the trace {}: {ticks:.2} ticks apart",
                point.speed_crank_rpm,
                point.depression_kpa,
                errors.0,
                errors.1
            );
            assert_eq!((traced.missing, traced.extra), (0, 0));
            worst = worst.max(ticks);
        }
        println!("{imperfections}: 78 test points, bench and trace at most {worst:.2} ticks of 0.5 us apart");
    }
}

#[test]
fn a_trace_at_one_depression_covers_its_test_points_and_the_others_are_left_open() {
    let (_, text) = witnessed("lag=0 us");
    // The part of the dump before the depression first changes is a trace at none: up and down once.
    let whole = judge(&text, TracedDepression::Constant(0.0));
    assert_eq!(whole.points.iter().filter(|point| point.direction == Direction::Rising).count(), 13);
    assert!(whole.points.iter().all(|point| point.depression_kpa == 0.0));
    assert_eq!(whole.not_covered, 78 - whole.points.len());
    assert!(whole.elsewhere > 0);
    let own: Vec<Verdict> = whole.points.iter().map(|point| point.verdict).collect();
    assert!(own.iter().all(|verdict| *verdict == Verdict::Pass), "{own:?}");
}

/// The dump as a table: a row for each change, in microseconds.
fn table(dump: &str) -> String {
    let (mut rows, mut steps, mut levels) = (String::from("Time [us],coil,pickup\n"), 0_u64, ['0', '1']);
    for line in dump.lines().skip_while(|line| *line != "#0") {
        if let Some(time) = line.strip_prefix('#') {
            steps = time.parse().unwrap();
            continue;
        }
        let (level, signal) = (line.chars().next().unwrap(), &line[1..]);
        levels[usize::from(signal == "p")] = level;
        writeln!(rows, "{}.{},{},{}", steps / 10, steps % 10, levels[0], levels[1]).unwrap();
    }
    rows
}

#[test]
fn a_table_of_the_same_changes_is_judged_the_same() {
    let (_, text) = witnessed("lag=150 us");
    let dump = judge(&text, TracedDepression::AsPlanned);
    let table = judge_file("trace.CSV", "coil", &table(&text), TracedDepression::AsPlanned);
    assert_eq!((dump.points.len(), table.points.len()), (78, 78));
    for (one, other) in dump.points.iter().zip(&table.points) {
        assert_eq!((one.verdict, one.cycles, one.missing), (other.verdict, other.cycles, other.missing));
        let errors = [one, other].map(|point| point.mean_error_crank_degrees_early.unwrap());
        assert!((errors[0] - errors[1]).abs() < 1e-6, "{errors:?}");
    }
}

/// Every fortieth dwell is taken out: each test point has at least fifty sparks, and lacks one.
#[test]
fn sparks_that_a_trace_lacks_fail_their_test_points() {
    let (_, text) = witnessed("lag=0 us");
    let (mut dwells, mut kept, mut lacking) = (0, String::new(), false);
    for line in text.lines() {
        if line == "1c" {
            dwells += 1;
            lacking = dwells % 40 == 0;
        }
        if lacking && matches!(line, "1c" | "0c") {
            continue;
        }
        kept.push_str(line);
        kept.push('\n');
    }
    let judged = judge(&kept, TracedDepression::AsPlanned);
    assert_eq!(judged.points.len(), 78);
    assert!(judged.points.iter().all(|point| point.missing >= 1 && point.verdict == Verdict::Fail));
}

fn tool(trace: &Path, depression: Option<TracedDepression>) -> (Exit, String) {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let arguments = BenchArguments {
        sheet: Path::new(env!("CARGO_MANIFEST_DIR")).join("../bench-cli/demo/fire-float.toml"),
        serial: None,
        trace: Some(trace.to_owned()),
        pickup: Some("pickup".to_owned()),
        coil: Some("coil".to_owned()),
        depression,
        sampled_every: None,
        json: None,
        seed: 1,
        battery: None,
        simulate: None,
        details: false,
        acknowledge_cautions: false,
    };
    let exit = bench_run(
        &arguments,
        &mut Terminal {
            input: &mut "".as_bytes(),
            out: &mut out,
            err: &mut err,
            can_ask: false,
            err_is_terminal: false,
            colour_out: false,
            colour_err: false,
            columns: 80,
        },
    );
    let words = String::from_utf8(out).unwrap().split_whitespace().collect::<Vec<_>>().join(" ");
    (exit.expect("a good trace"), words)
}

#[test]
fn the_tool_says_what_a_trace_did_not_prove() {
    let (_, text) = witnessed("lag=0 us");
    let folder = tempfile();
    let path = folder.join("trace.vcd");
    std::fs::write(&path, &text).unwrap();
    let (exit, out) = tool(&path, Some(TracedDepression::AsPlanned));
    assert_eq!(exit, Exit::Pass, "{out}");
    assert!(out.contains("nothing is said of cranking, of ramps, of a lost pulse and of a false one"), "{out}");
    let (_, out) = tool(&path, None);
    assert!(out.contains("test points of the plan lie at other depressions than the trace's"), "{out}");
    // Cut after the way up and a little: the rest is named, and nothing passes that was not seen.
    std::fs::write(&path, &text[..text.len() / 12]).unwrap();
    let (exit, out) = tool(&path, Some(TracedDepression::AsPlanned));
    assert_eq!(exit, Exit::Fail, "{out}");
    assert!(out.contains("undecided") && out.contains("test points of the plan are not in the trace: "), "{out}");
    std::fs::remove_dir_all(folder).unwrap();
}

/// The dump of a perfect run as the plan drives it, and the same run with its lines changed.
fn altered(mut keep: impl FnMut(usize, &str) -> Vec<String>) -> Judged {
    let (_, text) = witnessed("lag=0 us");
    let lines = text.lines().enumerate().flat_map(|(number, line)| keep(number, line));
    judge(&lines.collect::<Vec<_>>().join("\n"), TracedDepression::AsPlanned)
}

#[test]
fn every_pulse_of_a_perfect_run_is_judged_and_none_is_found_wrong() {
    let judged = altered(|_, line| vec![line.to_owned()]);
    let every = judged.every_pulse;
    println!("{every:?}");
    assert!(every.pulses > 5_000 && every.verdict() == Verdict::Pass, "{every:?}");
    assert_eq!((every.missing, every.extra, every.single.outside), (0, 0, 0));
    assert_eq!(every.upsets, every.planned_upsets, "each disturbance of the plan is seen once");
}

/// The faults that a decision at a test point leaves unseen: they come late in each stretch.
#[test]
fn what_comes_after_the_decision_of_a_test_point_is_judged() {
    let coil = |line: &str| matches!(line, "1c" | "0c");
    let fails = |what: &str, judged: &Judged| {
        println!("{what}: {:?}", judged.every_pulse);
        assert_eq!(judged.every_pulse.verdict(), Verdict::Fail, "{what}: {:?}", judged.every_pulse);
    };
    // One spark in 300 is left out: its time stamp stays, its change goes.
    let mut sparks = 0;
    let missing = altered(|_, line| {
        if line == "0c" {
            sparks += 1;
        }
        let late = sparks % 300 == 299;
        if late && coil(line) { Vec::new() } else { vec![line.to_owned()] }
    });
    fails("one spark in 300 missing", &missing);
    assert!(missing.every_pulse.missing > 15);
    // Flanks lost at 1 in 300, both of a vane.
    let mut vanes = 0;
    let lost = altered(|_, line| {
        if line == "0p" {
            vanes += 1;
        }
        if vanes % 300 == 299 && matches!(line, "0p" | "1p") { Vec::new() } else { vec![line.to_owned()] }
    });
    fails("one flank in 300 lost", &lost);
    assert!(lost.every_pulse.upsets > 20);
    // One dwell in 25 ends 15 crank degrees sooner: 180 lie between two flanks. Sorted anew by time, as an analyser writes.
    let (_, text) = witnessed("lag=0 us");
    let head = text.find("#0").expect("a beginning");
    let (mut changes, mut stamp, mut flanks, mut number) = (Vec::new(), 0_u64, (0_u64, 0_u64), 0);
    for line in text[head..].lines() {
        if let Some(at) = line.strip_prefix('#') {
            stamp = at.parse().expect("a time");
            continue;
        }
        if line == "0p" {
            flanks = (flanks.1, stamp);
        }
        number += usize::from(line == "0c");
        let sooner = (flanks.1 - flanks.0) * 15 / 180;
        changes.push((if line == "0c" && number % 25 == 24 { stamp - sooner } else { stamp }, line));
    }
    changes.sort_by_key(|(at, _)| *at);
    let mut early = text[..head].to_owned();
    for (at, line) in changes {
        writeln!(early, "#{at}\n{line}").expect("a text");
    }
    fails("one spark in 25 comes 15 crank degrees early", &judge(&early, TracedDepression::AsPlanned));
}
