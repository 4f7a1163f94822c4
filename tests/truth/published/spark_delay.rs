//! The core's timetable against exact fractions: a spark comes `T m (pickup angle - advance) / 720 - lag` after its edge.
//! Source: arithmetic, recomputed by Python's `fractions`.

use crate::{number, numbers, rows};
use bobweight::{Phase, Timetable};
use bobweight_tests::plain::{Plain, advance};

/// Between a timetable and its model, in crank degrees, besides one tick.
const WITHIN: f64 = 0.02;

/// An engine of that pickup, with limits so wide that only the row's own can act.
fn engine(tick_rate: f64, pulses: f64, pickup_angle: f64, lag_ticks: f64, period: f64) -> Plain {
    let crank_rpm = 120.0 * tick_rate / (pulses * period);
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "1 to 12")]
    let pulses = pulses as u8;
    Plain {
        pulses,
        tick_rate,
        pickup_angle,
        second_flank_angle: None,
        lag: lag_ticks / tick_rate,
        vacuum: Vec::new(),
        // Near the flank, so that cranking never stands in the way of a row about running.
        cranking: pickup_angle - 180.0 / f64::from(pulses).max(4.0),
        cranking_below: 30.0,
        running_from: 30.5,
        // A timetable is refused for the highest speed, and a row needs it up to its own speed alone.
        spark_again_below: (crank_rpm.max(40.0) + 1.0).min(19_999.0),
        no_spark_above: (crank_rpm.max(40.0) + 2.0).min(20_000.0),
        greatest: 90.0,
        greatest_without_vacuum: 90.0,
        greatest_cranking: 90.0,
        least: -30.0,
        burn_time: 0.0,
        latency: 0.0,
        dwell: vec![(8.0, 0.6e-3), (16.0, 0.5e-3)],
        largest_duty: 0.89,
        spread: 0.0,
        acceleration: 100.0,
        ..Plain::fire_float()
    }
}

/// How far beyond a tick the table is from the exact delay, in crank degrees.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "whole ticks")]
fn beyond_a_tick(table: &Timetable, phase: Phase, pulses: f64, period: f64, vacuum: f64, exact: f64) -> f64 {
    let delay = f64::from(table.delay(phase, period as u32, advance(vacuum)));
    ((delay - exact).abs() - 1.0) * 720.0 / (pulses * period)
}

#[test]
fn a_held_advance_is_timed_as_the_fractions_say() {
    let (mut compared, mut refused) = (0, 0);
    for row in rows(include_str!("../reference/vectors/spark_delay.csv")) {
        let [rate, pulses, pickup, wanted, lag, period] = [0, 1, 2, 3, 4, 5].map(|place| number(row[place]));
        let exact = number(row[6]) / number(row[7]);
        let plain = Plain {
            held: wanted,
            initial: wanted,
            centrifugal: vec![(100.0, 0.0), (200.0, 0.0)],
            ..engine(rate, pulses, pickup, lag, period)
        };
        let Ok(table) = plain.timetable() else {
            refused += 1;
            continue;
        };
        for phase in [Phase::Held, Phase::Running] {
            let beyond = beyond_a_tick(&table, phase, pulses, period, 0.0, exact);
            assert!(beyond <= WITHIN, "{row:?}, {phase:?}: {beyond} crank degrees beyond a tick");
        }
        compared += 1;
    }
    println!("{compared} delays compared, {refused} timetables refused");
    assert!(compared > 1200);
}

#[test]
fn a_curve_is_timed_as_the_fractions_say() {
    let (mut compared, mut refused) = (0, 0);
    for row in rows(include_str!("../reference/vectors/spark_on_curve.csv")) {
        let [initial, vacuum, least, greatest, rate, pulses, pickup, lag, period] =
            [1, 4, 5, 6, 7, 8, 9, 10, 11].map(|place| number(row[place]));
        let exact = number(row[14]) / number(row[15]);
        let plain = Plain {
            initial,
            held: initial,
            centrifugal: numbers(row[2]).into_iter().zip(numbers(row[3])).collect(),
            // Level, so that the whole of it is there at any depression.
            vacuum: if vacuum > 0.0 { vec![(10.0, vacuum), (20.0, vacuum)] } else { Vec::new() },
            least,
            greatest,
            ..engine(rate, pulses, pickup, lag, period)
        };
        let Ok(table) = plain.timetable() else {
            refused += 1;
            continue;
        };
        let beyond = beyond_a_tick(&table, Phase::Running, pulses, period, vacuum, exact);
        assert!(beyond <= WITHIN, "{row:?}: {beyond} crank degrees beyond a tick");
        compared += 1;
    }
    println!("{compared} delays compared, {refused} timetables refused");
    assert!(compared > 700);
}
