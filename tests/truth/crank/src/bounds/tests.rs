use super::*;
use crate::{Edge, Motion, Pickup, Spark, period};

const ACCELERATION: f64 = 6000.0;
const PICKUP_ANGLE: f64 = 60.0;

/// Crank degrees. Angles grow to a million, where an `f64` steps by 1e-10.
const ROUNDING: f64 = 1e-9;

/// A small repeatable source of numbers in 0 .. 1, by Marsaglia's xorshift of 64 bits with the shifts 13, 7, 17.
struct Numbers(u64);

impl Numbers {
    fn next(&mut self) -> f64 {
        for shift in [13, -7, 17_i32] {
            self.0 ^= if shift > 0 { self.0 << shift } else { self.0 >> -shift };
        }
        (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.next()
    }
}

/// Sparks that would be ordered from these edges with a given advance, by the formula: (error early, period, advance).
fn errors(motion: &Motion, pulses: u32, edges: &[Edge], parts: f64, numbers: &mut Numbers) -> Vec<(f64, f64, f64)> {
    edges
        .windows(2)
        .map(|pair| {
            let advance = numbers.between(0.0, 45.0);
            let t = (pair[1].time - pair[0].time) / parts;
            let off = pair[1].time + t * delay_share(pulses, PICKUP_ANGLE, advance);
            let spark = Spark::of_pulse(motion, pulses, off, pair[1].pulse.unwrap());
            (spark.btdc - advance, t, advance)
        })
        .collect()
}

/// A steady acceleration reaches the bound, late when it rises and early when it falls.
#[test]
fn steady_acceleration_reaches_the_bound_of_an_edge() {
    let mut numbers = Numbers(1);
    for pulses in 1..=12 {
        for (from, to) in [(600.0, 6000.0), (6000.0, 600.0)] {
            let motion = Motion::steady(from).ramp_to(to, ACCELERATION);
            let edges = Pickup::new(pulses, PICKUP_ANGLE).edges(&motion, motion.end_time() * 0.95);
            let seen = errors(&motion, pulses, &edges, 1.0, &mut numbers);
            assert!(!seen.is_empty());
            for (early, t, advance) in seen {
                let bound = timed_by_edge(pulses, PICKUP_ANGLE, advance, t, ACCELERATION);
                let expected = if to > from { -early } else { early };
                assert!(
                    (0.8 * bound..=bound + ROUNDING).contains(&expected),
                    "{pulses} pulses from {from}: {early} of {bound}"
                );
            }
        }
    }
}

/// Arbitrary throttle at up to the greatest acceleration never exceeds the bounds, with every edge or with one lost.
#[test]
fn no_throttle_exceeds_the_bounds() {
    let mut numbers = Numbers(2);
    let (mut nearest, mut nearest_lost, mut count) = (0.0_f64, 0.0_f64, 0);
    for round in 0..600 {
        let pulses = 1 + round % 12;
        let mut motion = Motion::steady(numbers.between(500.0, 6000.0));
        for _ in 0..60 {
            let share = [-1.0, 1.0, numbers.between(-1.0, 1.0)][(numbers.next() * 3.0) as usize];
            let change = numbers.between(0.0, 1.0).powi(2) * 1500.0;
            let speed = (motion.end_speed() + change * f64::signum(share)).clamp(400.0, 6500.0);
            motion = motion.ramp_to(speed, ACCELERATION * share.abs().max(0.01));
        }
        let edges = Pickup::new(pulses, PICKUP_ANGLE).edges(&motion, motion.end_time());
        for (early, t, advance) in errors(&motion, pulses, &edges, 1.0, &mut numbers) {
            let bound = timed_by_edge(pulses, PICKUP_ANGLE, advance, t, ACCELERATION);
            nearest = nearest.max((early.abs() - ROUNDING) / bound);
            count += 1;
        }
        // Every second edge lost: each interval is that of one lost edge.
        let lost: Vec<Edge> = edges.iter().step_by(2).copied().collect();
        for (early, t, advance) in errors(&motion, pulses, &lost, 2.0, &mut numbers) {
            let bound = after_lost_edge(pulses, PICKUP_ANGLE, advance, t, ACCELERATION);
            nearest_lost = nearest_lost.max((early.abs() - ROUNDING) / bound);
        }
    }
    println!("{count} sparks; nearest to the bound {nearest:.4}, after a lost edge {nearest_lost:.4}");
    assert!((0.8..=1.0).contains(&nearest), "{nearest}");
    assert!((0.8..=1.0).contains(&nearest_lost), "{nearest_lost}");
}

/// Next periods on the crank: a steady acceleration or deceleration reaches them.
#[test]
fn next_periods_are_reached_by_steady_acceleration() {
    for pulses in [1, 3, 4, 8, 12] {
        for (from, to, sign) in [(800.0, 6500.0, 1.0), (6500.0, 800.0, -1.0)] {
            let motion = Motion::steady(from).ramp_to(to, ACCELERATION);
            let edges = Pickup::new(pulses, PICKUP_ANGLE).edges(&motion, motion.end_time());
            for three in edges.windows(3) {
                let (t, next) = (three[1].time - three[0].time, three[2].time - three[1].time);
                let bound = if sign > 0.0 {
                    shortest_next_period(pulses, t, ACCELERATION)
                } else {
                    longest_next_period(pulses, t, ACCELERATION).expect("far from standstill")
                };
                assert!((next - bound).abs() < 1e-10, "{pulses} pulses after {t} s: {next}, bound {bound}");
            }
        }
    }
    // One pulse in two turns at 200 crank rpm takes 0.6 s; at 6 000 rpm/s the engine has stopped long before.
    assert_eq!(longest_next_period(1, 0.6, ACCELERATION), None);
}

/// Source: arithmetic; without acceleration the window is that of T/128 and the spread alone.
#[test]
fn window_is_widened_by_the_spread() {
    let window = Window::after(4, 0.01, 0.0, 0.0);
    assert!(
        (window.lo - 0.01 * (1.0 - 1.0 / 128.0)).abs() < 1e-12
            && (window.hi - 0.01 * (1.0 + 1.0 / 128.0)).abs() < 1e-12
    );
    // 4 * 0.45 degrees of 180 are one hundredth.
    let window = Window::after(4, 0.01, 0.0, 0.45);
    assert!((window.hi - 0.01 * (1.0 + 1.0 / 128.0 + 0.01)).abs() < 1e-12);
    let slow = Window::after(1, 0.6, ACCELERATION, 0.0);
    assert!(
        (slow.lo - 0.6 * (3.0 / 8.0 - 1.0 / 128.0)).abs() < 1e-12
            && (slow.hi - 0.6 * (7.0 / 4.0 + 1.0 / 128.0)).abs() < 1e-12
    );
}

/// One false edge at every phase of the window, at steady speed; a true edge that comes before the false one's spark moves it back
/// within the largest dwell.
#[test]
fn false_edge_at_steady_speed_reaches_and_keeps_its_bound() {
    let (dwell, largest_dwell) = (0.004, 0.010);
    for pulses in [1, 2, 4, 8] {
        for speed in [450.0, 700.0, 1000.0, 2000.0, 3000.0, 6000.0] {
            let t = period(pulses, speed);
            let f = delay_share(pulses, PICKUP_ANGLE, 20.0);
            let lo = Window::after(pulses, t, ACCELERATION, 0.0).lo;
            let bound = false_edge_early_when_steady(pulses, f, t, lo, late_without_edge(largest_dwell, dwell));
            let mut worst: f64 = 0.0;
            for step in 0..1000 {
                let x = lo + (t - lo) * f64::from(step) / 1000.0;
                let (false_spark, true_spark) = ((1.0 + f) * x, (1.0 + f) * t);
                let on = false_spark - dwell;
                // The dwell has begun by the true edge, or the true edge orders it anew.
                let spark = match (t < false_spark, t < on) {
                    (true, true) => true_spark,
                    (true, false) => true_spark.min(on + largest_dwell),
                    (false, _) => false_spark,
                };
                worst = worst.max((true_spark - spark) * 6.0 * speed);
            }
            assert!(worst <= bound + 1e-9, "{pulses} pulses, {speed} crank rpm: {worst} of {bound}");
            let reached_at_lo = t >= (1.0 + f) * lo - dwell;
            assert!(
                !reached_at_lo || worst >= 0.8 * bound,
                "{pulses} pulses, {speed} crank rpm: only {worst} of {bound}"
            );
        }
    }
}

/// False edges from lo on, before the true edge of an engine that decelerates or accelerates as it may: both sparks are read off the crank.
#[test]
fn false_edge_on_a_motion_keeps_its_bound() {
    let mut nearest: f64 = 0.0;
    for pulses in [2, 4, 8, 12] {
        for step in 0..60 {
            let speed = 900.0 + 80.0 * f64::from(step);
            for (before, after) in
                [(1.0, 1.0), (-1.0, -1.0), (0.0, -1.0), (0.0, 1.0), (1.0, -1.0), (-1.0, 1.0), (0.0, 0.0)]
            {
                // One period at the first acceleration up to the edge, then the second.
                let p = spacing(pulses);
                let opening = Motion::starting(-p, speed).accelerate(before * ACCELERATION, 1.0);
                let Some(at_edge) = opening.time_of_angle(0.0, 0.0).filter(|time| *time < 1.0) else {
                    continue;
                };
                let motion = Motion::starting(-p, speed)
                    .accelerate(before * ACCELERATION, at_edge)
                    .accelerate(after * ACCELERATION, 0.12);
                let t = at_edge;
                let window = Window::after(pulses, t, ACCELERATION, 0.0);
                let f = delay_share(pulses, PICKUP_ANGLE, 20.0);
                let Some(next) = motion.time_of_angle(p, at_edge).map(|time| time - at_edge) else {
                    continue;
                };
                if next > window.hi || window.lo >= next || at_edge + (1.0 + f) * next > motion.end_time() {
                    continue;
                }
                let angle = |interval: f64| motion.angle_at(at_edge + (1.0 + f) * interval);
                let early = angle(next) - angle(window.lo);
                let bound = false_edge_early(pulses, f, t, window);
                nearest = nearest.max(early / bound);
                assert!(
                    early <= bound,
                    "{pulses} pulses, {speed} crank rpm, {before} then {after}: {early} of {bound}"
                );
            }
        }
    }
    println!("false edge on a motion: nearest to the bound {nearest:.3}");
    assert!(nearest > 0.4, "the motions are too tame: {nearest}");
}

/// An edge s early, then a false edge in every place where it may take that edge's place: the spark is late by the bound at most.
#[test]
fn false_edge_after_an_early_edge_reaches_its_late_bound() {
    let (pulses, t, s) = (4, 0.02, 0.0001);
    let f = delay_share(pulses, PICKUP_ANGLE, 20.0);
    let mut latest: f64 = 0.0;
    for step in 0..=100 {
        let place = s + s / 2.0 * (f64::from(step) / 50.0 - 1.0);
        // Edge at -s in place of 0; the false edge `place` after it, with a period longer by that.
        let spark = -s + place + f * (t - s + place);
        let without_false = -s + f * (t - s);
        latest = latest.max((spark - without_false) / t * spacing(pulses));
    }
    let bound = false_edge_late(pulses, f, t, s);
    assert!((latest / bound - 1.0).abs() < 1e-9, "{latest} of {bound}");
}

/// Source: arithmetic; 6 N t.
#[test]
fn second_flank_and_missing_edge_are_late_by_dwell() {
    let (latest, earliest) = cranking_with_second_flank(8.0, 300.0, 0.004);
    assert!((latest - (8.0 - 7.2)).abs() < 1e-12 && (earliest - 8.0).abs() < 1e-12);
    assert!((late_without_edge(0.010, 0.004) - 0.006).abs() < 1e-15);
}
