//! Bursts: noise that adds edges to those of the pickup, however many, moves no spark earlier than one false edge can.
//!
//! Where the true edges come through, noise cannot carry the rhythm away: an edge that follows two or more others in its pulse times
//! no spark, and its interval is no period. Bounds and crank are those of `tests/truth/crank`.

// Times and places of these tests are small and positive, far inside every cast.
#![allow(clippy::cast_precision_loss, clippy::cast_possible_truncation, clippy::cast_sign_loss)]

use bobweight_crank::{Edge, Flank, Motion, bounds, pickup};
use bobweight_tests::numbers::{Numbers, times};
use bobweight_tests::plain::Plain;
use bobweight_tests::ride::{Ridden, Ride};

fn ride(plain: &Plain, edges: &[Edge]) -> Ridden {
    let table = plain.timetable().unwrap();
    Ride { plain, table: &table, handled_after: 0, depression: None, volts: 12.0 }.over(edges)
}

/// A burst: its edges from the time at which it begins, in seconds.
fn burst(numbers: &mut Numbers, period: f64) -> Vec<f64> {
    let long = period * numbers.between(0.1, 12.0);
    let mean = period * 0.001_f64.max(0.6 * numbers.next_share().powi(3));
    // How uneven: not at all, somewhat, or as it happens.
    let uneven = numbers.one_of(&[0.0, 0.2, 1.0]);
    let (mut at, mut edges) = (0.0, Vec::new());
    while at < long {
        edges.push(at);
        let by_chance = -numbers.next_share().max(1e-9).ln();
        at += mean * (1.0 - uneven + uneven * by_chance).max(0.01);
    }
    edges
}

/// Two pulses to eight, where one false edge cannot come anywhere in the pulse: see the table in `core/README.md`.
///
/// The bound is that of one false edge. A burst lasts for up to twelve pulses: a rhythm in it that lasted as long as the engine takes to
/// come to that speed could not be told from the engine's.
#[test]
fn a_burst_at_steady_speed_moves_no_spark_earlier_than_one_false_edge_can() {
    let mut numbers = Numbers::new(12);
    for (pulses, speeds) in [(2, [3000.0, 4000.0, 6000.0]), (4, [1500.0, 3000.0, 4600.0]), (8, [900.0, 2000.0, 4600.0])]
    {
        let plain = Plain::flat(pulses);
        for rpm in speeds {
            let nearest = bursts(&plain, rpm, &mut numbers);
            println!("{pulses} pulses, {rpm} crank rpm: early to {nearest:.3} of the bound");
        }
    }
}

/// Rides through bursts; how near to the bound the earliest spark came.
fn bursts(plain: &Plain, rpm: f64, numbers: &mut Numbers) -> f64 {
    let period = plain.period(rpm);
    let motion = Motion::steady(rpm).hold(32.0 * period);
    let edges = plain.crank_pickup().edges(&motion, motion.end_time());
    let calm = ride(plain, &edges);
    let window = plain.timetable().unwrap().window((period * plain.tick_rate).round() as u32);
    let f = bounds::delay_share(u32::from(plain.pulses), plain.pickup_angle, Plain::FLAT_ADVANCE);
    // At steady speed the true edge comes no later than a period after the last.
    let window = bounds::Window { lo: f64::from(window.lo) / plain.tick_rate, hi: period };
    let allowed = bounds::false_edge_early(u32::from(plain.pulses), f, period, window);
    let tick = 6.0 * rpm / plain.tick_rate;
    let mut earliest = 0.0_f64;
    for _ in 0..1000 * times() {
        let begin = edges[10].time + period * numbers.next_share();
        let noise = burst(numbers, period);
        let upset = ride(plain, &pickup::with_false(&edges, Flank::Timing, noise.iter().map(|after| begin + after)));
        for spark in &upset.sparks {
            let to_own = calm.sparks.iter().map(|own| own.off - spark.off).min_by(|a, b| a.abs().total_cmp(&b.abs()));
            let early = 6.0 * rpm * to_own.unwrap();
            assert!(
                early <= allowed + 2.0 * tick + 0.02,
                "{early} crank degrees early of {allowed}: {} pulses, {rpm} crank rpm, {} edges of noise from {begin} s: {noise:?}",
                plain.pulses,
                noise.len()
            );
            earliest = earliest.max(early);
        }
        let last = upset.sparks.last().unwrap();
        assert!((upset.period - period).abs() < 3.0 / plain.tick_rate, "believes {} s of {period}", upset.period);
        assert!(
            motion.end_time() - last.off < 2.0 * period,
            "the last spark at {} s of {}",
            last.off,
            motion.end_time()
        );
    }
    earliest / allowed
}
