//! The proof of the limits against brute force: every speed and every depression of small domains, in the arithmetic of the
//! independent ignition. A curve is flat beyond its breakpoints, so a domain that holds them all and one step at either side
//! holds everything there is.

use bobweight::quantity::{Advance, CrankAngle, CrankSpeed, Depression};
use bobweight::strategy::{self, Place};
use bobweight::{Corner, Limit, Phase, Timetable};
use bobweight_crank::Ignition;
use bobweight_tests::numbers::{Numbers, times};
use bobweight_tests::plain::Plain;
use fixed::types::{I16F16, U24F8};
use proptest::prelude::*;
use proptest::strategy::ValueTree;
use proptest::test_runner::TestRunner;
use std::time::Instant;

const SPEED_STEP: f64 = 1.0 / CrankSpeed::STEP as f64;
const KPA_STEP: f64 = 1.0 / Depression::STEP as f64;
const DEGREE: f64 = 1.0 / Advance::STEP as f64;
/// Ignitions that are looked at of what the strategies make.
const SAMPLES: u32 = 2_000;
/// Half a step of an advance: what stands exactly on a limit keeps it.
const HALF_A_STEP: f64 = DEGREE / 2.0;

/// Breakpoints in a window of so many steps; each y by `y`.
fn breakpoints(
    numbers: &mut Numbers,
    first: f64,
    step: f64,
    mut y: impl FnMut(&mut Numbers) -> f64,
) -> Vec<(f64, f64)> {
    let mut points = Vec::new();
    let mut at = 0.0;
    for _ in 0..numbers.one_of(&[2, 2, 3, 4, 6]) {
        points.push((first + at * step, y(numbers)));
        at += numbers.between(1.0, 5.0).floor();
    }
    points
}

/// A model whose breakpoints lie close together, and whose limits lie close to its sums.
fn small(numbers: &mut Numbers) -> Plain {
    let base = Plain::fire_float();
    let few_steps = |numbers: &mut Numbers| numbers.between(-3.0, 4.0).floor() * DEGREE;
    // One step of speed holds 256 steps of advance at the steepest; a few are enough, and often equal.
    let first = numbers.between(0.0, 5000.0).floor();
    let centrifugal = breakpoints(numbers, first, SPEED_STEP, few_steps);
    let vacuum = if numbers.next_share() < 0.2 {
        Vec::new()
    } else {
        let first = numbers.one_of(&[0.0, 0.0, 20.0, 109.0]);
        let coarse = numbers.one_of(&[1.0, 1.0, 60_000.0]);
        breakpoints(numbers, first, KPA_STEP, |numbers| few_steps(numbers) * coarse)
    };
    let advances = [base.initial, 2.0, -1.0].map(|around| around + few_steps(numbers));
    let (low, high) = vacuum.iter().fold((0.0f64, 0.0f64), |(a, b), &(_, y)| (a.min(y), b.max(y)));
    let slack = |numbers: &mut Numbers| numbers.between(-4.0, 5.0).floor() * DEGREE;
    let held = numbers.one_of(&[advances[0], advances[0] + high, advances[0] + low, 12.0]);
    let greatest = (advances[0] + high + slack(numbers)).max(advances[0] + slack(numbers));
    let without_vacuum = numbers.one_of(&[advances[0], greatest, 12.0]) + slack(numbers);
    let least = (advances[0] + low + slack(numbers)).min(greatest).min(without_vacuum);
    Plain {
        initial: advances[0],
        cranking: advances[1],
        held,
        greatest_cranking: advances[1] + slack(numbers),
        second_flank_angle: None,
        centrifugal,
        vacuum,
        ported: numbers.next_share() < 0.5,
        greatest,
        greatest_without_vacuum: without_vacuum,
        least,
        ..base
    }
    .in_steps()
}

/// Every x of a window about breakpoints, and the ends of the range.
fn window(points: &[(f64, f64)], step: f64, last: f64) -> Vec<f64> {
    let mut all = vec![0.0];
    if let (Some(&(first, _)), Some(&(end, _))) = (points.first(), points.last()) {
        let mut x = (first - step).max(0.0);
        while x <= (end + step).min(last) {
            all.push(x);
            x += step;
        }
    }
    all.push(last);
    all
}

/// The extreme sums of a model by brute force: greatest, greatest at full throttle, cranking, least.
fn brute(plain: &Plain) -> [f64; 4] {
    let truth = plain.truth();
    let speeds = window(&plain.centrifugal, SPEED_STEP, 20_000.0);
    let depressions = window(&plain.vacuum, KPA_STEP, 110.0);
    let (mut greatest, mut full_throttle, mut least) = (plain.held, plain.held, plain.held);
    for &rpm in &speeds {
        let mut ask = |vacuum: f64, throttle_is_open_wide: bool| {
            let (sum, _) = Ignition::running_advance(&truth, rpm, vacuum);
            greatest = greatest.max(sum);
            least = least.min(sum);
            if throttle_is_open_wide {
                full_throttle = full_throttle.max(sum);
            }
        };
        // A failed sensor gives nothing.
        ask(0.0, true);
        for &kpa in &depressions {
            ask(truth.vacuum.at(kpa), kpa == 0.0);
        }
    }
    [greatest, full_throttle, plain.cranking, least]
}

