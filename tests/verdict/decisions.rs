//! Pass, fail and undecided: how often each is right.

use crate::bench_model::{Bench, Errors, setting, test_points};
use crate::run;
use bobweight_bench::verdict::Verdict;
use bobweight_tests::seeds::Seeds;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

#[test]
fn the_bound_of_the_verdict_tests_is_at_most_0_05_degrees() {
    let setting = setting();
    let points = Bench::new(0, &setting, Errors::default()).first_look();
    let greatest = points.iter().map(|point| setting.bound(&point.conditions).total()).fold(0.0, f64::max);
    println!("greatest bound: {greatest:.4} crank degrees");
    assert!(greatest <= 0.05, "{greatest}");
}

#[test]
fn a_perfect_ignition_passes() {
    let seeds = Seeds::of(1_000);
    let (mut passed, mut undecided) = (0, 0);
    for seed in seeds.iter() {
        let verdict = run(seed, &setting(), Errors { scatter: 0.3, ..Errors::default() }).verdict;
        passed += u32::from(verdict == Verdict::Pass);
        undecided += u32::from(verdict == Verdict::Undecided);
    }
    seeds.at_least("a perfect ignition passes", passed, 0.99);
    seeds.at_most("a perfect ignition is undecided", undecided, 0.01);
}

#[test]
fn an_ignition_exactly_at_tolerance_everywhere_does_not_fail() {
    let seeds = Seeds::of(1_000);
    let mut failed = 0;
    for seed in seeds.iter() {
        let offset = if seed % 2 == 0 { 0.5 } else { -0.5 };
        let verdict = run(seed, &setting(), Errors { scatter: 0.3, offset, ..Errors::default() }).verdict;
        failed += u32::from(verdict == Verdict::Fail);
    }
    seeds.at_most("an ignition at tolerance everywhere fails", failed, 0.015);
}

#[test]
fn an_ignition_with_a_single_point_at_0_75_fails() {
    let seeds = Seeds::of(1_000);
    let points = test_points(&setting()).len();
    let mut failed = 0;
    for seed in seeds.iter() {
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        let error = if rng.random_bool(0.5) { 0.75 } else { -0.75 };
        let point = Some((rng.random_range(0..points), error));
        let verdict = run(seed, &setting(), Errors { scatter: 0.3, point, ..Errors::default() }).verdict;
        failed += u32::from(verdict == Verdict::Fail);
    }
    seeds.at_least("an ignition with a single point at 0.75 fails", failed, 0.99);
}
