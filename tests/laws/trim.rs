//! A trim: whatever its input asks for, what is added to the curve stays within what the limits were proven with.

use bobweight::strategy;
use bobweight::{AdvanceModel, Answer, Flank, Limit, Phase, Sequencer, Trim};
use bobweight_tests::plain::{Plain, advance, speed};
use proptest::prelude::*;

const TICKS_A_SECOND: f64 = 2e6;

/// The trimmed fire float: 4.3 crank degrees later, 2 earlier.
fn trimmed(plain: &Plain) -> AdvanceModel {
    plain.core().unwrap().model.with_trim(Trim::from_tenths(43, 20).unwrap())
}

/// Worked out by hand from the numbers of `Plain::fire_float`: 8 initial, 20 at the most of the weights, 10 of the vacuum unit.
#[test]
fn the_limits_are_judged_at_both_ends_of_the_trim() {
    let model = trimmed(&Plain::fire_float());
    let sums = model.judge().0.map(|judgement| (judgement.limit, judgement.worst.sum.get().to_num::<f64>()));
    let near = |a: f64, b: f64| (a - b).abs() < 1e-4;
    assert!(near(sums[0].1, 8.0 + 20.0 + 10.0 + 2.0), "{sums:?}");
    assert!(near(sums[1].1, 8.0 + 20.0 + 2.0), "{sums:?}");
    assert_eq!(sums[2], (Limit::GreatestCranking, 8.0));
    assert!(near(sums[3].1, 8.0 - 4.3), "{sums:?}");
    let at_most = &model.judge().0[0];
    assert_eq!(
        at_most.to_string(),
        "at 3 300 crank rpm and 40.5 kPa depression the sum is 40 crank degrees, limit 42: vacuum at full plus \
         centrifugal at most, trimmed by 2 crank degrees"
    );
    // A limit that the curve alone keeps and the trim breaks.
    let tight = Plain { greatest: 39.0, ..Plain::fire_float() };
    assert!(tight.core().unwrap().model.judge().hold());
    assert!(!trimmed(&tight).judge().hold());
    let late = Plain { least: 4.0, ..Plain::fire_float() };
    assert!(late.core().unwrap().model.judge().hold());
    assert!(!trimmed(&late).judge().hold());
}

#[test]
fn a_trim_is_kept_to_its_bounds_and_a_failed_input_is_given_the_least() {
    let trim = Trim::from_tenths(43, 20).unwrap();
    for (asked, given) in [(Some(9.0), 2.0), (Some(2.0), 2.0), (Some(-1.5), -1.5), (Some(-30.0), -4.3), (None, -4.3)] {
        let given_by_core = trim.given(asked.map(advance)).get().to_num::<f64>();
        assert!((given_by_core - given).abs() < 1e-4, "{asked:?}: {given_by_core}");
    }
    assert_eq!(Trim::NONE.given(Some(advance(5.0))), advance(0.0));
    assert_eq!(Trim::NONE.given(None), advance(0.0));
    assert_eq!(
        Trim::from_tenths(101, 0).unwrap_err().to_string(),
        "a trim goes at most 10 crank degrees either way, not 10.1"
    );
}

#[test]
fn only_a_running_engine_is_trimmed() {
    let model = trimmed(&Plain::fire_float());
    let (rpm, asked) = (speed(1_300.0), advance(-4.0));
    for (phase, wanted) in [(Phase::Running, 8.0 + 6.0 - 4.0), (Phase::Held, 8.0), (Phase::Cranking, 8.0)] {
        let found = model.advance_trimmed(phase, rpm, None, false, asked).unwrap().total.get().to_num::<f64>();
        assert!((found - wanted).abs() < 1e-4, "{phase:?}: {found}");
    }
}

/// The spark of an edge at 3 000 crank rpm, in crank degrees before top dead centre, by the formula of the pickup alone.
fn ordered(plain: &Plain, sequencer: &mut Sequencer<'_>) -> f64 {
    let period = plain.period(3_000.0) * TICKS_A_SECOND;
    let mut found = f64::NAN;
    let mut now = sequencer.last_edge().unwrap_or(0);
    for _ in 0..12 {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "20 000 ticks")]
        let ticks = period as u32;
        let off_before = now;
        now = now.wrapping_add(ticks);
        let _ = sequencer.poll(off_before.wrapping_add(ticks / 2));
        if let Answer::Order { off, .. } | Answer::MoveOff { off } = sequencer.edge(Flank::Timing, now, now) {
            found = plain.pickup_angle - f64::from(off.wrapping_sub(now)) / period * 720.0 / f64::from(plain.pulses);
        }
    }
    found
}

