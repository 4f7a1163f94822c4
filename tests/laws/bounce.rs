//! Points as a trigger: their opening times the spark, and they bounce, when a cam throws them open and when they fall on each other.
//!
//! A sequencer that looks at every opening takes a bounce for one: with one false opening after each closing an engine of four pulses had, at 460 crank
//! rpm, nearly twice its sparks, some 45 crank degrees before top dead centre, and with two in a pulse it had none. So a pickup states how
//! long its points bounce. That bounce is over in a millisecond is common practice and has no source.

// Times and counts of these tests are small and positive; a clock wraps on purpose.
#![allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]

use bobweight::Flank as Core;
use bobweight_crank::{Edge, Flank, Motion, pickup};
use bobweight_tests::firmware::{Happening, Timer};
use bobweight_tests::numbers::{Numbers, times};
use bobweight_tests::plain::Plain;
use bobweight_tests::points::{bounced, with_closings};
use bobweight_tests::ride::{Ridden, Ride};
use bobweight_tests::throttle::throttle;

/// Points that are open for a third of each pulse; as fast as a bounce lets them be, a quarter of the shortest period.
fn engines() -> Vec<Plain> {
    let engine = |pulses: u8, no_spark_above: f64| {
        Plain {
            bounce: 1e-3_f64.min(30.0 / (f64::from(pulses) * no_spark_above)),
            second_flank_angle: None,
            cranking: 8.0_f64.max(60.0_f64.min(720.0 / f64::from(pulses) - 1.0) - 0.37 * 720.0 / f64::from(pulses)),
            greatest_cranking: 40.0,
            no_spark_above,
            spark_again_below: no_spark_above - 100.0,
            ..Plain::with_pulses(pulses)
        }
        .in_steps()
    };
    vec![engine(2, 6000.0), engine(4, 4800.0), engine(6, 4700.0), engine(8, 3700.0)]
}

/// The openings, and the closings a third of a pulse later, each with so many bounces: pairs of the other flank and this one.
fn with_bounce(plain: &Plain, motion: &Motion, numbers: &mut Numbers, most: u32) -> (Vec<Edge>, Vec<Edge>) {
    let wheel = plain.crank_pickup();
    let clean = with_closings(plain, &wheel, motion, &wheel.edges(motion, motion.end_time()));
    let bounced = bounced(plain, &clean, numbers, most);
    (clean, bounced)
}

fn ridden(plain: &Plain, edges: &[Edge]) -> Ridden {
    let table = plain.timetable().unwrap_or_else(|why| panic!("{why}: {plain:?}"));
    Ride { plain, table: &table, handled_after: 0, depression: None, volts: 12.0 }.over(edges)
}

#[test]
fn points_that_bounce_after_every_flank_spark_as_if_they_did_not() {
    let (mut numbers, mut sparks, mut false_openings) = (Numbers::new(41), 0, 0);
    for plain in engines() {
        for i in 0..60 * times() {
            // On the starter, and as the throttle has it up to the highest speed.
            let motion = if i % 3 == 0 {
                Motion::starting(1.0, numbers.between(60.0, 420.0)).hold(4.0)
            } else {
                let top = (plain.spark_again_below / 4650.0).min(1.0);
                let slower = Plain { acceleration: plain.acceleration * top, ..plain.clone() };
                let motion = throttle(&slower, &mut numbers);
                if motion_is_faster(&motion, plain.spark_again_below) {
                    continue;
                }
                motion
            };
            let (clean, bounced) = with_bounce(&plain, &motion, &mut numbers, 4);
            let (with, without) = (ridden(&plain, &bounced), ridden(&plain, &clean));
            let moments = |ridden: &Ridden| ridden.sparks.iter().map(|spark| (spark.on, spark.off)).collect::<Vec<_>>();
            assert_eq!(moments(&with), moments(&without), "{plain:?}");
            assert_eq!(with.counters, without.counters);
            sparks += with.sparks.len();
            false_openings += bounced.len() / 2 - clean.len() / 2;
        }
    }
    println!("{sparks} sparks, the same with {false_openings} false openings");
    assert!(sparks > 5_000 && false_openings > 10_000);
}

fn motion_is_faster(motion: &Motion, rpm: f64) -> bool {
    (0..200).any(|i| motion.speed_at(motion.end_time() * f64::from(i) / 200.0) > rpm)
}

/// What makes the rule needed: without the stated time the same engine, as its starter lets go of it, has sparks where none may be.
#[test]
fn without_the_stated_time_a_bounce_makes_sparks_far_too_early() {
    let plain = Plain { bounce: 0.0, ..engines().remove(1) };
    let motion = Motion::starting(1.0, 460.0).hold(4.0);
    let (clean, _) = with_bounce(&Plain { bounce: 1e-3, ..plain.clone() }, &motion, &mut Numbers::new(1), 0);
    let closings: Vec<f64> = clean.iter().filter(|e| e.flank == Flank::Second).map(|e| e.time + 0.5e-3).collect();
    let sparks = ridden(&plain, &pickup::with_false(&clean, Flank::Timing, closings)).sparks;
    let early = sparks.iter().map(|spark| bobweight_crank::Spark::read(&motion, 4, spark.off, 0.0).btdc);
    let (earliest, pulses) = (early.fold(f64::NEG_INFINITY, f64::max), clean.len() / 2);
    println!("{} sparks of {pulses} pulses, the earliest at {earliest:.1} crank degrees", sparks.len());
    assert!(earliest > 40.0 && 2 * sparks.len() > 3 * pulses, "the rule is needed no more");
}

#[test]
fn points_that_bounce_for_longer_than_a_quarter_period_are_refused_with_both_figures() {
    let plain = Plain { bounce: 1.5e-3, second_flank_angle: None, pulses: 4, ..Plain::fire_float() };
    let refusal = Plain { cranking: 8.0, ..plain.clone() }.timetable();
    assert_eq!(refusal.map(|_| ()), Ok(()));
    let refusal = Plain { bounce: 1.6e-3, ..plain.clone() }.timetable().unwrap_err();
    assert!(refusal.contains("1 600 us, where at most 1 562.5 us will do"), "{refusal}");
    assert!(Plain { bounce: 2.1e-3, ..plain }.core().unwrap_err().contains("at most 2 ms"));
}

/// Whatever came before, however long ago, and however the clock has wrapped: a flank is looked at once the points have come to rest.
#[test]
fn a_flank_after_a_long_rest_is_looked_at_over_every_wrap_of_the_clock() {
    let plain = Plain { tick_rate: 200e6, ..engines().remove(1) };
    let table = plain.timetable().unwrap();
    for rest in [(1_u64 << 32) - 1, 1 << 32, (1 << 32) + 1000] {
        let mut timer = Timer::new(&plain, &table, 7);
        let edge = Happening::Edge { flank: Core::Timing, handled_after: 0 };
        timer.happen(1000, edge);
        timer.happen(1000 + rest, edge);
        assert_eq!(timer.sequencer.last_edge(), Some(7_u32.wrapping_add(1000).wrapping_add(rest as u32)));
    }
}
