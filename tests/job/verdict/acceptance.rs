//! The bench's statistics on made-up runs: how often U holds the truth and how wide it is, how often a verdict is right,
//! how often a planted error is named.

mod bench_model;
mod decisions;
mod estimates;
mod innocent;
mod planted;

use bench_model::{Bench, Errors, setting};
use bobweight_tool::proof::{Regression, RunVerdict, Setting, diagnose, judge_run};

/// Systematic errors inside what the bound states, drawn for each seed.
fn with_bounded_errors(errors: Errors) -> Errors {
    Errors { core: 0.02, ..errors }
}

fn regression(seed: u64, errors: Errors) -> Regression {
    let points = Bench::new(seed, &setting(), errors).first_look();
    diagnose(&points, &setting()).regression.expect("78 test points")
}

fn run(seed: u64, setting: &Setting, errors: Errors) -> RunVerdict {
    judge_run(&Bench::new(seed, setting, errors).run(), setting)
}
