//! Flank times against the closed form of the motion in `f64`: a crank that turns at N rpm moves by 6 N degrees a second, and
//! one with a constant rate a rpm/s obeys `w^2 = v^2 + 2 a (angle / 6)`, `time = 2 (angle / 6) / (v + w)` (kinematics).
// Test figures are small and chosen; what a cast could lose is not there.
#![allow(clippy::cast_possible_truncation, clippy::cast_precision_loss, clippy::cast_sign_loss, clippy::float_cmp)]

mod common;

use bobweight_stimulator::Flank;
use bobweight_stimulator::wire::*;
use common::*;

/// Angle between timing flank and second flank, and one pulse, in crank degrees.
fn geometry(pattern: &PickupPattern) -> (f64, f64) {
    let pulse = 720.0 / f64::from(pattern.pulses_in_two_turns);
    let second = pattern.second.map_or(pulse / 2.0, |s| f64::from(pattern.timing.0 - s.0) / 256.0);
    (second.rem_euclid(pulse), pulse)
}

/// Seconds and final speed of a move by an angle at a constant rate in rpm/s.
fn uniform(speed: f64, rate: f64, angle: f64) -> (f64, f64) {
    let end = (speed * speed + 2.0 * rate * angle / 6.0).max(0.0).sqrt();
    (2.0 * angle / 6.0 / (speed + end), end)
}

const PATTERNS: [(u8, f64, Option<f64>); 9] = [
    (1, 60.0, Some(8.0)),
    (2, 60.0, Some(8.0)),
    (3, 59.75, Some(7.25)),
    (4, 60.0, Some(8.0)),
    (5, 10.0, Some(30.0)),
    (7, 60.0, Some(9.0)),
    (8, 45.0, Some(8.0)),
    (11, 30.0, None),
    (12, 50.0, Some(8.0)),
];

/// Every flank of a steady crank is within one tick of its time, however many came before; so its mean speed is right too.
#[test]
fn steady_flanks() {
    let mut worst: f64 = 0.0;
    for tick_rate in [MEGAHERTZ, 2 * MEGAHERTZ, 16 * MEGAHERTZ, 125 * MEGAHERTZ, 200 * MEGAHERTZ] {
        for (pulses, timing, second) in PATTERNS {
            let pattern = pattern(pulses, timing, second);
            let (to_second, pulse) = geometry(&pattern);
            for speed in [20.0, 47.3, 200.0, 650.0, 1234.56, 3000.0, 4600.0, 9999.9, 20_000.0] {
                let mut bench = Bench::at(tick_rate, 0u32.wrapping_sub(tick_rate));
                bench.tell(HostMessage::Pattern(pattern));
                bench.tell(HostMessage::Speed(rpm(speed)));
                let speed = f64::from(rpm(speed).0) / 256.0;
                let rate = f64::from(tick_rate);
                // The first flank comes 1/128 of a second and the idle part of a pulse after the message.
                let first = f64::from(tick_rate >> 7) + (pulse - to_second) / (6.0 * speed) * rate;
                for (number, (flank, at)) in bench.flanks(600).into_iter().enumerate() {
                    let (sense, angle) = if number % 2 == 0 {
                        (Flank::Timing, 0.0)
                    } else {
                        (if second.is_some() { Flank::Second } else { Flank::Return }, to_second)
                    };
                    assert_eq!(flank, Some(sense));
                    let exact = first + ((number / 2) as f64 * pulse + angle) / (6.0 * speed) * rate;
                    let error = (at as f64 - exact).abs();
                    worst = worst.max(error);
                    assert!(
                        error < 1.0,
                        "{pulses} pulses, {speed} crank rpm, {tick_rate} Hz, flank {number}: {error} ticks out"
                    );
                }
            }
        }
    }
    println!("steady: worst {worst:.3} ticks");
}

/// Every flank of a ramp and of the steady speed after it is within one tick, counted from the flank at which it began.
#[test]
fn ramp_flanks() {
    let mut worst: f64 = 0.0;
    for tick_rate in [MEGAHERTZ, 2 * MEGAHERTZ, 16 * MEGAHERTZ] {
        for (pulses, timing, second) in PATTERNS {
            for (from, to) in
                [(650.0, 4600.0), (4600.0, 650.0), (300.0, 6000.0), (20.0, 900.0), (2000.0, 2000.0), (3000.0, 2999.5)]
            {
                for rate in [200.0, 2000.0, 6000.0, 33_333.3] {
                    worst = worst.max(ramp(tick_rate, pattern(pulses, timing, second), from, to, rate));
                }
            }
        }
    }
    println!("ramps: worst {worst:.3} ticks");
}

