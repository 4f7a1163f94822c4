//! Offset, lag, up against down and vacuum shortfall: near the truth, and U neither too narrow nor too wide.

use crate::bench_model::Errors;
use crate::{regression, with_bounded_errors};
use bobweight_tests::seeds::Seeds;
use bobweight_tool::proof::{Estimate, Regression};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

fn offset(regression: &Regression) -> &Estimate {
    regression.offset.as_ref().expect("an offset")
}

fn lag(regression: &Regression) -> &Estimate {
    regression.lag_us.as_ref().expect("a lag")
}

#[test]
fn lag_and_offset_are_found_within_3_us_and_0_05_degrees_and_u_is_no_wider_than_stated() {
    let seeds = Seeds::of(1_000);
    let (mut lags, mut offsets, mut zeros, mut narrow) = (0, 0, 0, 0);
    let (mut widest_lag, mut widest_offset) = (0.0_f64, 0.0_f64);
    for seed in seeds.iter() {
        let scatter = 0.3;
        let with_lag = regression(seed, with_bounded_errors(Errors { scatter, lag_us: 150.0, ..Errors::default() }));
        let with_offset = regression(seed, with_bounded_errors(Errors { scatter, offset: 2.0, ..Errors::default() }));
        let with_none = regression(seed, with_bounded_errors(Errors { scatter, ..Errors::default() }));
        lags += u32::from((lag(&with_lag).value - 150.0).abs() <= 3.0);
        offsets += u32::from((offset(&with_offset).value - 2.0).abs() <= 0.05);
        zeros += u32::from(lag(&with_none).value.abs() <= 3.0 && offset(&with_none).value.abs() <= 0.05);
        let (of_lag, of_offset) = (lag(&with_none).expanded_uncertainty, offset(&with_none).expanded_uncertainty);
        narrow += u32::from(of_lag <= 2.5 && of_offset <= 0.05);
        widest_lag = widest_lag.max(of_lag);
        widest_offset = widest_offset.max(of_offset);
    }
    println!("widest U: lag {widest_lag:.2} us, offset {widest_offset:.4} crank degrees");
    seeds.at_least("a lag of 150 us within 3 us", lags, 1.0);
    seeds.at_least("an offset of 2 crank degrees within 0.05", offsets, 1.0);
    seeds.at_least("neither, both within those of zero", zeros, 1.0);
    seeds.at_least("U at most 2.5 us and 0.05 crank degrees", narrow, 1.0);
}

#[test]
fn u_holds_each_of_the_four_errors_at_every_scatter() {
    let seeds = Seeds::of(1_000);
    for scatter in [0.0, 0.3, 1.0] {
        let mut held = [0; 4];
        for seed in seeds.iter() {
            let mut rng = ChaCha8Rng::seed_from_u64(seed);
            let truth = [
                rng.random_range(-3.0..3.0),
                rng.random_range(0.0..300.0),
                rng.random_range(-2.0..2.0),
                rng.random_range(-3.0..3.0),
            ];
            let errors = Errors {
                scatter,
                offset: truth[0],
                lag_us: truth[1],
                up_down: truth[2],
                vacuum_shortfall: truth[3],
                clock: rng.random_range(-100e-6..100e-6),
                ..Errors::default()
            };
            let found = regression(seed, with_bounded_errors(errors));
            let estimates = [&found.offset, &found.lag_us, &found.up_down, &found.vacuum_shortfall];
            for ((held, estimate), truth) in held.iter_mut().zip(estimates).zip(truth) {
                let estimate = estimate.as_ref().expect("all four can be told apart");
                *held += u32::from((estimate.value - truth).abs() <= estimate.expanded_uncertainty);
            }
        }
        for (name, held) in ["offset", "lag", "up against down", "vacuum shortfall"].iter().zip(held) {
            seeds.at_least(&format!("scatter {scatter}: U holds {name}"), held, 0.9);
        }
    }
}