/// From the sample to the order: a retard at once, an advance no faster than 30 crank degrees a second.
#[test]
fn the_sequencer_takes_a_trim_away_at_once_and_adds_it_slowly() {
    let plain = Plain { second_flank_angle: None, greatest_cranking: 60.0, ..Plain::fire_float() };
    let core = plain.core().unwrap();
    let model = trimmed(&plain);
    let table = bobweight::Timetable::new(&model, &core.pickup, &core.dwell, &core.firmware).unwrap();
    let mut sequencer = Sequencer::new(&table);
    let at_3000 = 8.0 + 12.0 + 8.0 * 1_300.0 / 1_600.0;
    let near = |found: f64, wanted: f64| assert!((found - wanted).abs() < 0.03, "{found} for {wanted}");
    near(ordered(&plain, &mut sequencer), at_3000);
    let take = |sequencer: &mut Sequencer<'_>, trim: Option<f64>| {
        sequencer.depression_trimmed(None, false, trim.map(advance), sequencer.last_edge().unwrap_or(0));
        ordered(&plain, sequencer)
    };
    near(take(&mut sequencer, Some(-3.0)), at_3000 - 3.0);
    near(take(&mut sequencer, None), at_3000 - 4.3);
    // The 12 pulses of each are 0.12 s, so 3.6 crank degrees of 30 a second: one of them is not enough for 6.3, two are.
    near(take(&mut sequencer, Some(9.0)), at_3000 - 4.3 + 3.6);
    near(take(&mut sequencer, Some(9.0)), at_3000 + 2.0);
    // Without a trim input: the curve alone.
    let now = sequencer.last_edge().unwrap_or(0);
    sequencer.depression(None, false, now);
    near(ordered(&plain, &mut sequencer), at_3000);
}

