//! A reluctor on the starter: from rest, through compressions that swing the speed by 3 to 1, to the first fired pulses and back to a stop.
//!
//! The pickup is that of `tests/truth/crank`: its crossing holds its angle, its other flank moves with the speed. Stated before it was
//! measured: no cranking spark before its crossing, and none later after it than one dwell; one a pulse from the second
//! whole pulse on; each with three quarters of its dwell at least.

use bobweight::Phase;
use bobweight_crank::{Edge, FirstFire, Flank, Motion, Swing};
use bobweight_tests::numbers::{Numbers, times};
use bobweight_tests::plain::Plain;
use bobweight_tests::reluctor::{Made, Ridden, pickup_of, ride};

const PULSES: [u8; 7] = [1, 2, 3, 4, 6, 8, 12];
/// The slowest speed whose wave reaches the conditioner's threshold, crank rpm.
const THRESHOLD: f64 = 40.0;

/// Reluctors of every number of pulses; the second of each has a moving flank too early for a dwell by it.
fn engines() -> Vec<Plain> {
    let mut engines = Vec::new();
    for pulses in PULSES {
        for tick_rate in [2e6, 16e6] {
            let base = Plain { tick_rate, ..Plain::reluctor(pulses) };
            engines.push(base.clone());
            engines.push(Plain { greatest_cranking: 17.0, ..base });
        }
    }
    engines
}

fn dwells_by_flank(plain: &Plain) -> bool {
    plain.moving_flank.unwrap().0 <= plain.greatest_cranking
}

/// The dwell of a cranking spark at a period, by the formulas: the battery's, within the largest duty, over and burnt in half a period.
fn dwell_at(plain: &Plain, volts: f64, period: f64) -> f64 {
    plain.truth().dwell.at(volts).min(plain.largest_duty * period).min(period / 2.0 - plain.burn_time)
}

fn crossings(edges: &[Edge]) -> Vec<&Edge> {
    edges.iter().filter(|edge| edge.flank == Flank::Timing).collect()
}

/// What came of cranking, and how near it came to its bounds.
#[derive(Default)]
struct Seen {
    sparks: usize,
    by_flank: usize,
    earliest: f64,
    /// Of those by the moving flank, seconds after the crossing.
    latest_by_flank: f64,
    /// Share of the bound.
    latest: f64,
    least_dwell: f64,
}

/// Holds every cranking spark to the bounds.
fn hold_cranking(plain: &Plain, volts: f64, handled_after: u32, edges: &[Edge], ridden: &Ridden, seen: &mut Seen) {
    let tick = 1.0 / plain.tick_rate;
    let crossings = crossings(edges);
    let dwell = plain.truth().dwell.at(volts);
    for spark in &ridden.sparks {
        if !matches!(spark.by, Made::FromCrossing(_) | Made::ByMovingFlank(_)) {
            continue;
        }
        // The last crossing before the spark; the spark's tick may have begun before it.
        let before = crossings.iter().rev().find(|edge| edge.time <= spark.off + tick);
        let Some(own) = before else { panic!("{spark:?} has no crossing before it") };
        let late = spark.off - own.time;
        let allowed = dwell + (f64::from(handled_after) + 2.0) * tick;
        assert!(late <= allowed, "{late} s after its crossing: {spark:?} {plain:?}");
        if matches!(spark.by, Made::ByMovingFlank(_)) {
            assert!(spark.ended_at.is_some(), "forced, not ended by its crossing: {spark:?} {plain:?}");
            seen.by_flank += 1;
            seen.latest_by_flank = seen.latest_by_flank.max(late);
        }
        seen.sparks += 1;
        seen.earliest = seen.earliest.min(late);
        seen.latest = seen.latest.max(late / allowed);
        seen.least_dwell = seen.least_dwell.min((spark.off - spark.on) / dwell);
    }
}

fn new_seen() -> Seen {
    Seen { earliest: f64::INFINITY, least_dwell: f64::INFINITY, ..Seen::default() }
}

/// Every pulse of these has one spark, counted by the nearest crossing.
fn hold_one_spark_a_pulse(plain: &Plain, motion: &Motion, ridden: &Ridden, pulses: impl Iterator<Item = i64>) -> usize {
    let mut count = 0;
    for pulse in pulses {
        let sparks: Vec<_> = ridden.sparks.iter().filter(|spark| spark.angle(plain, motion).0 == pulse).collect();
        assert_eq!(
            sparks.len(),
            1,
            "pulse {pulse}: all {:?}, {:?} {:?} {plain:?}",
            ridden.sparks.iter().map(|spark| (spark.angle(plain, motion), spark)).collect::<Vec<_>>(),
            ridden.phases,
            ridden.counters
        );
        count += 1;
    }
    count
}

