//! The held advance: where it has sparks, and that every spark of a timetable that is made has room between its edge and the next.

// Times and places of these tests are small and positive, far inside every cast.
#![allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]

use bobweight::{Flank, NO_HELD_SPARK_ABOVE, Phase};
use bobweight_tests::firmware::{Happening, Timer};
use bobweight_tests::plain::{Plain, depression};
use bobweight_tests::strategy;
use proptest::prelude::*;

/// Turns an engine on at a steady speed, and gives how many sparks 40 pulses had once the speed was believed: after as long as the
/// engine takes to it from a standstill.
fn turn(timer: &mut Timer<'_>, plain: &Plain, rpm: f64) -> usize {
    let (mut before, believed) = (0, 20 + (rpm / plain.acceleration / plain.period(rpm)) as u64);
    for pulse in 0..believed + 40 {
        if pulse == believed {
            before = timer.dwells.len();
        }
        let at = timer.now() + (plain.period(rpm) * plain.tick_rate).round() as u64;
        timer.happen(at, Happening::Edge { flank: Flank::Timing, handled_after: 0 });
    }
    timer.dwells.len() - before
}

fn engines() -> [Plain; 3] {
    let v8 = Plain { pickup_angle: 77.0, ..Plain::v8() };
    [Plain::fire_float(), v8.clone(), Plain { pickup_angle: 55.5, ..v8 }].map(Plain::in_steps)
}

#[test]
fn a_held_engine_has_a_spark_a_pulse_up_to_2000_and_none_above_until_1900() {
    for plain in engines() {
        let table = plain.timetable().unwrap();
        let mut timer = Timer::new(&plain, &table, 0);
        timer.happen(0, Happening::Hold(true));
        for (rpm, sparks, phase) in [
            (700.0, true, Phase::Held),
            (1990.0, true, Phase::Held),
            (2010.0, false, Phase::Overspeed),
            (1950.0, false, Phase::Overspeed),
            (1890.0, true, Phase::Held),
            (1950.0, true, Phase::Held),
            (4000.0, false, Phase::Overspeed),
        ] {
            let found = turn(&mut timer, &plain, rpm);
            assert_eq!(timer.sequencer.phase(), phase, "{rpm} crank rpm: {plain:?}");
            let wanted = if sparks { 39..=41 } else { 0..=0 };
            assert!(wanted.contains(&found), "{found} sparks of 40 pulses at {rpm} crank rpm: {plain:?}");
        }
        // Let go, it runs.
        timer.happen(timer.now(), Happening::Hold(false));
        let found = turn(&mut timer, &plain, 4000.0);
        assert!((39..=41).contains(&found), "{found} sparks of 40 pulses: {plain:?}");
        assert_eq!(timer.sequencer.phase(), Phase::Running);
    }
}

/// At 4 000 crank rpm the dwell of a nearby spark begins before its edge. Held while it runs, its spark comes where it was
/// ordered, and there is no other.
#[test]
fn a_hold_acts_from_the_next_dwell_on() {
    let plain = Plain { pickup_angle: 43.0, ..Plain::fire_float() }.in_steps();
    let table = plain.timetable().unwrap();
    let spark_after_edge = |hold: bool| {
        let mut timer = Timer::new(&plain, &table, 0);
        turn(&mut timer, &plain, 4000.0);
        // Close before the next edge.
        let next = timer.now() + (plain.period(4000.0) * plain.tick_rate).round() as u64;
        timer.run_to(next - 200);
        timer.happen(next - 200, Happening::Hold(hold));
        timer.happen(next, Happening::Edge { flank: Flank::Timing, handled_after: 0 });
        timer.run_to(next + 4000);
        timer.dwells.last().map(|dwell| dwell.off - next)
    };
    let (free, held) = (spark_after_edge(false), spark_after_edge(true));
    assert_eq!(free, held);
    assert!(free.is_some_and(|after| after < 2000), "{free:?} ticks after its edge");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2000, max_global_rejects: 200_000, failure_persistence: None, ..ProptestConfig::default() })]

    /// At every speed where a phase has sparks: no sooner after the edge than the latency, and burnt out before the next one.
    #[test]
    fn every_spark_of_a_timetable_that_is_made_has_room_between_two_edges(
        plain in strategy::plain(),
        held in 0.0..40.0f64,
        shares in prop::collection::vec(0.0..=1.0f64, 16),
    ) {
        // Without the clamp, which is not for sparks that a sheet may keep.
        let greatest = plain.greatest.max(held).max(plain.initial + 60.0).min(90.0);
        let plain = Plain { held, greatest, least: 0.0, ..plain }.in_steps();
        let Ok(table) = plain.timetable() else { return Err(TestCaseError::reject("refused")) };
        let model = plain.core().unwrap().model;
        let full = plain.vacuum.last().map(|&(kpa, _)| depression(kpa));
        let held_top = plain.no_spark_above.min(NO_HELD_SPARK_ABOVE.get().to_num());
        for (phase, top) in [(Phase::Running, plain.no_spark_above), (Phase::Held, held_top)] {
            // The ends of the range and places between.
            for share in shares.iter().copied().chain([0.0, 1.0]) {
                let rpm = plain.cranking_below + share * (top - plain.cranking_below);
                let period = plain.period(rpm) * plain.tick_rate;
                for kpa in [None, full] {
                    let vacuum = model.vacuum_advance(kpa, false);
                    let delay = f64::from(table.delay(phase, period.round() as u32, vacuum));
                    let (soonest, burn) = (plain.latency * plain.tick_rate, (plain.burn_time - plain.lag) * plain.tick_rate);
                    // Two ticks and 0.02 crank degrees for what is rounded.
                    let slack = 2.0 + 0.02 / plain.spacing() * period;
                    prop_assert!(delay >= soonest - slack, "{phase:?} at {rpm} crank rpm: {delay} ticks, not {soonest}");
                    prop_assert!(delay + burn <= period + slack, "{phase:?} at {rpm} crank rpm: {delay} and {burn} of {period} ticks");
                }
            }
        }
    }
}
