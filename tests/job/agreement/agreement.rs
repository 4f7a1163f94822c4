//! The core's ignition against a second one from the formulas alone, on the edges of the independent crank.
//!
//! Both are given the same edges at the same ticks. The second ignition believes every edge at once; the core wants a clean
//! period first and refuses what noise could be, so the first sparks of each ride and those of disturbed edges are left out.
//! `tests/tools/suites/mutants.sh` plants errors in the core, each of which makes this test fail.

use bobweight_crank::{Edge, FirstFire, Ignition, Motion, Order, Swing};
use bobweight_tests::plain::Plain;
use bobweight_tests::ride::{Fired, Ride};

const VOLTS: f64 = 12.0;

/// What a spark may be off: a tick at either end and 0.02 crank degrees of the core, 0.011 of which the clamp's bound takes.
const WITHIN: f64 = 0.02;

fn engines() -> Vec<Plain> {
    let base = Plain::fire_float();
    let lagging = Plain { lag: 150e-6, ..base.clone() };
    // The clamp acts at both ends, and here it must.
    let clamped = Plain { greatest: 31.3, least: 9.1, cranking: 8.0, ..base.clone() };
    let eight = Plain { no_spark_above: 6000.0, spark_again_below: 5900.0, burn_time: 0.5e-3, ..Plain::with_pulses(8) };
    let one = Plain { tick_rate: 16e6, ..Plain::with_pulses(1) };
    [base, lagging, clamped, eight, one].map(Plain::in_steps).to_vec()
}

/// Every order of the second ignition, by the edge that made it.
fn orders(plain: &Plain, edges: &[Edge], depression: impl Fn(usize) -> Option<f64>) -> Vec<Option<Order>> {
    let mut ignition = Ignition::new(plain.truth());
    ignition.battery(VOLTS);
    let orders = edges.iter().enumerate().map(|(place, edge)| {
        // Both see the edge at the tick in which it came.
        let time = (edge.time * plain.tick_rate).floor() / plain.tick_rate;
        let order = ignition.edge(edge.flank, time);
        ignition.depression(depression(place), false, time);
        order
    });
    orders.collect()
}

/// Compares every spark that an edge after the first `settled` ones timed with the second ignition's order for that edge; answers how many there were.
fn compare(
    plain: &Plain,
    motion: &Motion,
    edges: &[Edge],
    sparks: &[Fired],
    orders: &[Option<Order>],
    settled: usize,
) -> usize {
    let (mut compared, mut unordered) = (0, 0);
    for spark in sparks {
        let Some(timed) = spark.timed_by.filter(|timed| !timed.after_lost && !timed.unruly && timed.edge > settled)
        else {
            continue;
        };
        let edge = edges[timed.edge].time;
        let Some(order) = orders[timed.edge] else {
            // Overspeed acts from the next dwell on: one that runs goes on to its spark.
            unordered += 1;
            assert!(spark.on < edge && unordered <= 1, "a spark at an edge that orders none: {spark:?} {plain:?}");
            continue;
        };
        let speed = motion.speed_at(spark.off);
        let early = 6.0 * speed * (order.off - spark.off);
        let allowed = WITHIN + 6.0 * speed / plain.tick_rate;
        assert!(
            early.abs() <= allowed,
            "{early} crank degrees early at {speed} crank rpm, {allowed} allowed: {spark:?} {order:?} {plain:?}"
        );
        let dwell = spark.off - spark.on;
        let changing = settled < 10;
        // On is set by the last period's prediction: a tick of the edge, its share of the delay and two roundings, under 4 ticks.
        let longest = (order.off - order.on).max(0.5e-3) + 4.0 / plain.tick_rate;
        assert!(
            // While the speed changes, a dwell begun before its edge waits for the slowest one.
            dwell <= longest || (changing && spark.on < edge),
            "a dwell of {dwell} s, wanted {longest} s at most: {spark:?} {plain:?}"
        );
        compared += 1;
    }
    compared
}

