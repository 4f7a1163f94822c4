//! Streams that broke an earlier rule, each a test of what is right afterwards.

// Times and places of these tests are small and positive, far inside every cast.
#![allow(clippy::cast_precision_loss, clippy::cast_possible_truncation, clippy::cast_sign_loss)]

use bobweight::Flank;
use bobweight_crank::Motion;
use bobweight_tests::firmware::{Happening, Timer};
use bobweight_tests::plain::{Plain, voltage};

const RATE: f64 = 2e6;

fn engine() -> Plain {
    Plain { second_flank_angle: None, ..Plain::fire_float() }
}

#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // Times of tests are small and positive.
fn edge(timer: &mut Timer<'_>, seconds: f64, handled_after: u32) {
    timer.happen((seconds * RATE).round() as u64, Happening::Edge { flank: Flank::Timing, handled_after });
}

/// Edges at these places of a stream, in units of the period at a speed.
fn play(plain: &Plain, rpm: f64, places: impl IntoIterator<Item = f64>, judge: impl FnOnce(&mut Timer<'_>, f64)) {
    let table = plain.timetable().unwrap();
    let mut timer = Timer::new(plain, &table, 0);
    let unit = plain.period(rpm);
    let mut last = 0.0;
    for place in places {
        last = 1.0 + place * unit;
        edge(&mut timer, last, 0);
    }
    judge(&mut timer, last);
}

fn ticks_of(plain: &Plain, rpm: f64) -> f64 {
    plain.period(rpm) * RATE
}

fn believes(timer: &Timer<'_>, period: f64) -> bool {
    timer.sequencer.period().is_some_and(|believed| (f64::from(believed) - period).abs() < 3.0)
}

/// Plays a steady speed on, and holds that every pulse has one spark.
fn in_step(timer: &mut Timer<'_>, plain: &Plain, rpm: f64, from: f64) {
    let before = timer.dwells.len();
    for i in 1..=20 {
        edge(timer, from + f64::from(i) * plain.period(rpm), 0);
    }
    assert!(believes(timer, ticks_of(plain, rpm)), "{:?}", timer.sequencer.period());
    let sparks = timer.dwells.len() - before;
    assert!((19..=21).contains(&sparks), "{sparks} sparks of 20 pulses");
}

#[test]
fn every_second_edge_is_not_refused_for_ever() {
    let plain = engine();
    play(&plain, 1500.0, [0.0, 2.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0, 10.0], |timer, last| {
        let refused = timer.sequencer.counters().refused;
        in_step(timer, &plain, 1500.0, last);
        assert_eq!(timer.sequencer.counters().refused, refused, "an edge is refused still");
    });
}

#[test]
fn pulses_a_tenth_of_a_degree_uneven_are_all_believed() {
    let plain = Plain {
        pulses: 8,
        burn_time: 0.5e-3,
        spread: 0.1,
        no_spark_above: 7000.0,
        spark_again_below: 6900.0,
        pickup_angle: 44.0,
        cranking: 11.0,
        greatest_cranking: 12.0,
        ..engine()
    };
    let uneven = 0.1 / plain.spacing();
    let places = (0..200).map(|i| f64::from(i) + if i % 2 == 0 { uneven } else { 0.0 });
    play(&plain, 6000.0, places, |timer, _| {
        assert_eq!((timer.sequencer.counters().refused, timer.sequencer.counters().replaced), (0, 0));
        assert!(timer.dwells.len() > 190, "{} sparks", timer.dwells.len());
    });
}

#[test]
fn false_edges_at_6_1_and_6_2_periods_are_survived() {
    let plain = engine();
    for rpm in [300.0, 700.0, 1500.0, 4000.0] {
        let mut places: Vec<f64> = (0..12).map(f64::from).chain([6.1, 6.2]).collect();
        places.sort_by(f64::total_cmp);
        play(&plain, rpm, places, |timer, last| in_step(timer, &plain, rpm, last));
    }
}

/// The first long interval looks like a lost edge; the second one says that the speed is halved.
#[test]
fn speed_halved_in_one_period_is_believed_at_the_second() {
    let plain = engine();
    let places = (0..10).map(f64::from).chain((0..6).map(|i| 11.0 + 2.0 * f64::from(i)));
    play(&plain, 3000.0, places, |timer, last| {
        assert!(believes(timer, ticks_of(&plain, 1500.0)));
        in_step(timer, &plain, 1500.0, last);
    });
}

/// With one pulse in two turns the dwell can begin before its edge, and the closing throttle lets that edge come late. The spark
/// without its edge is late, by no more than the largest dwell allows, which the timer holds at every answer.
#[test]
fn the_throttle_closed_with_a_dwell_before_its_edge_makes_no_spark_early() {
    let plain = Plain { pulses: 1, pickup_angle: 43.0, ..engine() };
    let table = plain.timetable().unwrap();
    let mut timer = Timer::new(&plain, &table, 0);
    let (mut at, mut rpm) = (1.0, 4000.0);
    for i in 0..60 {
        edge(&mut timer, at, 0);
        let period = plain.period(rpm);
        at += period;
        if i > 10 {
            rpm = (rpm - 0.9 * plain.acceleration * period).max(900.0);
        }
    }
    let counters = timer.sequencer.counters();
    assert_eq!((counters.refused, counters.lost), (0, 0));
    assert!(timer.dwells.len() >= 55, "{} sparks", timer.dwells.len());
}

#[test]
fn a_late_edge_moves_the_off_time_of_its_running_dwell_and_orders_nothing() {
    let plain = engine();
    let table = plain.timetable().unwrap();
    let mut timer = Timer::new(&plain, &table, 0);
    let period = plain.period(4000.0);
    for i in 0..12 {
        edge(&mut timer, 1.0 + f64::from(i) * period, 0);
    }
    let before = timer.dwells.len();
    // Its dwell of 2.6 ms began before the edge; its spark was due 1.3 ms after it. The edge is handled after 2.5 ms, more than a
    // quarter period: there is that one spark, and no other for this pulse.
    let at = 1.0 + 12.0 * period;
    edge(&mut timer, at, 5000);
    timer.run_to(((at + 0.6 * period) * RATE) as u64);
    assert_eq!(timer.dwells.len() - before, 2, "the spark of the edge before, and its own");
    let late = timer.dwells.last().unwrap().off as f64 / RATE - at;
    assert!((1.3e-3..2.6e-3).contains(&late), "{late} s after its edge");
    in_step(&mut timer, &plain, 4000.0, 1.0 + 12.0 * period);
}

#[test]
fn polls_ten_milliseconds_apart_change_no_spark() {
    let plain = engine();
    let table = plain.timetable().unwrap();
    let sparks = |often: bool| {
        let mut timer = Timer::new(&plain, &table, 0);
        for i in 0..40 {
            edge(&mut timer, 1.0 + f64::from(i) * plain.period(2000.0), 0);
            if often {
                for poll in 1..3 {
                    timer.happen(timer.now() + poll, Happening::Poll);
                }
            }
        }
        timer.dwells
    };
    assert_eq!(sparks(false), sparks(true));
    assert!(sparks(false).len() > 35);
}

#[test]
fn a_second_flank_above_the_cranking_limit_is_refused_with_both_figures() {
    let plain = Plain { second_flank_angle: Some(12.0), cranking: 12.0, ..Plain::fire_float() };
    let refusal = plain.timetable().unwrap_err();
    assert!(refusal.contains("12 crank degrees above 10 crank degrees"), "{refusal}");
}

/// At first every second edge is missing; then the true edges come, each in the burn time of a spark that is timed by twice the
/// period.
#[test]
fn a_rhythm_of_twice_the_period_does_not_last_though_echoes_hide_it() {
    let plain = Plain {
        pulses: 9,
        pickup_angle: 36.0,
        centrifugal: vec![(500.0, 0.0), (600.0, 0.0)],
        initial: 0.0,
        ..engine()
    };
    for burn_time in [0.5e-3, 1.0e-3, 1.5e-3] {
        let plain = Plain {
            burn_time,
            no_spark_above: 4000.0,
            spark_again_below: 3900.0,
            held: 0.0,
            cranking: 8.0,
            ..plain.clone()
        };
        // An engine that turned at 1 250 crank rpm takes 39 pulses to come to 2 500.
        let places = [0.0, 2.0, 4.0, 6.0, 8.0].into_iter().chain((9..50).map(f64::from));
        play(&plain, 2500.0, places, |timer, last| in_step(timer, &plain, 2500.0, last));
    }
}

/// One edge is lost while the starter turns: the period looks twice as long, the spark at the second flank comes late of its dwell, and the next
/// edge falls in that spark's burn time, pulse after pulse.
#[test]
fn an_edge_in_the_burn_time_of_a_spark_at_the_second_flank_is_not_ignored_for_ever() {
    let plain = Plain { pulses: 6, pickup_angle: 80.0, ..Plain::fire_float() };
    let table = plain.timetable().unwrap();
    let flank_after = (80.0 - 8.0) / plain.spacing();
    let (mut streams, mut out_of_step) = (0, Vec::new());
    for volts in [8.0, 8.5, 9.0, 9.5, 10.0] {
        for rpm in (700..=900).step_by(4).map(f64::from) {
            let mut timer = Timer::new(&plain, &table, 0);
            timer.happen(0, Happening::Battery(voltage(volts)));
            for pulse in [0].into_iter().chain(2..30) {
                let at = 1.0 + f64::from(pulse) * plain.period(rpm);
                edge(&mut timer, at, 0);
                let second = ((at + flank_after * plain.period(rpm)) * RATE).round() as u64;
                timer.happen(second, Happening::Edge { flank: Flank::Second, handled_after: 0 });
            }
            streams += 1;
            if !believes(&timer, ticks_of(&plain, rpm)) {
                out_of_step.push((volts, rpm));
            }
        }
    }
    assert!(
        out_of_step.is_empty(),
        "{} of {streams} streams, as at {:?} V and crank rpm",
        out_of_step.len(),
        out_of_step[0]
    );
}

/// Edges alone, an hour apart in all: the last spark is forgotten before the clock wraps around to it.
#[test]
fn a_spark_is_forgotten_before_the_clock_wraps() {
    let plain = Plain { tick_rate: 200e6, ..engine() };
    let table = plain.timetable().unwrap();
    let mut timer = Timer::new(&plain, &table, u32::MAX - 1000);
    let period = (plain.period(40.0) * 200e6) as u64;
    for i in 0..40 {
        timer.happen(i * period, Happening::Edge { flank: Flank::Timing, handled_after: 0 });
    }
    assert!(timer.dwells.len() > 35, "{} sparks of 40 edges over {} wraps", timer.dwells.len(), (40 * period) >> 32);
}

#[test]
fn a_second_flank_after_a_stop_makes_no_spark() {
    let plain = Plain::fire_float();
    let table = plain.timetable().unwrap();
    let mut timer = Timer::new(&plain, &table, 0);
    for i in 0..4 {
        edge(&mut timer, 1.0 + f64::from(i) * plain.period(200.0), 0);
    }
    let (sparks, late) = (timer.dwells.len(), 1.0 + 3.0 * plain.period(200.0) + plain.period(30.0) * 0.9);
    timer.happen((late * RATE) as u64, Happening::Edge { flank: Flank::Second, handled_after: 0 });
    timer.run_to(timer.now() + RATE as u64);
    assert_eq!(timer.dwells.len(), sparks);
}

/// A rhythm is doubted, and while its echo is listened for another one begins: nothing is proven of that one, whose every second edge
/// falls in the burn time of a spark.
#[test]
fn an_echo_listened_for_in_one_rhythm_proves_nothing_of_the_next() {
    let plain = Plain {
        initial: 0.0,
        cranking: 0.0,
        second_flank_angle: Some(0.0),
        centrifugal: vec![(1500.0, 0.0), (1600.0, 4.7)],
        no_spark_above: 3500.0,
        spark_again_below: 3400.0,
        greatest: 23.0,
        pulses: 10,
        pickup_angle: 34.4,
        lag: 0.2e-3,
        acceleration: 11_000.0,
        spread: 0.0,
        largest_duty: 0.3,
        burn_time: 0.93e-3,
        held: 0.0,
        vacuum: vec![(5.0, 0.0), (10.0, 18.3)],
        ..engine()
    };
    let unit = plain.period(1000.0) / plain.period(1870.0);
    let doubted = [0.2, 1.53, 3.16, 4.16, 5.16, 6.16, 6.87, 9.7].map(|place| place * unit);
    let places = doubted.into_iter().chain((1..12).map(|i| doubted[7] + f64::from(i)));
    play(&plain, 1870.0, places, |timer, last| in_step(timer, &plain, 1870.0, last));
}

/// Close to a standstill, an edge takes the place of the false one before it only where the period that this gives is one.
#[test]
fn an_edge_that_takes_a_place_gives_no_period_of_a_standing_engine() {
    let plain = Plain { pulses: 1, pickup_angle: 43.0, acceleration: 100.0, ..engine() };
    let stopped = plain.period(30.0);
    for interval in [0.999, 1.001, 1.02] {
        let table = plain.timetable().unwrap();
        let mut timer = Timer::new(&plain, &table, 0);
        // A long period, a false edge, and the true one where the next long period would end.
        for at in [0.0, 0.995, 1.99, 1.99 + 0.9, 1.99 + interval] {
            edge(&mut timer, 1.0 + at * stopped, 0);
        }
        let period = timer.sequencer.period().map(f64::from);
        assert!(period.is_none_or(|period| period <= stopped * RATE), "a period of {period:?} ticks");
        timer.run_to(((1.0 + 4.0 * stopped) * RATE) as u64);
    }
}

/// Close below the highest speed a false edge looks like an engine beyond it. The true edge takes its place, and the spark comes: nothing
/// is left of a speed that the engine never had.
#[test]
fn a_false_edge_below_the_highest_speed_costs_no_spark() {
    let plain = engine();
    let rpm = plain.no_spark_above - 20.0;
    for early in [0.01, 0.015, 0.02] {
        let places = (0..40).map(f64::from).chain([19.0 - early]);
        let mut places: Vec<f64> = places.collect();
        places.sort_by(f64::total_cmp);
        play(&plain, rpm, places, |timer, _| {
            let counters = timer.sequencer.counters();
            assert_eq!((counters.replaced, counters.lost), (1, 0), "{early} of a period early");
            assert!(timer.dwells.len() >= 36, "{} sparks of 38", timer.dwells.len());
        });
    }
}

/// The same where the true edge is held for noise: above `spark_again_below` no spark would come again until the engine slows down.
#[test]
fn a_false_edge_below_the_highest_speed_stops_no_engine() {
    let plain = Plain { spark_again_below: engine().no_spark_above - 500.0, ..engine() };
    let places = (0..19).map(f64::from).chain([18.985]).chain((19..40).map(f64::from));
    play(&plain, plain.no_spark_above - 20.0, places, |timer, last| {
        in_step(timer, &plain, plain.no_spark_above - 20.0, last);
    });
}

/// Every seventh edge lost while the engine gathers speed as fast as it can, and loses it: what was believed after a lost edge is not
/// defended against the true rhythm, so most of the pulses that have an edge have a spark. How many: as many as before noise was
/// told from a rhythm.
#[test]
fn lost_edges_on_a_ramp_do_not_lock_the_engine_out() {
    let plain = Plain::fire_float();
    let table = plain.timetable().unwrap();
    for (low, high, least) in [(500.0, 1500.0, 0.59), (700.0, 4500.0, 0.9), (900.0, 3000.0, 0.8)] {
        for begins in 0..20 {
            let motion = Motion::steady(low).hold(0.4 + 0.05 * f64::from(begins) * plain.period(low));
            let motion = motion.ramp_to(high, plain.acceleration).hold(0.2);
            let motion = motion.ramp_to(low, plain.acceleration).hold(0.4);
            let edges = plain.crank_pickup().edges(&motion, motion.end_time());
            let timing = edges.iter().filter(|edge| edge.flank == bobweight_crank::Flank::Timing);
            let flanks: Vec<f64> = timing.map(|edge| edge.time).collect();
            for phase in 0..7 {
                let mut timer = Timer::new(&plain, &table, 0);
                let kept: Vec<f64> = flanks
                    .iter()
                    .enumerate()
                    .filter(|(i, _)| *i < 9 || i % 7 != phase)
                    .map(|(_, &time)| time)
                    .collect();
                for &time in &kept {
                    edge(&mut timer, time, 0);
                }
                let (sparks, edges) = (timer.dwells.len(), kept.len());
                assert!(
                    sparks as f64 >= least * edges as f64,
                    "{low} crank rpm, {phase}: {sparks} sparks of {edges} pulses"
                );
            }
        }
    }
}
