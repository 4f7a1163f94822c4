//! Settings and streams of every kind, for laws.

use crate::plain::Plain;
use proptest::prelude::*;

fn centrifugal() -> impl Strategy<Value = Vec<(f64, f64)>> {
    // The first speed, then steps in speed and in advance; never steeper than 0.2 crank degrees a crank rpm.
    (500.0..2000.0f64, prop::collection::vec((100.0..1500.0f64, -5.0..15.0f64), 1..8)).prop_map(|(first, steps)| {
        let mut curve = vec![(first, 0.0f64)];
        for (run, rise) in steps {
            let (x, y) = curve[curve.len() - 1];
            let rise = (y + rise).clamp(0.0, 30.0) - y;
            curve.push((x + run, y + rise));
        }
        curve
    })
}

prop_compose! {
    /// Settings of which most can be timed; the caller drops those that the core refuses.
    pub fn plain()(
        centrifugal in centrifugal(),
        initial in 0.0..15.0f64,
        cranking in 0.0..12.0f64,
        vacuum in prop_oneof![Just(vec![]), (5.0..30.0f64, 5.0..40.0f64, 2.0..20.0f64)
            .prop_map(|(start, run, advance)| vec![(start, 0.0), (start + run, advance)])],
        ported in any::<bool>(),
        second in any::<bool>(),
        pulses in 1u8..=12,
        above_advance in 3.0..25.0f64,
        lag in prop_oneof![Just(0.0), 0.0..500e-6f64],
        acceleration in 100.0..20_000.0f64,
        spread in 0.0..1.0f64,
        (greatest_speed, duty, burn) in (3000.0..9000.0f64, 0.3..0.9f64, 0.1e-3..1.5e-3f64),
        tick_rate in prop::sample::select(vec![250e3, 1e6, 2e6, 16e6, 125e6, 200e6]),
        latency in 0.0..150e-6f64,
        slack in prop_oneof![Just(0.0), -5.0..10.0f64],
        held in prop_oneof![Just(None), (0.0..30.0f64).prop_map(Some)],
    ) -> Plain {
        let cranking = (cranking * 8.0).round() / 8.0;
        let top = centrifugal.iter().map(|&(_, y)| y).fold(0.0, f64::max);
        let vacuum_top = vacuum.last().map_or(0.0, |&(_, y)| y);
        let sum = (initial + top + vacuum_top).min(89.0);
        let pickup_angle = (sum + above_advance + 6.0 * greatest_speed * (lag + latency)).max(cranking + 8.0);
        Plain {
            initial,
            cranking,
            held: held.unwrap_or(initial),
            centrifugal,
            vacuum,
            ported,
            greatest_rate: 30.0,
            // With negative slack the clamp acts, and must hold too.
            greatest: (sum + slack).clamp(initial + 0.5, 90.0),
            greatest_without_vacuum: 90.0,
            greatest_cranking: cranking.max(10.0),
            least: initial.min(2.0),
            cranking_below: 400.0,
            running_from: 450.0,
            no_spark_above: greatest_speed,
            spark_again_below: greatest_speed - 100.0,
            pulses,
            pickup_angle,
            second_flank_angle: second.then_some(cranking),
            moving_flank: None,
            bounce: 0.0,
            lag,
            acceleration: acceleration.round(),
            spread: spread.min(720.0 / f64::from(pulses) / 8.0),
            dwell: vec![(8.0, 9.7e-3), (10.0, 5.5e-3), (12.0, 3.9e-3), (14.0, 3.1e-3), (16.0, 2.6e-3)],
            largest_dwell: 10e-3,
            largest_duty: duty,
            burn_time: burn,
            tick_rate,
            latency,
        }
        .in_steps()
    }
}

prop_compose! {
    /// The same with a reluctor: its crossing at the cranking advance, no advance below that, and every second one with a moving flank too
    /// early for a dwell by it.
    pub fn reluctor()(
        plain in plain(),
        latest in 1.0..8.0f64,
        more in 0.0..8.0f64,
        by_flank in any::<bool>(),
    ) -> Plain {
        let crossing = plain.cranking;
        let half = 360.0 / f64::from(plain.pulses);
        let earliest = crossing + (latest + more).min(half);
        let initial = plain.initial.max(crossing);
        Plain {
            pickup_angle: crossing,
            second_flank_angle: None,
            moving_flank: Some((earliest, crossing + latest.min(half))),
            greatest_cranking: if by_flank { earliest + 0.5 } else { earliest - 0.5 },
            initial,
            held: plain.held.max(crossing),
            least: crossing,
            greatest: (plain.greatest + initial - plain.initial).clamp(crossing + 0.5, 90.0),
            ..plain
        }
        .in_steps()
    }
}
