//! The bench's statistics on made-up runs: how often U holds the truth and how wide it is, how often a verdict is right,
//! how often a planted error is named.
//!
//! The counts are of consecutive seeds from `BASE`; `BOBWEIGHT_SEED` sets another. `BOBWEIGHT_LONG=1` takes all
//! seeds. Without it the first fifth is taken and the same share asked, less two binomial standard errors.

mod bench_model;

use bench_model::{Bench, CENTRIFUGAL, Errors, PICKUP_ANGLE, SECOND_FLANK_ANGLE, VACUUM, setting, test_points};
use bobweight_bench::verdict::{Estimate, FindingKind, Regression, RunVerdict, Setting, Verdict, diagnose, judge_run};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// First seed of every count.
const BASE: u64 = 20_000;

/// Counts over consecutive seeds.
struct Seeds {
    first: u64,
    count: u32,
    long: bool,
}

impl Seeds {
    fn of(full: u32) -> Self {
        let first = match std::env::var("BOBWEIGHT_SEED") {
            Ok(text) => text.parse().expect("BOBWEIGHT_SEED is a whole number"),
            Err(_) => BASE,
        };
        let long = std::env::var("BOBWEIGHT_LONG").is_ok_and(|value| value == "1");
        Self { first, count: if long { full } else { full / 5 }, long }
    }

    fn iter(&self) -> impl Iterator<Item = u64> {
        self.first..self.first + u64::from(self.count)
    }

    /// Two binomial standard errors of a count, none in a long run.
    fn slack(&self, share: f64) -> f64 {
        if self.long { 0.0 } else { 2.0 * (share * (1.0 - share) * f64::from(self.count)).sqrt() }
    }

    #[track_caller]
    fn at_least(&self, what: &str, reached: u32, share: f64) {
        let need = share * f64::from(self.count) - self.slack(share);
        println!("{what}: {reached} of {}, at least {need:.1}", self.count);
        assert!(
            f64::from(reached) >= need,
            "{what}: {reached} of {} seeds from {}, need {need:.1}",
            self.count,
            self.first
        );
    }

    #[track_caller]
    fn at_most(&self, what: &str, reached: u32, share: f64) {
        let most = share * f64::from(self.count) + self.slack(share);
        println!("{what}: {reached} of {}, at most {most:.1}", self.count);
        assert!(
            f64::from(reached) <= most,
            "{what}: {reached} of {} seeds from {}, at most {most:.1}",
            self.count,
            self.first
        );
    }
}

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

#[test]
fn a_perfect_ignition_is_accused_of_nothing() {
    let seeds = Seeds::of(200);
    let mut accused = 0;
    for seed in seeds.iter() {
        let verdict = run(seed, &setting(), with_bounded_errors(Errors { scatter: 0.3, ..Errors::default() }));
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
        let errors = with_bounded_errors(Errors { scatter: 0.3, clock, ..Errors::default() });
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
        let perfect = run(seed, engine, with_bounded_errors(Errors { scatter: 0.3, ..Errors::default() }));
        assert!(perfect.verdict == Verdict::Pass && perfect.findings().is_empty(), "{what}: {:?}", perfect.findings());
        let lag_us = 150.0;
        let late = run(seed, engine, with_bounded_errors(Errors { scatter: 0.3, lag_us, ..Errors::default() }));
        let kinds: Vec<FindingKind> = late.findings().iter().map(|finding| finding.kind).collect();
        assert!(late.verdict == Verdict::Fail && kinds == [FindingKind::Lag], "{what}: {:?}", late.findings());
        assert!((late.findings()[0].size - lag_us).abs() < 6.0, "{what}: {:?}", late.findings());
    }
}
