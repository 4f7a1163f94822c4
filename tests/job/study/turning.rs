//! A crank that turns unevenly through the whole of a trace, at every speed of it: whether it is named, and whether the ignition is blamed
//! for what it hides.

use crate::table::{percent, print};
use crate::{seeds, truths};
use bobweight_crank::curve::Curve;
use bobweight_tests::seeds::Tally;
use bobweight_tool::proof::{Bench, Measurements, Names, Trace, TracedDepression, Watcher};
use bobweight_tool::record::bench::{BenchResult, FindingKind, TestPointResult};
use bobweight_tool::sheet::{self, Settings};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, Normal};
use std::fmt::Write as _;

/// The demo's vane, crank degrees before top dead centre: its timing flank, and its second.
const FLANKS: [f64; 2] = [60.0, 8.0];
/// From one pulse to the next, crank degrees.
const SPACING: f64 = 180.0;
/// What the second flank, or the distance of the flanks, shows of a planted swing at least, crank degrees: twice the tolerance.
const SEEN: f64 = 1.0;

/// What is uneven, through all of the trace.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Class {
    Even,
    /// Once in two turns, as a bent distributor's drive.
    InTwoTurns,
    /// Once in each turn.
    InATurn,
    /// Twice in each turn, as a universal joint: every pulse alike.
    InAPulse,
    /// One tooth stands off.
    Tooth,
}

const CLASSES: [Class; 5] = [Class::Even, Class::InTwoTurns, Class::InATurn, Class::InAPulse, Class::Tooth];

/// A shaft in degrees and seconds.
struct Shaft {
    class: Class,
    size: f64,
    phase: f64,
    tooth: u32,
}

impl Shaft {
    /// One whose unevenness the flanks show.
    fn new(class: Class, rng: &mut ChaCha8Rng) -> Self {
        loop {
            let shaft = Self {
                class,
                size: rng.random_range(1.0..3.0),
                phase: rng.random_range(0.0..std::f64::consts::TAU),
                tooth: rng.random_range(0..4),
            };
            if class == Class::Even || shaft.shown() >= SEEN {
                return shaft;
            }
        }
    }

    /// By how much it stands behind even turning at an angle.
    fn behind(&self, degrees: f64) -> f64 {
        let turns = match self.class {
            Class::InTwoTurns => 0.5,
            Class::InATurn => 1.0,
            Class::InAPulse => 2.0,
            Class::Even | Class::Tooth => return 0.0,
        };
        self.size * ((degrees * turns).to_radians() + self.phase).sin()
    }

    /// Where a flank of a pulse stands, degrees since the beginning.
    fn flank(&self, pulse: u32, before: f64) -> f64 {
        let off = if self.class == Class::Tooth && pulse % 4 == self.tooth { self.size } else { 0.0 };
        SPACING * f64::from(pulse) - before + off
    }

    /// The most that a distance between flanks, or a vane, departs from what the sheet has.
    fn shown(&self) -> f64 {
        let at = |pulse: u32, flank: f64| {
            let degrees = self.flank(pulse, flank);
            degrees + self.behind(degrees)
        };
        let of = |pulse: u32| {
            let distance = at(pulse + 1, FLANKS[0]) - at(pulse, FLANKS[0]) - SPACING;
            let vane = at(pulse, FLANKS[1]) - at(pulse, FLANKS[0]) - (FLANKS[0] - FLANKS[1]);
            distance.abs().max(vane.abs())
        };
        (1..5).map(of).fold(0.0, f64::max)
    }
}

/// What is wrong with the ignition.
#[derive(Clone, Copy, Debug)]
struct Ignition {
    early: f64,
    lag_us: f64,
}

/// What a logic analyser sees of an ignition that goes by the last interval of its timing flanks (the formulas: `N = 120 / (m T)`, delay
/// `T m (angle - advance) / 720`), up through these speeds and down again.
fn trace(shaft: &Shaft, ignition: Ignition, speeds: &[f64], rng: &mut ChaCha8Rng) -> String {
    let curve = Curve::new(&[(900.0, 8.0), (1700.0, 20.0), (3300.0, 28.0)]);
    let scatter = Normal::new(0.0, 0.05).expect("a standard deviation");
    // Crank rpm of each pulse: forty cycles at each speed, and between two of them a hundredth more or less each pulse.
    let mut of_pulses: Vec<f64> = Vec::new();
    for &speed in speeds.iter().chain(speeds.iter().rev()) {
        while let Some(&last) = of_pulses.last() {
            if (last / speed - 1.0).abs() <= 0.01 {
                break;
            }
            of_pulses.push(if last < speed { last * 1.01 } else { last / 1.01 });
        }
        of_pulses.extend([speed; 160]);
    }
    let mut edges: Vec<(f64, &str)> = Vec::new();
    let (mut begin, mut before) = (0.1, None);
    for (pulse, rpm) in (0_u32..).zip(&of_pulses) {
        let per_degree = 1.0 / (6.0 * rpm);
        let at =
            |degrees: f64| begin + (degrees - SPACING * (f64::from(pulse) - 1.0) + shaft.behind(degrees)) * per_degree;
        let [timing, second] = FLANKS.map(|before| at(shaft.flank(pulse, before)));
        edges.extend([(timing, "0p"), (second, "1p")]);
        if let Some(last) = before {
            let period: f64 = timing - last;
            let advance = curve.at(120.0 / (4.0 * period)) + ignition.early + scatter.sample(rng);
            let spark = timing + period * 4.0 * (FLANKS[0] - advance) / 720.0 + ignition.lag_us * 1e-6;
            edges.extend([(spark - 3e-3, "1c"), (spark, "0c")]);
        }
        before = Some(timing);
        begin += SPACING * per_degree;
    }
    edges.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut text = String::from(
        "$timescale 100 ns $end\n$scope module bench $end\n$var wire 1 p pickup $end\n$var wire 1 c coil $end\n$upscope $end\n\
         $enddefinitions $end\n#0\n1p\n0c\n",
    );
    for (at, change) in edges {
        let _ = writeln!(text, "#{:.0}\n{change}", at * 1e7);
    }
    text
}