fn ramp(tick_rate: u32, pattern: PickupPattern, from: f64, to: f64, rate: f64) -> f64 {
    let ramp = Ramp { from: rpm(from), to: rpm(to), rate: rpm_per_second(rate) };
    let mut bench = Bench::new(tick_rate);
    bench.tell(HostMessage::Pattern(pattern));
    let sequence = bench.tell(HostMessage::Ramp(ramp));
    let (to_second, pulse) = geometry(&pattern);
    let [from, to, rate] = [ramp.from.0, ramp.to.0, ramp.rate.0].map(|raw| f64::from(raw) / 256.0);
    let signed_rate = if to < from { -rate } else { rate };
    let ticks = f64::from(tick_rate);
    let first = f64::from(tick_rate >> 7) + (pulse - to_second) / (6.0 * from) * ticks;
    let ramp_angle = (to * to - from * from) / (2.0 * signed_rate) * 6.0;
    let ramp_seconds = (to - from) / signed_rate;
    let mut worst: f64 = 0.0;
    let mut number = 0;
    let mut beyond = 0;
    // Some pulses beyond the end as well.
    while beyond < 10 {
        bench.ask(HostMessage::KeepAlive);
        let (_, at) = bench.flank().unwrap();
        let angle = f64::from(number / 2) * pulse + if number % 2 == 0 { 0.0 } else { to_second };
        let seconds = if angle < ramp_angle {
            uniform(from, signed_rate, angle).0
        } else {
            beyond += 1;
            ramp_seconds + (angle - ramp_angle) / (6.0 * to)
        };
        let error = (at as f64 - (first + seconds * ticks)).abs();
        worst = worst.max(error);
        assert!(
            error < 1.0,
            "{pattern:?} {from} to {to} crank rpm at {rate} rpm/s, {tick_rate} Hz, flank {number}: {error} ticks"
        );
        number += 1;
    }
    let events = bench.all_events();
    assert_eq!(events[0].0, EventKind::Begun(sequence));
    assert_eq!(events[1], (EventKind::Timing, events[0].1), "the ramp begins at the flank of the same tick");
    let ended = events.iter().find(|(kind, _)| *kind == EventKind::RampEnded).expect("the ramp ends").1;
    let exact_end = first + ramp_seconds * ticks;
    assert!(ended as f64 >= exact_end - 1.0, "said to have ended before it has");
    worst
}

/// A slow ramp of nine minutes: what rounding adds up to, and that each interval is right.
#[test]
fn slow_ramp() {
    let tick_rate = 2 * MEGAHERTZ;
    let ramp = Ramp { from: rpm(600.0), to: rpm(6000.0), rate: rpm_per_second(10.0) };
    let mut bench = Bench::new(tick_rate);
    bench.tell(HostMessage::Pattern(pattern(4, 60.0, Some(8.0))));
    bench.tell(HostMessage::Ramp(ramp));
    let mut first = None;
    let mut last = (0.0, 0.0);
    for number in 0_u32.. {
        bench.ask(HostMessage::KeepAlive);
        let (_, at) = bench.flank().unwrap();
        let first = *first.get_or_insert(at as f64);
        let angle = f64::from(number / 2) * 180.0 + f64::from(number % 2) * 52.0;
        let (seconds, speed) = uniform(600.0, 10.0, angle);
        if speed > 6000.0 {
            break;
        }
        let (exact, measured) = (seconds * f64::from(tick_rate), at as f64 - first);
        assert!((measured - exact).abs() < 2.0, "flank {number}: {} ticks out", measured - exact);
        assert!((measured - last.1 - (exact - last.0)).abs() <= 1.01, "interval before flank {number}");
        last = (exact, measured);
    }
}

/// Cranking: from least at top dead centre to greatest halfway, at a constant rate; so each half pulse takes its angle over the
/// mean speed, and each flank follows from the constant rate.
#[test]
fn cranking_flanks() {
    let mut worst: f64 = 0.0;
    for tick_rate in [MEGAHERTZ, 2 * MEGAHERTZ, 16 * MEGAHERTZ] {
        for (pulses, timing, second) in PATTERNS {
            for (mean, ratio) in [(200.0, 3.0), (60.0, 3.0), (20.0, 8.0), (450.0, 1.0), (333.3, 2.5), (2000.0, 3.0)] {
                let pattern = pattern(pulses, timing, second);
                let (to_second, pulse) = geometry(&pattern);
                let mut bench = Bench::new(tick_rate);
                bench.tell(HostMessage::Pattern(pattern));
                bench.tell(HostMessage::Crank(CrankPattern {
                    mean: rpm(mean),
                    ratio: SpeedRatio((ratio * 256.0) as u16),
                }));
                let mean = f64::from(rpm(mean).0) / 256.0;
                let least = 2.0 * mean / (1.0 + ratio);
                let half_seconds = pulse / 2.0 / (6.0 * mean);
                let rate = (ratio - 1.0) * least / half_seconds;
                // Seconds from a top dead centre to a place after it.
                let since = |after: f64| {
                    let pulses = (after / pulse).floor();
                    let place = after - pulses * pulse;
                    let within = if place <= pulse / 2.0 {
                        uniform(least, rate, place).0
                    } else {
                        2.0 * half_seconds - uniform(least, rate, pulse - place).0
                    };
                    pulses * 2.0 * half_seconds + within
                };
                let timing_after = (-timing).rem_euclid(pulse);
                let mut first = None;
                for (number, (_, at)) in bench.flanks(100).into_iter().enumerate() {
                    let after = timing_after + (number / 2) as f64 * pulse + (number % 2) as f64 * to_second;
                    let exact = (since(after) - since(timing_after)) * f64::from(tick_rate);
                    let measured = (at - *first.get_or_insert(at)) as f64;
                    let error = (measured - exact).abs();
                    worst = worst.max(error);
                    // The first flank is the origin here and has a rounding of its own: half a tick more.
                    assert!(
                        error < 1.5,
                        "{pulses} pulses, mean {mean} ratio {ratio}, {tick_rate} Hz, flank {number}: {error} ticks"
                    );
                }
            }
        }
    }
    println!("cranking: worst {worst:.3} ticks");
}