#[test]
fn at_steady_speeds_and_depressions_every_spark_agrees() {
    let mut compared = 0;
    for plain in engines() {
        let table = plain.timetable().unwrap();
        for speed in [100.0, 200.0, 380.0, 500.0, 650.0, 900.0, 1100.0, 1300.0, 1700.0, 2500.0, 3300.0, 4000.0, 4650.0]
        {
            for kpa in [None, Some(0.0), Some(28.8), Some(40.5), Some(70.0)] {
                let motion = Motion::steady(speed).hold(60.0 * plain.period(speed) + 1.0);
                let edges = plain.crank_pickup().edges(&motion, motion.end_time());
                let ride = Ride { plain: &plain, table: &table, handled_after: 0, depression: kpa, volts: VOLTS };
                let ridden = ride.over(&edges);
                let n =
                    compare(&plain, &motion, &edges, &ridden.sparks, &orders(&plain, &edges, |_| kpa), edges.len() / 2);
                assert!(n >= 25, "{n} sparks of 60 pulses at {speed} crank rpm: {plain:?}");
                compared += n;
            }
        }
    }
    println!("{compared} sparks agree");
}

/// From cranking through every ramp of the curve into overspeed and back, by a swing, a first fire and steady accelerations.
#[test]
fn from_the_first_turn_to_overspeed_and_back_every_spark_agrees() {
    let mut compared = 0;
    for plain in engines() {
        let table = plain.timetable().unwrap();
        let swing = Swing { pulses: u32::from(plain.pulses), mean_rpm: 200.0, ratio: 3.0, slowest_btdc: 20.0 };
        let fire = FirstFire { cranking: swing, first_fired: 14, fired: 4, reached_rpm: 560.0 };
        let motion = fire.append_to(Motion::steady(200.0), 30.0 * plain.spacing());
        let motion = motion.ramp_to(650.0, 500.0).ramp_to(plain.no_spark_above + 200.0, 1500.0);
        let motion = motion.hold(0.3).ramp_to(600.0, 1500.0).hold(0.5);
        let edges = plain.crank_pickup().edges(&motion, motion.end_time());
        let ride = Ride { plain: &plain, table: &table, handled_after: 0, depression: Some(33.0), volts: VOLTS };
        let ridden = ride.over(&edges);
        let orders = orders(&plain, &edges, |_| Some(33.0));
        let n = compare(&plain, &motion, &edges, &ridden.sparks, &orders, 8);
        let ordered = orders.iter().flatten().count();
        println!("{n} sparks agree of {ordered} ordered with {} pulses", plain.pulses);
        assert!(n * 10 >= ordered * 9, "only {n} of {ordered}: {plain:?}");
        compared += n;
    }
    assert!(compared > 1000, "{compared}");
}

/// Vacuum advance is added slowly and taken away at once.
#[test]
fn a_depression_that_comes_and_goes_gives_the_same_advance() {
    use bobweight::Flank;
    use bobweight_tests::firmware::{Happening, Timer};
    use bobweight_tests::plain::depression;
    let plain = Plain::fire_float().in_steps();
    let table = plain.timetable().unwrap();
    let kpa = |place: usize| [Some(60.0), Some(25.0), None, Some(40.0)][place / 40 % 4];
    let motion = Motion::steady(2000.0).hold(400.0 * plain.period(2000.0));
    let pickup = bobweight_crank::Pickup { second_flank_angle: None, ..plain.crank_pickup() };
    let edges = pickup.edges(&motion, motion.end_time());
    let orders = orders(&plain, &edges, kpa);
    let mut timer = Timer::new(&plain, &table, 0);
    timer.happen(0, Happening::Battery(bobweight_tests::plain::voltage(VOLTS)));
    let mut compared = 0;
    for (place, edge) in edges.iter().enumerate() {
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // Times are small and positive.
        let at = (edge.time * plain.tick_rate).floor() as u64;
        let vacuum = timer.sequencer.vacuum().get().to_num::<f64>();
        timer.happen(at, Happening::Edge { flank: Flank::Timing, handled_after: 0 });
        timer.happen(at, Happening::Sample(kpa(place).map(depression), false));
        if let Some(order) = orders[place].filter(|_| place > 60) {
            let speed = plain.period(1.0) / order.period;
            let given = order.advance - Ignition::running_advance(&plain.truth(), speed, 0.0).0;
            assert!(
                (given - vacuum).abs() < 0.02,
                "edge {place}: {vacuum} crank degrees given, {given} by the formula"
            );
            compared += 1;
        }
    }
    assert!(compared > 330, "{compared}");
}
