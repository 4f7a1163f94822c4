//! What one false or one lost edge does. Bounds and crank are those of `tests/truth/crank`.
//!
//! The table of the greatest early shifts at steady speed stands in `core/README.md`; the test that measures it compares the two.

// Times and places of these tests are small and positive, far inside every cast.
#![allow(clippy::cast_precision_loss, clippy::cast_possible_truncation, clippy::cast_sign_loss)]

use std::fmt::Write as _;

use bobweight_crank::{Edge, Flank, Ignition, Motion, bounds, pickup};
use bobweight_tests::numbers::{Numbers, times};
use bobweight_tests::plain::Plain;
use bobweight_tests::ride::{Ridden, Ride};

/// Advance of the settings at every running speed, crank degrees.
const ADVANCE: f64 = Plain::FLAT_ADVANCE;
const SPEEDS: [f64; 28] = [
    100.0, 150.0, 200.0, 300.0, 380.0, 450.0, 500.0, 600.0, 700.0, 800.0, 900.0, 1000.0, 1200.0, 1400.0, 1600.0,
    1800.0, 2000.0, 2250.0, 2500.0, 2750.0, 3000.0, 3500.0, 4000.0, 4500.0, 5000.0, 5500.0, 6000.0, 6500.0,
];

fn ride(plain: &Plain, edges: &[Edge]) -> Ridden {
    let table = plain.timetable().unwrap();
    Ride { plain, table: &table, handled_after: 0, depression: None, volts: 12.0 }.over(edges)
}

/// What one upset edge changed, crank degrees.
#[derive(Debug, Default)]
struct Change {
    early: f64,
    late: f64,
    lacking: usize,
    doubled: usize,
    /// The last pulse, after the upset one, that is not as it was.
    until: i64,
}

/// Compares the sparks of each pulse from `first` to `last` with those of the undisturbed ride.
fn change(plain: &Plain, motion: &Motion, calm: &Ridden, upset: &Ridden, pulses: std::ops::Range<i64>) -> Change {
    let mut change = Change { until: pulses.start, ..Change::default() };
    let tick = 6.0 * motion.end_speed() / plain.tick_rate;
    let times = |ridden: &Ridden| -> Vec<f64> { ridden.sparks.iter().map(|spark| spark.off).collect() };
    let (calm, upset) = (times(calm), times(upset));
    for pulse in pulses {
        // A spark belongs to the pulse whose undisturbed spark is the nearest.
        let top = |time: f64| (motion.angle_at(time) / plain.spacing() + 0.5).floor();
        let Some(&own) = calm.iter().find(|&&time| (top(time) - pulse as f64).abs() < 0.5) else { continue };
        let half = plain.spacing() / 2.0;
        let found: Vec<f64> = upset
            .iter()
            .map(|&time| motion.angle_at(own) - motion.angle_at(time))
            .filter(|early| (-half..half).contains(early))
            .collect();
        change.lacking += usize::from(found.is_empty());
        change.doubled += found.len().saturating_sub(1);
        for early in &found {
            change.early = change.early.max(*early);
            change.late = change.late.max(-early);
        }
        if found.len() != 1 || found[0].abs() > 2.0 * tick + 0.02 {
            change.until = pulse;
        }
    }
    change
}

/// A steady crank with 24 pulses, its edges and the place of pulse 12's.
fn steady(plain: &Plain, rpm: f64) -> (Motion, Vec<Edge>, usize) {
    let motion = Motion::steady(rpm).hold(24.0 * plain.period(rpm));
    let edges = plain.crank_pickup().edges(&motion, motion.end_time());
    let place = edges.iter().position(|edge| edge.pulse == Some(12)).unwrap();
    (motion, edges, place)
}

#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // Periods are below 2^30 ticks.
fn ticks(plain: &Plain, rpm: f64) -> u32 {
    (plain.period(rpm) * plain.tick_rate).round() as u32
}

/// The sequencer's window after a period, as the bounds take it.
fn window(plain: &Plain, rpm: f64) -> bounds::Window {
    let window = plain.timetable().unwrap().window(ticks(plain, rpm));
    bounds::Window { lo: f64::from(window.lo) / plain.tick_rate, hi: f64::from(window.hi) / plain.tick_rate }
}

