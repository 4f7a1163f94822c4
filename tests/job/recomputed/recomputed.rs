//! Prints invented readings of a timing light and invented bench runs, with what is made of them, as JSON, for
//! `tests/truth/reference/estimates.py`.

#[path = "../verdict/bench_model.rs"]
#[allow(dead_code, reason = "the verdict's own tests use all of it")]
mod bench_model;

use bench_model::{Bench, Errors, setting};
use bobweight_crank::curve::Curve;
use bobweight_tool::distributor::{Hose, Reading, SpeedWas};
use bobweight_tool::proof::light::{Said, judge, parse, text};
use bobweight_tool::proof::{Estimate, MeasuredPoint, Setting, diagnose};
use bobweight_tool::record::bench::Direction;
use bobweight_tool::sheet;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, Normal};
use serde_json::{Value, json};

const FIRST_SEED: u64 = 70_000;
const LIGHTS: u64 = 12;
const BENCHES: u64 = 4;
/// The demo's timing without vacuum: crank rpm, crank degrees before top dead centre.
const CURVE: [(f64, f64); 3] = [(900.0, 8.0), (1_700.0, 20.0), (3_300.0, 28.0)];

fn main() {
    let seeds = |count: u64| FIRST_SEED..FIRST_SEED + count;
    let lights: Vec<Value> = seeds(LIGHTS).map(light).collect();
    let benches: Vec<Value> = seeds(BENCHES).flat_map(|seed| [bench(seed, false), bench(seed, true)]).collect();
    println!("{}", json!({ "lights": lights, "benches": benches }));
}

/// Seven to eleven readings by eyes of 0.3 to 2 crank degrees, at idle, on the ramps and at the top.
fn light(seed: u64) -> Value {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let demo = include_str!("../../../bench-cli/demo/fire-float.toml");
    let sheet = sheet::parse("engine.toml", demo).expect("a whole sheet");
    let eye = Normal::new(0.0, rng.random_range(0.3..2.0)).expect("a standard deviation");
    let (offset, lag_us) = (rng.random_range(-3.0..3.0), rng.random_range(0.0..150.0));
    let speeds: [&[f64]; 3] = [
        &[650.0, 650.0, 650.0, 1_300.0, 2_500.0, 3_800.0, 3_800.0, 3_800.0, 3_800.0],
        &[650.0, 680.0, 2_400.0, 2_500.0, 3_800.0, 3_900.0, 4_000.0],
        &[650.0, 650.0, 650.0, 650.0, 1_200.0, 1_300.0, 2_000.0, 2_500.0, 3_800.0, 3_800.0, 3_900.0],
    ];
    let speeds = speeds[usize::try_from(seed % 3).expect("0 to 2")];
    let mut read = |about: f64| {
        let crank_rpm: f64 = about + rng.random_range(-40.0_f64..40.0).round();
        let right = Curve::new(&CURVE).at(crank_rpm);
        Reading {
            line: 0,
            hose: Hose::Off,
            speed_was: SpeedWas::Steady,
            crank_rpm,
            crank_degrees: (right + offset - 6e-6 * crank_rpm * lag_us + eye.sample(&mut rng)).round(),
            depression_kpa: None,
        }
    };
    let taken: Vec<Reading> = speeds.iter().map(|&about| read(about)).collect();
    let said = Said { light_lag_us: Some(0.0), zero_is_true: Some(true), ..Said::default() };
    let result =
        judge(&sheet, &parse("light.csv", text(&said, &taken).as_bytes()).expect("readings")).expect("a result");
    json!({
        "seed": seed,
        "curve": CURVE,
        "crank_rpm": taken.iter().map(|one| one.crank_rpm).collect::<Vec<_>>(),
        "crank_degrees": taken.iter().map(|one| one.crank_degrees).collect::<Vec<_>>(),
        // The readings of a place that departs from all others take no part in what is recomputed.
        "one_apart": result.places.iter().any(|place| place.judged_alone),
        "offset": result.offset_crank_degrees_early,
        "lag_us": result.lag_us,
        "scatter": result.scatter_crank_degrees,
    })
}

/// A run with an offset and a lag, at all depressions, or at one with the speed going up alone.
fn bench(seed: u64, at_one_depression: bool) -> Value {
    // The clocks' share and the depression's step are beliefs of their own.
    let setting = Setting { clock_tolerance: 0.0, vacuum_step_kpa: 0.0, ..setting() };
    let errors = Errors { scatter: 0.3, core: 0.02, offset: 2.0, lag_us: 100.0, ..Errors::default() };
    let mut points = Bench::new(seed, &setting, errors).first_look();
    if at_one_depression {
        let depression = points.iter().map(|point| point.conditions.depression_kpa).fold(0.0, f64::max);
        points.retain(|point| {
            point.conditions.direction == Direction::Rising
                && (point.conditions.depression_kpa - depression).abs() < 1e-9
        });
    }
    let found = diagnose(&points, &setting).regression.expect("enough test points");
    let estimate =
        |one: &Option<Estimate>| one.as_ref().map(|one| json!({ "value": one.value, "by_scatter": one.statistical }));
    let point = |one: &MeasuredPoint| {
        let (at, means) = (&one.conditions, &one.statistics.cycle_means);
        json!({
            "crank_rpm": at.speed_crank_rpm,
            "kpa": at.depression_kpa,
            "direction": if at.direction == Direction::Rising { 1 } else { -1 },
            "vacuum_advance": at.vacuum_advance,
            "mean": means.mean,
            "standard_deviation": means.standard_deviation,
            "cycles": means.count,
        })
    };
    json!({
        "seed": seed,
        "centrifugal": setting.centrifugal,
        "greatest_vacuum_advance": setting.greatest_vacuum_advance(),
        "tick_bench_s": setting.tick_bench_s,
        "tick_ignition_s": setting.tick_ignition_s,
        "points": points.iter().map(point).collect::<Vec<_>>(),
        "further": found.further.len(),
        "offset": estimate(&found.offset),
        "lag_us": estimate(&found.lag_us),
        "up_down": estimate(&found.up_down),
        "vacuum_shortfall": estimate(&found.vacuum_shortfall),
        "chi_square": found.chi_square,
        "degrees_of_freedom": found.degrees_of_freedom,
    })
}