/// The sum at a corner, by the independent ignition.
fn sum_at(plain: &Plain, limit: Limit, corner: &Corner) -> f64 {
    let truth = plain.truth();
    match (limit, corner.running) {
        (Limit::GreatestCranking, _) => plain.cranking,
        (_, false) => plain.held,
        (_, true) => {
            let vacuum = corner.depression.map_or(0.0, |depression| truth.vacuum.at(depression.get().to_num()));
            Ignition::running_advance(&truth, corner.speed.get().to_num(), vacuum).0
        }
    }
}

#[test]
fn the_proof_agrees_with_brute_force_over_small_domains() {
    let mut numbers = Numbers::new(1);
    let (models, mut broken, mut proof) = (10_000 * times(), [0; 4], std::time::Duration::ZERO);
    for _ in 0..models {
        let plain = small(&mut numbers);
        let model = plain.core().unwrap_or_else(|error| panic!("{error}: {plain:?}")).model;
        let begun = Instant::now();
        let judgements = model.judge();
        proof += begun.elapsed();
        for ((judgement, extreme), count) in judgements.0.iter().zip(brute(&plain)).zip(&mut broken) {
            let allowed: f64 = judgement.allowed.get().to_num();
            let sum: f64 = judgement.worst.sum.get().to_num();
            assert!((sum - extreme).abs() < 1e-9, "{judgement}, by brute force {extreme}: {plain:?}");
            let inside = if judgement.limit == Limit::Least { extreme - allowed } else { allowed - extreme };
            let margin: f64 = judgement.margin.get().to_num();
            assert!((margin - inside).abs() < 1e-9, "{judgement}, by brute force {inside} inside: {plain:?}");
            assert_eq!(judgement.holds(), inside > -HALF_A_STEP, "{judgement}: {plain:?}");
            let there = sum_at(&plain, judgement.limit, &judgement.worst);
            assert!((there - extreme).abs() < 1e-9, "the named corner has {there}: {judgement}: {plain:?}");
            *count += u32::from(!judgement.holds());
        }
        assert_eq!(judgements.hold(), judgements.0.iter().all(bobweight::Judgement::holds));
    }
    println!("{models} models, broken limits {broken:?}, {:.3} ms for all proofs", proof.as_secs_f64() * 1e3);
    // A test that meets few of either kind shows little.
    assert!(broken.iter().all(|&broken| broken > 500 && (broken as usize) < models - 500), "{broken:?}");
}

proptest! {
    #![proptest_config(ProptestConfig { max_global_rejects: 100_000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn no_place_of_any_model_is_worse_than_its_worst_corners(
        model in strategy::models(),
        places in prop::collection::vec(strategy::place_choices(), 64),
    ) {
        for choice in &places {
            strategy::place(&model, choice.of(&model)).map_err(TestCaseError::fail)?;
        }
        // And the worst corners are places of the model.
        for judgement in model.judge().0 {
            let corner = judgement.worst;
            let phase = match (judgement.limit, corner.running) {
                (Limit::GreatestCranking, _) => Phase::Cranking,
                (_, true) => Phase::Running,
                (_, false) => Phase::Held,
            };
            let margins = model.margins_at(phase, corner.speed, corner.depression, false, corner.trim);
            prop_assert!(margins.contains(&Some(judgement.margin)), "{}: {:?}", judgement, margins);
        }
    }

    #[test]
    fn a_law_of_limits_is_broken_where_the_proof_says_so(model in strategy::models()) {
        let broken = model.judge().0.into_iter().filter(|judgement| !judgement.holds()).count();
        match strategy::limits(&model) {
            Ok(()) => prop_assert_eq!(broken, 0),
            Err(words) => prop_assert_eq!(words.to_string().lines().count(), broken, "{}", words),
        }
    }

    #[test]
    fn any_timetable_keeps_the_laws_of_sparks_and_orders(
        plain in prop_oneof![2 => bobweight_tests::strategy::plain(), 1 => bobweight_tests::strategy::reluctor()],
        periods in prop::collection::vec(0..4_000_000u32, 16),
        stream in strategy::edge_streams(30_000, 60),
    ) {
        let Ok(table) = plain.timetable() else { return Err(TestCaseError::reject("refused")) };
        let core = plain.core().unwrap();
        let vacuum = core.model.settings().vacuum.map_or(Advance::from_bits(0).unwrap(), |vacuum| vacuum.curve.range().1);
        for period in periods {
            for phase in [Phase::Cranking, Phase::Running, Phase::Held] {
                let what = (phase, period, vacuum);
                strategy::spark(&core.model, &core.pickup, &core.firmware, &table, what).map_err(TestCaseError::fail)?;
            }
        }
        strategy::orders(&table, &stream).map_err(TestCaseError::fail)?;
    }
}