/// Greatest early shift by one false edge at steady speed, crank degrees, over 400 phases; every bound of the law asserted.
fn false_edge(plain: &Plain, rpm: f64) -> f64 {
    let (motion, edges, place) = steady(plain, rpm);
    let calm = ride(plain, &edges);
    let (period, window) = (plain.period(rpm), window(plain, rpm));
    let truth = plain.truth();
    let running = |rpm: f64| Ignition::running_advance(&truth, rpm, 0.0).1;
    let f = bounds::delay_share(
        u32::from(plain.pulses),
        plain.pickup_angle,
        if rpm < 420.0 { plain.cranking } else { running(rpm) },
    );
    // A shortened period looks like a higher speed, where a curve that rises gives more.
    let risen = running(rpm * period / window.lo) - running(rpm);
    let tick = 6.0 * rpm / plain.tick_rate;
    let mut earliest = 0.0_f64;
    for phase in 1..400 {
        let after = period * f64::from(phase) / 400.0;
        let mut upset = edges.clone();
        pickup::add_false(&mut upset, Flank::Timing, edges[place].time + after);
        let change = change(plain, &motion, &calm, &ride(plain, &upset), 8..22);
        let place = format!(
            "{rpm} crank rpm, {} pulses, false edge at {:.4} of the period: {change:?}",
            plain.pulses,
            after / period
        );
        if after < window.lo - 2.0 / plain.tick_rate {
            assert!(change.early <= 2.0 * tick && change.late <= 2.0 * tick, "outside the window: {place}");
            assert_eq!(change.lacking + change.doubled, 0, "outside the window: {place}");
        }
        let allowed = (1.0 + f) * (1.0 - window.lo / period) * plain.spacing() + risen;
        assert!(change.early <= allowed + 2.0 * tick + 0.02, "more than {allowed} early: {place}");
        // A spark that moves by more than half a pulse leaves one pulse without and gives another two: counted together they tell
        // how many sparks are too many or too few.
        assert!(change.lacking.abs_diff(change.doubled) <= 1, "{place}");
        assert!(change.until <= 12 + 5, "not in step after five good edges: {place}");
        earliest = earliest.max(change.early);
    }
    earliest
}

#[test]
fn one_false_edge_at_steady_speed_moves_one_spark_by_no_more_than_the_bound() {
    let mut table = String::from("| crank rpm | m 1 | m 2 | m 4 | m 8 |\n| --- | --- | --- | --- | --- |\n");
    for rpm in SPEEDS {
        let shifts: Vec<f64> = [1, 2, 4, 8].map(|pulses| false_edge(&Plain::flat(pulses), rpm)).to_vec();
        println!("{rpm} crank rpm: {shifts:.1?}");
        if [450.0, 700.0, 1000.0, 2000.0, 3000.0, 6000.0].contains(&rpm) {
            let cells: Vec<String> = shifts.iter().map(|shift| format!("{shift:.0}")).collect();
            writeln!(table, "| {rpm:.0} | {} |", cells.join(" | ")).unwrap();
        }
    }
    println!("{table}");
    let readme = include_str!("../../core/README.md");
    assert!(readme.contains(&table), "core/README.md shows another table than this:\n{table}");
}

/// Wherever its flank may lie: as near to the whole advance as the box lets it, and as far from it as the burn time does.
#[test]
fn one_false_edge_on_a_v8_moves_one_spark_by_no_more_than_the_bound() {
    for pickup_angle in [55.5, 60.0, 77.0] {
        let plain = Plain { pickup_angle, ..Plain::v8() }.in_steps();
        // Slower it is cranking, and takes its time from the second flank.
        let speeds = SPEEDS.iter().filter(|rpm| (500.0..plain.spark_again_below).contains(*rpm));
        let shifts: Vec<(f64, f64)> = speeds.map(|&rpm| (rpm, false_edge(&plain, rpm))).collect();
        println!("flank at {pickup_angle}: {shifts:.1?}");
        // At most one spark, and only where a slow engine could really have turned so fast.
        assert!(shifts.iter().all(|&(rpm, early)| early < 1.0 || rpm < 1000.0), "{shifts:?}");
    }
}