proptest! {
    /// Whatever is sampled and asked for: what is added stays between the least and the greatest of vacuum and trim, grows no faster than
    /// its rate, and shrinks at once.
    #[test]
    fn what_is_added_stays_within_what_was_proven(
        model in strategy::models(),
        samples in prop::collection::vec((prop::option::of(strategy::depressions()), prop::option::of(-30..=60i32), 0..400_000u32, any::<bool>()), 1..60),
    ) {
        let plain = Plain::fire_float();
        let core = plain.core().unwrap();
        // Not every model can be timed by this pickup; the samples need a timetable of its vacuum and trim alone.
        let settings = *plain.core().unwrap().model.settings();
        let wide = bobweight::Limits { greatest: advance(60.0), greatest_without_vacuum: advance(60.0), greatest_cranking: advance(10.0), least: advance(-30.0) };
        let Ok(carrier) = AdvanceModel::new(bobweight::AdvanceSettings { vacuum: model.settings().vacuum, limits: wide, ..settings }) else { return Ok(()) };
        let carrier = carrier.with_trim(*model.trim());
        let Ok(table) = bobweight::Timetable::new(&carrier, &core.pickup, &core.dwell, &core.firmware) else { return Ok(()) };
        let (least, greatest) = added(&carrier);
        let rate = carrier.settings().vacuum.map_or(30.0, |vacuum| vacuum.greatest_rate.get().to_num::<f64>());
        let mut sequencer = Sequencer::new(&table);
        let (mut now, mut since, mut before) = (0u32, 0u32, 0.0);
        for (kpa, asked, later, closed) in samples {
            let asked = asked.map(|degrees| advance(f64::from(degrees)));
            now += later;
            sequencer.depression_trimmed(kpa, closed, asked, now);
            let given = sequencer.vacuum().get().to_num::<f64>();
            prop_assert!(given >= least - 1e-4 && given <= greatest + 1e-4, "{given} outside {least} to {greatest}");
            let wanted = carrier.vacuum_advance(kpa, closed).get().to_num::<f64>()
                + carrier.trim().given(asked).get().to_num::<f64>();
            if wanted <= before {
                prop_assert!((given - wanted).abs() < 1e-4, "asked for {wanted}, less than {before}, and given {given}");
            } else {
                let most = rate * f64::from(now - since) / TICKS_A_SECOND;
                prop_assert!(given <= before + most + 1e-4 && given <= wanted + 1e-4, "from {before} to {given} in {most}");
            }
            if given.to_bits() != before.to_bits() || wanted <= before {
                since = now;
            }
            before = given;
        }
    }

    /// A running engine anywhere, at any trim, is inside what the judgement says is the worst.
    #[test]
    fn no_trim_passes_the_worst_corner(model in strategy::models(), place in strategy::place_choices()) {
        let place = place.of(&model);
        prop_assert_eq!(strategy::place(&model, place), Ok(()));
        if place.phase == Phase::Running {
            let plain = model.advance(Phase::Running, place.speed, place.depression, place.throttle_closed).unwrap();
            let with = model.advance_trimmed(Phase::Running, place.speed, place.depression, place.throttle_closed, place.trim).unwrap();
            prop_assert_eq!(with.sum.bits() - plain.sum.bits(), model.trim().given(Some(place.trim)).bits());
        }
    }

    /// A limit that the sum touches, or keeps by a little, or breaks: what is ordered is what the clamp would order, and within it.
    #[test]
    fn an_order_is_clamped_wherever_it_must_be(
        plain in bobweight_tests::strategy::plain(),
        tenths in prop_oneof![Just((0, 0)), (0..=30u8, 0..=30u8)],
        slack in [slacks(), slacks()],
        places in prop::collection::vec((strategy::place_choices(), 0.0..=1.0f64), 1..60),
    ) {
        let Ok(core) = plain.core() else { return Err(TestCaseError::reject("no pickup")) };
        let trim = Trim::from_tenths(tenths.0, tenths.1).unwrap();
        let worst = core.model.with_trim(trim).judge().0.map(|judgement| judgement.worst.sum.get().to_num::<f64>());
        let limits = bobweight::Limits {
            greatest: advance((worst[0] + slack[0]).min(89.0)),
            least: advance((worst[3] - slack[1]).max(-29.0)),
            ..core.model.settings().limits
        };
        let settings = bobweight::AdvanceSettings { limits, ..*core.model.settings() };
        let timed = AdvanceModel::new(settings).ok().map(|model| model.with_trim(trim)).and_then(|model| {
            bobweight::Timetable::new(&model, &core.pickup, &core.dwell, &core.firmware).ok().map(|table| (model, table))
        });
        let Some((model, table)) = timed else { return Err(TestCaseError::reject("not timed")) };
        let (least, greatest) = added(&model);
        for (choice, share) in places {
            let place = choice.of(&model);
            let added = advance(least + (greatest - least) * share * 0.9999);
            let what = (place.phase, table.period_of(place.speed), added);
            prop_assert_eq!(strategy::spark(&model, &core.pickup, &core.firmware, &table, what), Ok(()));
        }
    }
}

/// How far a limit lies outside the worst sum, in crank degrees; inside it where negative.
fn slacks() -> impl Strategy<Value = f64> {
    prop_oneof![Just(0.0), -2.0..5.0f64, -0.05..0.2f64]
}

/// What vacuum and trim add at least and at most, from the breakpoints and the bounds.
fn added(model: &AdvanceModel) -> (f64, f64) {
    let (later, earlier) = model.trim().tenths();
    let (mut least, mut greatest) = (0.0f64, 0.0f64);
    if let Some(vacuum) = &model.settings().vacuum {
        for i in 0..vacuum.curve.count() {
            let (_, advance) = vacuum.curve.breakpoint(i);
            least = least.min(advance.get().to_num());
            greatest = greatest.max(advance.get().to_num());
        }
    }
    (least - f64::from(later) / 10.0, greatest + f64::from(earlier) / 10.0)
}

/// The bounds reach the refusals: a spark that the trim alone brings too near to its edge is not timed.
#[test]
fn a_timetable_is_refused_where_the_trim_leaves_no_time() {
    let plain = Plain { pickup_angle: 41.0, greatest: 50.0, greatest_without_vacuum: 50.0, ..Plain::fire_float() };
    let core = plain.core().unwrap();
    let timed = |later: u8, earlier: u8| {
        let model = core.model.with_trim(Trim::from_tenths(later, earlier).unwrap());
        bobweight::Timetable::new(&model, &core.pickup, &core.dwell, &core.firmware).map(drop)
    };
    assert_eq!(timed(0, 0), Ok(()));
    assert!(matches!(timed(0, 100), Err(bobweight::TimetableError::TooSoonAfterEdge { .. })), "{:?}", timed(0, 100));
}
