//! A planted error is named, and nothing else besides.

use crate::bench_model::{CENTRIFUGAL, Errors, PICKUP_ANGLE, SECOND_FLANK_ANGLE, VACUUM, setting};
use crate::{run, with_bounded_errors};
use bobweight_tests::seeds::Seeds;
use bobweight_tool::proof::RunVerdict;
use bobweight_tool::record::bench::FindingKind;
use bobweight_tool::record::verdict::Verdict;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// What a planted error must be called, and nothing else besides.
struct Expected {
    kind: FindingKind,
    /// What the sentence must say.
    says: String,
    /// Size and how near it must be found: the U that is stated at most.
    size: Option<(f64, f64)>,
}

fn named_rightly(verdict: &RunVerdict, expected: &Expected) -> bool {
    let [finding] = verdict.findings() else { return false };
    finding.kind == expected.kind
        && finding.sentence.contains(&expected.says)
        && expected.size.is_none_or(|(size, within)| (finding.size - size).abs() <= within)
}

/// Plants an error in 200 seeds and asks that 190 be named rightly, and that none of them pass.
#[track_caller]
fn planted(what: &str, plant: impl Fn(&mut ChaCha8Rng) -> (Errors, Expected)) {
    let seeds = Seeds::of(200);
    let (mut named, mut passed) = (0, 0);
    for seed in seeds.iter() {
        let (errors, expected) = plant(&mut ChaCha8Rng::seed_from_u64(seed));
        let verdict = run(seed, &setting(), Errors { scatter: 0.3, ..with_bounded_errors(errors) });
        let right = named_rightly(&verdict, &expected);
        if !right {
            println!("{what}, seed {seed}: {:?}", verdict.findings());
        }
        named += u32::from(right);
        passed += u32::from(verdict.verdict == Verdict::Pass);
    }
    seeds.at_least(&format!("{what} is named rightly"), named, 0.95);
    assert_eq!(passed, 0, "{what}: runs that passed with it");
}

/// A size on either side.
fn either(rng: &mut ChaCha8Rng, from: f64, to: f64) -> f64 {
    let size = rng.random_range(from..to);
    if rng.random_bool(0.5) { size } else { -size }
}

#[test]
fn a_wrong_pickup_angle_is_named() {
    planted("a wrong pickup angle", |rng| {
        let offset = either(rng, 1.0, 6.0);
        let says = if offset > 0.0 { "early by the same angle" } else { "late by the same angle" }.to_owned();
        (
            Errors { offset, ..Errors::default() },
            Expected { kind: FindingKind::Offset, says, size: Some((offset, 0.05)) },
        )
    });
}

#[test]
fn a_wrong_flank_is_named() {
    planted("a wrong flank", |_| {
        let offset = SECOND_FLANK_ANGLE - PICKUP_ANGLE;
        let expected = Expected {
            kind: FindingKind::Flank,
            says: "late by 52.00 crank degrees".to_owned(),
            size: Some((offset, 0.05)),
        };
        (Errors { offset, ..Errors::default() }, expected)
    });
}

#[test]
fn a_lag_is_named() {
    planted("a lag", |rng| {
        let lag_us = rng.random_range(40.0..400.0);
        let says = "later with speed: a lag of".to_owned();
        (Errors { lag_us, ..Errors::default() }, Expected { kind: FindingKind::Lag, says, size: Some((lag_us, 3.0)) })
    });
}

#[test]
fn one_breakpoint_moved_by_1_degree_is_named() {
    planted("a breakpoint moved by 1 crank degree", |rng| {
        let number = rng.random_range(0..CENTRIFUGAL.len());
        let higher = if rng.random_bool(0.5) { 1.0 } else { -1.0 };
        let says = format!("breakpoint {} of the centrifugal curve", number + 1);
        (
            Errors { breakpoint: Some((number, higher)), ..Errors::default() },
            Expected { kind: FindingKind::Breakpoint, says, size: Some((higher, 0.15)) },
        )
    });
}

#[test]
fn a_vacuum_advance_of_80_percent_is_named() {
    planted("vacuum advance at 80 %", |_| {
        let vacuum_shortfall = 0.2 * VACUUM[1][1];
        (
            Errors { vacuum_shortfall, ..Errors::default() },
            Expected { kind: FindingKind::VacuumShortfall, says: "80 % of 10.0".to_owned(), size: Some((2.0, 0.1)) },
        )
    });
}

#[test]
fn a_pulse_2_degrees_off_is_named() {
    planted("a pulse 2 crank degrees off", |rng| {
        let pulse = rng.random_range(0..4);
        let departure = if rng.random_bool(0.5) { 2.0 } else { -2.0 };
        let says = format!("pulse {} of 4", pulse + 1);
        (
            Errors { pulse: Some((pulse, departure)), ..Errors::default() },
            Expected { kind: FindingKind::Pulse, says, size: Some((departure, 0.1)) },
        )
    });
}

#[test]
fn a_lost_spark_in_400_is_named() {
    planted("a lost spark in 400", |_| {
        let says = "pulses without a spark".to_owned();
        (Errors { lost: 1.0 / 400.0, ..Errors::default() }, Expected { kind: FindingKind::Missing, says, size: None })
    });
}

#[test]
fn an_up_down_difference_is_named() {
    planted("a difference between up and down", |rng| {
        let up_down = either(rng, 1.5, 3.0);
        let says = if up_down > 0.0 { "later after the speed rose" } else { "earlier after the speed rose" }.to_owned();
        (
            Errors { up_down, ..Errors::default() },
            Expected { kind: FindingKind::UpDown, says, size: Some((up_down, 0.1)) },
        )
    });
}