#[test]
fn one_lost_edge_at_steady_speed_makes_no_spark_early() {
    let (mut latest, mut rides) = (0.0_f64, 0);
    for pulses in [1, 2, 4, 8] {
        let plain = Plain::flat(pulses);
        for rpm in SPEEDS {
            let (motion, mut edges, place) = steady(&plain, rpm);
            let calm = ride(&plain, &edges);
            pickup::lose(&mut edges, place);
            let change = change(&plain, &motion, &calm, &ride(&plain, &edges), 8..22);
            let tick = 6.0 * rpm / plain.tick_rate;
            let late = 6.0 * rpm * bounds::late_without_edge(plain.largest_dwell, 0.5e-3);
            assert!(change.early <= 2.0 * tick + 0.02, "{rpm} crank rpm, {pulses} pulses: {change:?}");
            assert!(change.late <= late + 2.0 * tick, "{rpm} crank rpm, {pulses} pulses: {change:?}, {late} allowed");
            // Where the engine could have stopped, the edge after the lost one is not sure either, and orders nothing.
            let may_lack = if plain.timetable().unwrap().window(ticks(&plain, rpm)).could_stop { 2 } else { 1 };
            assert!(change.lacking <= may_lack && change.doubled == 0, "{rpm} crank rpm, {pulses} pulses: {change:?}");
            assert!(change.until <= 12 + 5, "{rpm} crank rpm, {pulses} pulses: {change:?}");
            latest = latest.max(change.late);
            rides += 1;
        }
    }
    println!("{rides} lost edges; latest spark {latest:.1} crank degrees");
}

/// On ramps at up to the greatest acceleration, either way: early by at most `(1 + f) (hi - lo) / T P`.
#[test]
fn one_false_edge_on_a_ramp_moves_one_spark_by_no_more_than_the_bound() {
    let mut numbers = Numbers::new(3);
    let (mut nearest, mut moved) = (0.0_f64, 0);
    for pulses in [1, 2, 4, 8] {
        let plain = Plain::flat(pulses);
        for _ in 0..500 * times() {
            let from = numbers.between(600.0, 5000.0);
            let rate = numbers.between(-1.0, 1.0) * plain.acceleration;
            let to = (from + rate * 12.0 * plain.period(from)).clamp(500.0, 6500.0);
            let motion = Motion::steady(from)
                .hold(12.0 * plain.period(from))
                .ramp_to(to, plain.acceleration.min(rate.abs().max(1.0)));
            let motion = motion.hold(12.0 * plain.period(to));
            let edges = plain.crank_pickup().edges(&motion, motion.end_time());
            let place = 8 + (numbers.next_share() * 8.0) as usize;
            let gap = edges[place + 1].time - edges[place].time;
            let (calm, mut upset) = (ride(&plain, &edges), edges.clone());
            pickup::add_false(&mut upset, Flank::Timing, edges[place].time + gap * numbers.between(0.01, 0.99));
            let upset = ride(&plain, &upset);
            // The period before the false edge, by the true edges.
            let period = edges[place].time - edges[place - 1].time;
            let f = bounds::delay_share(u32::from(pulses), plain.pickup_angle, ADVANCE);
            let bound =
                bounds::false_edge_early(u32::from(pulses), f, period, window(&plain, plain.period(1.0) / period));
            for spark in &upset.sparks {
                let Some(own) =
                    calm.sparks.iter().min_by(|a, b| (a.off - spark.off).abs().total_cmp(&(b.off - spark.off).abs()))
                else {
                    continue;
                };
                let early = motion.angle_at(own.off) - motion.angle_at(spark.off);
                let tick = 6.0 * motion.speed_at(spark.off) / plain.tick_rate;
                assert!(
                    early <= bound + 2.0 * tick + 0.02,
                    "{early} crank degrees early of {bound}: {pulses} pulses, {from} to {to} crank rpm"
                );
                nearest = nearest.max(early / bound);
                moved += usize::from(early > 1.0);
            }
        }
    }
    println!("{moved} sparks moved; early to {nearest:.3} of the bound");
    assert!(moved > 50, "only {moved} sparks moved");
}