/// Ten volts and eight: with 5.5 ms the moving flank can begin a dwell of at most 10 ms, with 9.7 ms it seldom can.
#[test]
fn no_cranking_spark_is_before_its_crossing_nor_later_than_one_dwell() {
    let mut seen = [new_seen(), new_seen()];
    for plain in engines() {
        let table = plain.timetable().unwrap();
        for (volts, handled_after) in [(10.0, 0), (12.0, 60), (8.0, 0)] {
            for step in 0..20 {
                let slowest_btdc = f64::from(step) / 20.0 * plain.spacing();
                for mean_rpm in [110.0, 200.0, 300.0] {
                    let swing = Swing { pulses: u32::from(plain.pulses), mean_rpm, ratio: 3.0, slowest_btdc };
                    let motion = swing.append_to(Motion::starting(1.0, mean_rpm), 14.0 * plain.spacing());
                    let edges = pickup_of(&plain, THRESHOLD).edges(&motion, motion.end_time());
                    let ridden = ride(&plain, &table, &edges, volts, handled_after);
                    let seen = &mut seen[usize::from(dwells_by_flank(&plain))];
                    hold_cranking(&plain, volts, handled_after, &edges, &ridden, seen);
                    // The first pulse has no interval yet, and the last one's spark may come after the ride.
                    hold_one_spark_a_pulse(&plain, &motion, &ridden, 2..=13);
                    assert_eq!((ridden.counters.half_pulses, ridden.counters.forced), (0, 0), "{plain:?}");
                    let shortest = dwell_at(&plain, volts, plain.period(mean_rpm));
                    for spark in &ridden.sparks {
                        let share = (spark.off - spark.on) / shortest;
                        assert!(share > 0.75 - 1e-3, "{share} of a dwell: {spark:?} {plain:?}");
                    }
                }
            }
        }
    }
    for (seen, by) in seen.iter().zip(["from the crossing alone", "by the moving flank too"]) {
        println!(
            "{by}: {} sparks, {} by the flank; earliest {:.2} us, latest {:.3} of the bound, by the flank {:.2} ms after the crossing; least dwell {:.3}",
            seen.sparks, seen.by_flank, seen.earliest * 1e6, seen.latest, seen.latest_by_flank * 1e3, seen.least_dwell
        );
    }
    assert_eq!(seen[0].by_flank, 0);
    assert!(seen[1].by_flank > 1_000, "the flank began only {} dwells", seen[1].by_flank);
}

/// From rest on the starter, through compressions, to the first fired pulses.
fn start(plain: &Plain, numbers: &mut Numbers) -> (Motion, i64, i64) {
    let pulses = u32::from(plain.pulses);
    let swing = Swing {
        pulses,
        mean_rpm: numbers.between(180.0, 250.0),
        ratio: numbers.between(1.0, 3.0),
        slowest_btdc: numbers.between(0.0, plain.spacing()),
    };
    let rest = numbers.between(0.0, plain.spacing());
    let motion = Motion::starting(rest, 0.0).ramp_to(swing.mean_rpm, numbers.between(300.0, 1500.0));
    // The compressions begin where the ramp has ended.
    let begins = motion.angle_at(motion.end_time());
    let first_fired = (begins / plain.spacing()).ceil() as i64 + 4;
    let fire = FirstFire {
        cranking: swing,
        first_fired,
        fired: numbers.one_of(&[2, 3, 4, 6]),
        // More than 2.8 times as fast in two pulses is beyond what an interval can be told from noise by; and with many pulses, more
        // than 560 crank rpm in two is beyond the greatest acceleration.
        reached_rpm: (2.8 * swing.mean_rpm).min(560.0),
    };
    let last = first_fired + 14;
    let motion = fire.append_to(motion, last as f64 * plain.spacing() - begins);
    let first = (rest / plain.spacing()).ceil() as i64;
    (motion, first, last)
}

/// Not with 12 pulses, where the speed nearly trebles in two pulses and a pulse is 60 crank degrees.
#[test]
fn from_rest_to_running_every_pulse_has_one_spark() {
    let (mut numbers, mut pulses, mut starts, mut seen) = (Numbers::new(21), 0, 0, new_seen());
    let mut widest = (0.0_f64, 0.0_f64);
    for plain in engines().into_iter().filter(|plain| plain.pulses < 12) {
        let table = plain.timetable().unwrap();
        for _ in 0..60 * times() {
            let (motion, _, last) = start(&plain, &mut numbers);
            let edges = pickup_of(&plain, THRESHOLD).edges(&motion, motion.end_time());
            let ridden = ride(&plain, &table, &edges, 10.0, 0);
            hold_cranking(&plain, 10.0, 0, &edges, &ridden, &mut seen);
            // From the second crossing on.
            let first = crossings(&edges)[0].pulse.unwrap();
            pulses += hold_one_spark_a_pulse(&plain, &motion, &ridden, first + 1..last);
            assert_eq!(ridden.phases.last().unwrap().1, Phase::Running, "{plain:?}");
            for spark in ridden.sparks.iter().filter(|spark| spark.off < motion.end_time()) {
                let (_, angle) = spark.angle(&plain, &motion);
                widest = (widest.0.max(angle), widest.1.min(angle));
            }
            starts += 1;
        }
    }
    println!(
        "{starts} starts, {pulses} pulses, each with one spark, from {:.1} to {:.1} crank degrees BTDC; {} cranking sparks, {} by the flank, earliest {:.2} us",
        widest.0, widest.1, seen.sparks, seen.by_flank, seen.earliest * 1e6
    );
    assert!(starts > 1_000 && seen.by_flank > 500);
}
