//! The survey on a pseudo-terminal, as somebody with oily hands plays it: wrong answers, units mixed, interruptions and going on
//! from them, a mark that lies off, readings that scatter, a tachometer that is out; and what `fit` makes of the readings.
//!
//! The distributors are invented, and their truth is arithmetic of [`truth`]. The shares and widths that are asked for are the
//! project's own: those that `tests/job/fit/acceptance.rs` and `tests/job/survey/acceptance.rs` ask of readings by eye. Three surveys
//! of a kind, in the default run, can only show a method that is far off; the long run counts.
#![cfg(target_os = "linux")]

#[allow(dead_code, reason = "not every count is asked for here")]
#[path = "../../tools/support/seeds.rs"]
mod seeds;
mod sitting;
mod surveyor;
#[path = "../bench/terminal.rs"]
mod terminal;
mod truth;

use std::process::Command;

use bobweight_tool::distributor::ENOUGH_CRANK_DEGREES;
use bobweight_tool::distributor::readings;
use bobweight_tool::distributor::{Estimate, FitOptions, FitResult, VacuumOutcome, fit};
use seeds::{Seeds, Tally};
use sitting::Interruption;
use surveyor::Surveyor;
use truth::{BY_EYE, Reader, Truth};

/// Surveys of each kind in the long run.
const SURVEYS: u32 = 15;

/// Every fact, the parts of several readings of both kinds, and what is asked after them.
fn often() -> Vec<(usize, Interruption)> {
    let kinds = [Interruption::Stop, Interruption::CtrlC, Interruption::Killed];
    let facts = 1..14;
    let readings = [14, 15, 18, 21, 26, 33, 46, 47, 61, 62, 63, 69, 77];
    facts.chain(readings).zip(kinds.into_iter().cycle()).collect()
}

/// Truth is drawn in the order of the right answers alone: the same answers must make the same file.
#[test]
fn nothing_is_lost_and_nothing_asked_twice_wherever_it_is_interrupted() {
    let folder = tempfile::tempdir().expect("a folder");
    let play = |name: &str, interruptions: &[(usize, Interruption)]| {
        let out = folder.path().join(name);
        let mut surveyor = Surveyor::new(Truth::invent(seeds::BASE, BY_EYE), out.clone());
        surveyor.survey(interruptions);
        assert!(surveyor.wrong >= 30, "{} wrong answers", surveyor.wrong);
        assert_eq!(surveyor.said.contains("Going on from"), !interruptions.is_empty(), "{}", surveyor.said);
        (std::fs::read_to_string(out).expect("readings"), surveyor)
    };
    let (whole, surveyor) = play("whole.csv", &[]);
    let said = surveyor.said.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(said.contains("That is enough") && said.contains("Next: bobweight fit"), "{said}");
    assert!(said.contains("(+ rising, x falling, o steady)"), "{said}");
    assert!(said.contains("that is taken out of every reading"), "{said}");
    assert!(said.contains("does not begin with a number") && said.contains("is outside"), "{said}");
    let (interrupted, _) = play("interrupted.csv", &often());
    assert_eq!(interrupted, whole);
}

/// The survey of a seed, and what `fit` makes of it.
struct Judged {
    truth: Truth,
    found: FitResult,
    hose_off: usize,
    low: f64,
    high: f64,
}

fn judged(seed: u64, reader: Reader) -> Judged {
    let folder = tempfile::tempdir().expect("a folder");
    let out = folder.path().join("readings.csv");
    let mut surveyor = Surveyor::new(Truth::invent(seed, reader), out.clone());
    surveyor.survey(&[(20, Interruption::Killed), (40, Interruption::CtrlC)]);
    let command = Command::new(env!("CARGO_BIN_EXE_bobweight")).arg("fit").arg(&out).output().expect("the binary runs");
    assert!(command.status.success(), "{command:?}");
    let read = readings::read(&out).expect("readings for `fit`");
    assert_eq!(read.hose_on().count(), 10);
    let found = fit(&read, &FitOptions::default()).expect("a fit");
    let (low, high) = (found.lowest.speed, found.highest.speed);
    Judged { truth: surveyor.truth, hose_off: read.hose_off().count(), found, low, high }
}