#[test]
fn strategies_make_every_kind_of_ignition() {
    let mut runner = TestRunner::deterministic();
    let all = (strategy::models(), strategy::pickups(), strategy::dwells());
    let firmware = Plain::fire_float().core().unwrap().firmware;
    let mut pulses = [0u32; 13];
    let (mut vacuums, mut second_flanks, mut reluctors, mut lags, mut timed, mut kept) = (0, 0, 0, 0, 0, 0);
    for _ in 0..SAMPLES {
        let (model, pickup, dwell) = all.new_tree(&mut runner).unwrap().current();
        let settings = pickup.settings();
        pulses[usize::from(settings.pulses_in_two_turns)] += 1;
        vacuums += u32::from(model.settings().vacuum.is_some());
        second_flanks += u32::from(settings.second_flank_angle.is_some());
        reluctors += u32::from(settings.moving_flank.is_some());
        lags += u32::from(settings.lag.bits() > 0);
        timed += u32::from(Timetable::new(&model, &pickup, &dwell, &firmware).is_ok());
        kept += u32::from(model.judge().hold());
    }
    println!(
        "of {SAMPLES}: {vacuums} with vacuum advance, {second_flanks} with a second flank, {reluctors} reluctors, {lags} with lag, {kept} keep their limits, {timed} can be timed"
    );
    assert!(pulses[0] == 0 && pulses[1..].iter().all(|&count| count > 50), "{pulses:?}");
    for count in [vacuums, second_flanks, reluctors, lags, kept] {
        assert!(
            count > SAMPLES / 10 && count < SAMPLES * 9 / 10,
            "{vacuums} {second_flanks} {reluctors} {lags} {kept}"
        );
    }
}

/// What is left of a value while `fails` still fails, after every shrinking that the strategy knows.
fn smallest<T: Clone + std::fmt::Debug>(strategy: impl Strategy<Value = T>, fails: impl Fn(&T) -> bool) -> T {
    let mut runner = TestRunner::deterministic();
    let mut tree = strategy.new_tree(&mut runner).unwrap();
    while !fails(&tree.current()) {
        tree = strategy.new_tree(&mut runner).unwrap();
    }
    let mut found = tree.current();
    let mut moved = tree.simplify();
    while moved {
        if fails(&tree.current()) {
            found = tree.current();
            moved = tree.simplify();
        } else {
            moved = tree.complicate();
        }
    }
    found
}

#[test]
fn what_breaks_shrinks_to_few_breakpoints_and_whole_numbers() {
    let curve = smallest(strategy::centrifugal_curves(), |curve| curve.range().1.get() > I16F16::lit("12"));
    assert_eq!(curve.count(), 2, "{curve:?}");
    let curve = smallest(strategy::vacuum_curves(), |curve| curve.range().1.get() > I16F16::lit("12"));
    assert_eq!(curve.count(), 2, "{curve:?}");
    assert_eq!(curve.range().1.get(), I16F16::lit("13"), "the least whole number above 12: {curve:?}");
    let speed = smallest(strategy::speeds(), |speed| speed.get() > U24F8::lit("3119.5"));
    assert_eq!(speed.get(), U24F8::lit("3120"));
    let model = smallest(strategy::models(), |model| strategy::limits(model).is_err());
    assert!(model.settings().vacuum.is_none() && model.settings().centrifugal.count() == 2, "{model:?}");
    let stream = smallest(strategy::edge_streams(1000, 50), |stream| stream.len() > 3);
    let even = stream.iter().zip(1..).all(|(edge, i)| edge.at == 1000 * i && edge.handled_after == 0);
    assert!(stream.len() == 4 && even, "{stream:?}");
}

#[test]
fn the_laws_notice_what_they_are_for() {
    // A place whose margin is less than the proof's cannot be made of a right model; that of another model can.
    let plain = Plain { greatest: 37.0, ..Plain::fire_float() };
    let model = plain.core().unwrap().model;
    let words = strategy::limits(&model).unwrap_err().to_string();
    assert_eq!(
        words,
        "greatest: at 3 300 crank rpm and 40.5 kPa depression the sum is 38 crank degrees, limit 37: vacuum at full plus \
         centrifugal at most"
    );
    // A table of an earlier curve's limit orders sparks beyond the later, lower limit.
    let (core, table) = (plain.core().unwrap(), Plain::fire_float().timetable().unwrap());
    let vacuum = Advance::new(I16F16::lit("10")).unwrap();
    let beyond = (Phase::Running, 18_000, vacuum);
    let words = strategy::spark(&model, &core.pickup, &core.firmware, &table, beyond).unwrap_err();
    assert!(words.contains("beyond the greatest 37 crank degrees"), "{words}");
    let right = plain.timetable().unwrap();
    assert_eq!(strategy::spark(&model, &core.pickup, &core.firmware, &right, beyond), Ok(()));
    assert_eq!(CrankAngle::STEP, Advance::STEP);
    let trim = Advance::new(I16F16::ZERO).unwrap();
    let place = Place { phase: Phase::Running, speed: CrankSpeed::MAX, depression: None, throttle_closed: false, trim };
    assert_eq!(strategy::place(&model, place), Ok(()));
}