struct Nobody;

impl Watcher for Nobody {
    fn step(&mut self, _: usize, _: usize) {}
    fn test_point(&mut self, _: &TestPointResult) {}
}

#[derive(Default)]
struct Row {
    named: Tally,
    blamed: Tally,
    covered: u32,
}

#[test]
fn turnings() {
    let demo = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../bench-cli/demo/fire-float.toml");
    let sheet = sheet::read(&demo).expect("the demo");
    let settings = Settings::from_sheet(&sheet).expect("a whole sheet");
    let bench = Bench::new(&sheet, &settings, [3e-3; 2]).expect("a plan");
    let setting = bench.setting_of(1e-7, 0.0, 0.0).expect("a whole sheet");
    let folder = std::env::temp_dir().join(format!("bobweight-turning-{}", std::process::id()));
    std::fs::create_dir_all(&folder).expect("a folder");
    let path = folder.join("trace.vcd");
    let judge = |text: &str| {
        std::fs::write(&path, text).expect("a file");
        let names = Names { pickup: "pickup".to_owned(), coil: "coil".to_owned() };
        let mut trace = Trace::open(&path, &names).expect("a trace");
        let mut measurements = Measurements::default();
        let coverage = bench
            .judge_trace(&mut trace, false, TracedDepression::Constant(0.0), &setting, &mut measurements, &mut Nobody)
            .expect("a good trace");
        let mut result = BenchResult::not_driven("demo");
        bench.judge(measurements, &setting, &mut result);
        (result, coverage.not_covered)
    };
    // A trace of nothing covers nothing, which tells the plan.
    let (_, plan) = judge(
        "$timescale 100 ns $end\n$var wire 1 p pickup $end\n$var wire 1 c coil $end\n$enddefinitions $end\n#0\n1p\n0c\n",
    );
    let mut speeds: Vec<f64> = plan.iter().map(|point| point.speed_crank_rpm).collect();
    speeds.sort_by(f64::total_cmp);
    speeds.dedup();
    assert!(speeds.len() > 9, "{speeds:?}");

    let mut rows = vec![
        ["class", "ignition", "traces", "named %", "ignition blamed %", "test points"].map(str::to_owned).to_vec(),
    ];
    let mut faults = Vec::new();
    for class in CLASSES {
        for faulty in [false, true] {
            let mut row = Row::default();
            // A trace takes longer than another truth.
            for seed in seeds().take(usize::try_from(truths().div_ceil(3)).expect("truths")) {
                let mut rng = ChaCha8Rng::seed_from_u64(seed ^ 0x99_0000);
                let shaft = Shaft::new(class, &mut rng);
                let ignition = Ignition {
                    early: if faulty { rng.random_range(-2.0..2.0) } else { 0.0 },
                    lag_us: if faulty { 150.0 } else { 0.0 },
                };
                let (result, _) = judge(&trace(&shaft, ignition, &speeds, &mut rng));
                row.covered += u32::try_from(result.test_points.len()).expect("a plan");
                // Where a trace does not tell the two apart, the sentence names both.
                let is = |kind: FindingKind, words: &str| {
                    result.findings.iter().any(|finding| finding.kind == kind || finding.sentence.contains(words))
                };
                let turning = is(FindingKind::UnevenTurning, "the shaft turned unevenly");
                let pickup = is(FindingKind::UnevenPickup, "the pickup stand unevenly");
                row.named.count(match class {
                    Class::Even => !turning && !pickup,
                    Class::Tooth => pickup,
                    Class::InTwoTurns | Class::InATurn | Class::InAPulse => turning,
                });
                let of_ignition =
                    |kind: FindingKind| !matches!(kind, FindingKind::UnevenTurning | FindingKind::UnevenPickup);
                let blamed = result.findings.iter().any(|finding| of_ignition(finding.kind));
                row.blamed.count(blamed);
                if std::env::var("BOBWEIGHT_STUDY_SHOW").is_ok() {
                    println!("{class:?} {faulty} {:.2} {:.2}: {:?}", shaft.size, shaft.phase, result.findings);
                }
            }
            let name = format!("{class:?}, ignition {}", if faulty { "wrong" } else { "right" });
            rows.push(vec![
                format!("{class:?}"),
                if faulty { "wrong" } else { "right" }.to_owned(),
                row.named.of.to_string(),
                percent(row.named),
                percent(row.blamed),
                (row.covered / row.named.of).to_string(),
            ]);
            if row.named.held < row.named.of {
                faults.push(format!("{name}: named in {} %", percent(row.named)));
            }
            // A tooth that stands off is handed on to the sparks, and an ignition that is wrong beside it is told.
            let asked = match class {
                Class::Even => Some(faulty),
                Class::Tooth => None,
                Class::InTwoTurns | Class::InATurn | Class::InAPulse => Some(false),
            };
            if asked.is_some_and(|asked| row.blamed.held != if asked { row.blamed.of } else { 0 }) {
                faults.push(format!("{name}: the ignition blamed in {} %", percent(row.blamed)));
            }
        }
    }
    let _ = std::fs::remove_dir_all(folder);
    print("bench: a trace of a shaft that turns unevenly from its first pulse to its last", &rows);
    assert!(faults.is_empty(), "{faults:#?}");
}
