//! Ignitions without an error, clocks within their tolerance, and other engines.

use crate::bench_model::{Errors, setting};
use crate::decisions::SCATTER;
use crate::{run, with_bounded_errors};
use bobweight_tests::seeds::{BASE, Seeds};
use bobweight_tool::proof::Setting;
use bobweight_tool::record::bench::FindingKind;
use bobweight_tool::record::verdict::Verdict;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

#[test]
fn a_perfect_ignition_is_accused_of_nothing() {
    let seeds = Seeds::of(200);
    let mut accused = 0;
    for seed in seeds.iter() {
        let verdict = run(seed, &setting(), with_bounded_errors(Errors { scatter: SCATTER, ..Errors::default() }));
        accused += u32::from(!verdict.findings().is_empty());
    }
    seeds.at_most("a perfect ignition is accused", accused, 0.02);
}

#[test]
fn a_clock_within_its_stated_tolerance_passes_and_is_accused_of_nothing() {
    let seeds = Seeds::of(200);
    let setting = Setting { clock_tolerance: 0.005, ..setting() };
    let (mut passed, mut accused) = (0, 0);
    for seed in seeds.iter() {
        let clock = ChaCha8Rng::seed_from_u64(seed).random_range(-0.005..=0.005);
        let errors = with_bounded_errors(Errors { scatter: SCATTER, clock, ..Errors::default() });
        let verdict = run(seed, &setting, errors);
        passed += u32::from(verdict.verdict == Verdict::Pass);
        accused += u32::from(!verdict.findings().is_empty());
    }
    seeds.at_least("a clock within 0.5 % passes", passed, 0.95);
    seeds.at_most("a clock within 0.5 % is accused", accused, 0.02);
}

/// Other engines than the one above: pulses, centrifugal and vacuum breakpoints.
fn other_engines() -> Vec<Setting> {
    let two = vec![[1000.0, 0.0], [2800.0, 22.0]];
    let nine: Vec<[f64; 2]> = (0..9).map(|k| [800.0 + 400.0 * f64::from(k), 2.5 * f64::from(k)]).collect();
    [1, 2, 3, 5, 6, 8, 12]
        .into_iter()
        .flat_map(|pulses_in_two_turns| {
            [
                (&two, vec![]),
                (&two, vec![[10.0, 0.0], [30.0, 14.0]]),
                (&nine, vec![[17.0, 0.0], [25.0, 4.0], [41.0, 8.0]]),
            ]
            .map(|(centrifugal, vacuum)| Setting {
                pulses_in_two_turns,
                centrifugal: centrifugal.clone(),
                vacuum,
                flank_distance: None,
                ..setting()
            })
        })
        .collect()
}

#[test]
fn other_engines_pass_and_a_lag_is_named_on_them_too() {
    for (engine, seed) in other_engines().iter().zip(BASE..) {
        let what = format!("{} pulses, {} breakpoints", engine.pulses_in_two_turns, engine.centrifugal.len());
        let perfect = run(seed, engine, with_bounded_errors(Errors { scatter: SCATTER, ..Errors::default() }));
        assert!(perfect.verdict == Verdict::Pass && perfect.findings().is_empty(), "{what}: {:?}", perfect.findings());
        let lag_us = 150.0;
        let late = run(seed, engine, with_bounded_errors(Errors { scatter: SCATTER, lag_us, ..Errors::default() }));
        let kinds: Vec<FindingKind> = late.findings().iter().map(|finding| finding.kind).collect();
        assert!(late.verdict == Verdict::Fail && kinds == [FindingKind::Lag], "{what}: {:?}", late.findings());
        assert!((late.findings()[0].size - lag_us).abs() < 6.0, "{what}: {:?}", late.findings());
    }
}