/// What was counted over the seeds.
#[derive(Default)]
struct Counts {
    levels: Tally,
    knots: Tally,
    vacuum: Tally,
    band: Tally,
    /// The band within what is enough by 20 readings.
    soon: Tally,
    /// Half-width of a knot times its change of slope at most 1.3 crank degrees.
    corners: Tally,
    half_bands: Vec<f64>,
}

fn count(reader: Reader) -> Counts {
    let mut counts = Counts::default();
    for seed in Seeds::of(SURVEYS).iter() {
        let Judged { truth, found, hose_off, low, high } = judged(seed, reader);
        let right = found.ramps == 1;
        counts.levels.count(found.initial.holds(truth.initial));
        counts.levels.count(found.levels.last().is_some_and(|top| top.holds(truth.initial + truth.centrifugal)));
        for at in 0..2 {
            let held = found.knots.get(at).is_some_and(|knot| knot.holds(truth.knots[at] * reader.tachometer));
            counts.knots.count(right && held);
            let worth =
                found.knots.get(at).map(|knot| Estimate::half_width(knot) * found.found.change_of_slope(at).abs());
            counts.corners.count(worth.is_some_and(|worth| worth <= 1.3));
        }
        for step in 0..=20 {
            let speed = low + (high - low) * f64::from(step) / 20.0;
            let band = found.band_at(speed);
            counts.band.count((band.low..=band.high).contains(&truth.hose_off(speed / reader.tachometer)));
        }
        let half = found.widest_half_band(low, high).1;
        counts.half_bands.push(half);
        counts.soon.count(hose_off <= 20 && half <= ENOUGH_CRANK_DEGREES);
        let VacuumOutcome::Fitted(vacuum) = &found.vacuum else { panic!("ten readings are enough") };
        for (estimate, truth) in [&vacuum.start, &vacuum.full, &vacuum.greatest].into_iter().zip(truth.vacuum) {
            counts.vacuum.count(estimate.holds(truth));
        }
        println!("seed {seed}: {hose_off} readings, band within {half:.2}, {} ramp(s)", found.ramps);
    }
    counts
}

impl Counts {
    /// A fitted truth lies in its intervals, as often as they say.
    #[track_caller]
    fn hold_the_truth(&self) {
        self.levels.at_least("initial and greatest in their intervals", 0.88);
        self.knots.at_least("knots in their intervals", 0.88);
        self.vacuum.at_least("vacuum start, full and greatest in their intervals", 0.86);
        // No published rate: what the survey's own proposals are held to, too.
        self.band.at_least("the curve in its band", 0.90);
    }
}

#[test]
fn read_by_eye_the_truth_is_in_narrow_intervals() {
    let counts = count(BY_EYE);
    counts.hold_the_truth();
    counts.soon.at_least("enough by 20 readings", 0.85);
    counts.corners.at_least("corners at most 1.3 crank degrees wide", 0.85);
}

/// Wider than it must be is said, and not hidden; nobody is asked for the sixteen times as many readings that it would take.
///
/// All in units of the scatter, the band of n readings is as wide as one over the root of n. What is enough by 20 readings at
/// 0.5 crank degrees is four times that at 2, less the root of 2 by 40 readings.
#[test]
fn readings_that_scatter_by_2_crank_degrees_give_wide_intervals_with_the_truth_in_them() {
    let counts = count(Reader { scatter: 2.0, ..BY_EYE });
    counts.hold_the_truth();
    let most = ENOUGH_CRANK_DEGREES * 4.0 / 2.0_f64.sqrt();
    let mut narrow = Tally::default();
    for &half in &counts.half_bands {
        assert!(half > ENOUGH_CRANK_DEGREES, "{half}");
        narrow.count(half <= most);
    }
    narrow.at_least(&format!("a band within {most:.2} crank degrees"), 0.85);
}

/// The tachometer was seen to wander, which the readings state.
#[test]
fn speeds_that_scatter_by_2_percent_leave_the_truth_in_the_intervals() {
    count(Reader { speed_scatter: 0.02, ..BY_EYE }).hold_the_truth();
}

/// The levels do not hang on the tachometer; the corners lie where it shows them.
#[test]
fn a_tachometer_3_percent_out_moves_the_corners_and_not_the_levels() {
    let counts = count(Reader { tachometer: 1.03, ..BY_EYE });
    counts.hold_the_truth();
    counts.soon.at_least("enough by 20 readings", 0.85);
}
