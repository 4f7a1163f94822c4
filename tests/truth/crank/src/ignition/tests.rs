use super::*;
use crate::{Motion, Pickup, Spark, Swing, spacing};

/// Plain numbers of no engine.
pub(crate) fn settings(pulses: u32) -> Settings {
    Settings {
        pulses,
        pickup_angle: 60.0,
        second_flank_angle: None,
        lag: 0.0,
        initial: 10.0,
        centrifugal: Curve::new(&[(1000.0, 0.0), (3000.0, 20.0)]),
        vacuum: Curve::new(&[(20.0, 0.0), (40.0, 10.0)]),
        ported: false,
        greatest_vacuum_rate: f64::INFINITY,
        clamp: (0.0, 45.0),
        cranking: 8.0,
        held: 12.0,
        cranking_below: 400.0,
        running_from: 450.0,
        no_spark_above: 5000.0,
        spark_again_below: 4900.0,
        dwell: Curve::new(&[(8.0, 0.006), (14.0, 0.003)]),
        largest_dwell: 0.010,
        largest_duty: 0.7,
    }
}

/// Drives the ignition and reads every spark off the crank: (order, spark).
fn run(settings: &Settings, motion: &Motion, until: f64) -> Vec<(Order, Spark)> {
    let pickup = Pickup {
        second_flank_angle: settings.second_flank_angle,
        ..Pickup::new(settings.pulses, settings.pickup_angle)
    };
    let mut ignition = Ignition::new(settings.clone());
    pickup
        .edges(motion, until)
        .iter()
        .filter_map(|edge| ignition.edge(edge.flank, edge.time))
        .map(|order| {
            let at = order.off + settings.lag;
            (order, Spark::read(motion, settings.pulses, at, order.advance))
        })
        .collect()
}

/// Source: the formulas; at steady speed the spark stands where the sum of the parts says, lag or not.
#[test]
fn steady_sparks_stand_on_the_curve() {
    for pulses in 1..=12 {
        for speed in [700.0_f64, 1500.0, 2345.6, 3000.0, 4800.0] {
            let settings = Settings { lag: 150e-6, ..settings(pulses) };
            let wanted = 10.0 + ((speed - 1000.0) / 100.0).clamp(0.0, 20.0);
            let sparks = run(&settings, &Motion::steady(speed), 2.0);
            assert!(sparks.len() as f64 > 2.0 / period(pulses, speed) - 4.0);
            for (order, spark) in sparks {
                assert!((spark.btdc - wanted).abs() < 1e-8, "{pulses} pulses, {speed} crank rpm: {spark:?}, {order:?}");
            }
        }
    }
}

/// Source: arithmetic; a spark that comes t seconds after its order shows 6 N t degrees late.
#[test]
fn lag_that_nobody_makes_up_is_late_by_six_degrees_a_second_for_each_rpm() {
    let motion = Motion::steady(3000.0);
    for (order, _) in run(&settings(4), &motion, 1.0) {
        let spark = Spark::read(&motion, 4, order.off + 100e-6, order.advance);
        assert!((spark.btdc - (30.0 - 1.8)).abs() < 1e-8);
    }
}

/// Source: arithmetic on the settings: 10 + 20 + 10 = 40; the clamp; the rate of 30 degrees a second.
#[test]
fn vacuum_is_added_slowly_and_taken_away_at_once() {
    assert_eq!(Ignition::running_advance(&settings(4), 3000.0, 10.0), (40.0, 40.0));
    assert_eq!(Ignition::running_advance(&settings(4), 3000.0, 20.0), (50.0, 45.0));
    let mut ignition = Ignition::new(Settings { greatest_vacuum_rate: 30.0, ..settings(4) });
    ignition.depression(Some(40.0), false, 1.0);
    let t = period(4, 3000.0);
    assert_eq!(ignition.edge(Flank::Timing, 1.1 - t), None);
    assert!((ignition.edge(Flank::Timing, 1.1).unwrap().advance - 33.0).abs() < 1e-9);
    ignition.edge(Flank::Timing, 2.0 - t);
    assert!((ignition.edge(Flank::Timing, 2.0).unwrap().advance - 40.0).abs() < 1e-9);
    ignition.depression(None, false, 2.001);
    assert!((ignition.edge(Flank::Timing, 2.0 + t).unwrap().advance - 30.0).abs() < 1e-9);
}

#[test]
fn ported_vacuum_gives_nothing_on_a_closed_throttle() {
    for (ported, closed, vacuum) in [(true, true, 0.0), (true, false, 5.0), (false, true, 5.0)] {
        let mut ignition = Ignition::new(Settings { ported, ..settings(4) });
        ignition.depression(Some(30.0), closed, 0.0);
        ignition.edge(Flank::Timing, 1.0);
        let order = ignition.edge(Flank::Timing, 1.0 + period(4, 900.0)).unwrap();
        assert!((order.advance - 10.0 - vacuum).abs() < 1e-9, "{ported} {closed}: {order:?}");
    }
}

/// The phases at rising and falling speed, with their hysteresis, one edge at each speed.
#[test]
fn phases_change_at_their_speeds() {
    let mut ignition = Ignition::new(settings(4));
    let mut time = 0.0;
    assert_eq!(ignition.edge(Flank::Timing, time), None);
    let mut at = |speed: f64| {
        time += period(4, speed);
        let order = ignition.edge(Flank::Timing, time);
        (ignition.phase(), order.map(|order| order.advance))
    };
    assert_eq!(at(29.0), (Phase::Stopped, None));
    assert_eq!(at(200.0), (Phase::Cranking, Some(8.0)));
    assert_eq!(at(449.0), (Phase::Cranking, Some(8.0)));
    assert_eq!(at(451.0), (Phase::Running, Some(10.0)));
    assert_eq!(at(401.0), (Phase::Running, Some(10.0)));
    assert_eq!(at(399.0), (Phase::Cranking, Some(8.0)));
    assert_eq!(at(4999.0), (Phase::Running, Some(30.0)));
    assert_eq!(at(5001.0), (Phase::Overspeed, None));
    assert_eq!(at(4950.0), (Phase::Overspeed, None));
    assert_eq!(at(4899.0), (Phase::Running, Some(30.0)));
    ignition.hold(true);
    let mut held_at = |speed: f64| {
        time += period(4, speed);
        ignition.edge(Flank::Timing, time).map(|order| order.advance)
    };
    assert_eq!(held_at(1999.0), Some(12.0));
    assert_eq!(held_at(2001.0), None);
    assert_eq!(held_at(1901.0), None);
    assert_eq!(held_at(1899.0), Some(12.0));
}

/// Source: arithmetic; dwell from the voltage, at most 70 % of the period.
#[test]
fn dwell_follows_voltage_and_duty() {
    let mut ignition = Ignition::new(settings(4));
    for (volts, speed, dwell) in
        [(8.0, 600.0, 0.006), (11.0, 600.0, 0.0045), (16.0, 600.0, 0.003), (8.0, 4800.0, 0.7 * 0.00625)]
    {
        ignition.battery(volts);
        ignition.edge(Flank::Timing, 10.0);
        let order = ignition.edge(Flank::Timing, 10.0 + period(4, speed)).unwrap();
        assert!((order.off - order.on - dwell).abs() < 1e-12, "{volts} V at {speed}: {order:?}");
    }
}

/// Cranking with the speed swinging 3 to 1: the far edge sparks early by what the closed form of the swing says (time is
/// proportional to atan(sqrt(3) tan(x / 2)); slowest 20 degrees before TDC), the second flank never.
#[test]
fn a_far_edge_sparks_early_while_cranking_and_the_second_flank_does_not() {
    for (pulses, early) in [(1, 21.2), (4, 14.0)] {
        let swing = Swing { pulses, mean_rpm: 200.0, ratio: 3.0, slowest_btdc: 20.0 };
        let motion = swing.append_to(Motion::starting(0.0, 200.0), 3600.0);
        let p = spacing(pulses);
        let half = |x: f64| std::f64::consts::PI * x / p;
        let begin = (3_f64.sqrt() * half(-40.0).tan()).atan();
        let end = begin + half(2.0 * 52.0) / 2.0;
        let travelled = 40.0 + (end.tan() / 3_f64.sqrt()).atan() / half(1.0);
        let closed_form = 52.0 - travelled;
        assert!((closed_form - early).abs() < 0.05, "{pulses} pulses: {closed_form}");
        let far = run(&settings(pulses), &motion, motion.end_time());
        assert!(far.len() >= 3);
        for (_, spark) in &far[1..] {
            assert!((spark.btdc - 8.0 - closed_form).abs() < 1e-6, "{spark:?}, closed form {closed_form}");
        }
        let near = run(&Settings { second_flank_angle: Some(8.0), ..settings(pulses) }, &motion, motion.end_time());
        assert!(near.len() >= 3);
        for (order, spark) in near {
            let latest = 8.0 - 6.0 * swing.fastest() * (order.off - order.on);
            assert!((latest..=8.0).contains(&spark.btdc), "{spark:?}, latest {latest}");
        }
    }
}

#[test]
fn second_flank_sparks_once_for_each_timing_flank() {
    let mut ignition = Ignition::new(Settings { second_flank_angle: Some(8.0), ..settings(4) });
    assert_eq!(ignition.edge(Flank::Second, 0.1), None);
    assert_eq!(ignition.edge(Flank::Timing, 0.2), None);
    assert_eq!(ignition.edge(Flank::Second, 0.24), None);
    assert_eq!(ignition.edge(Flank::Timing, 0.35), None);
    let order = ignition.edge(Flank::Second, 0.39).unwrap();
    assert!((order.on - 0.39).abs() < 1e-12 && (order.off - 0.394).abs() < 1e-12, "{order:?}");
    assert_eq!(ignition.edge(Flank::Second, 0.40), None);
}

/// Source: exact fractions, by the vectors of `tests/truth/reference`. Their time is in ticks; so is everything here.
#[test]
fn running_sparks_agree_with_exact_fractions() {
    let numbers = |cell: &str| -> Vec<f64> { cell.split(' ').map(|number| number.parse().unwrap()).collect() };
    let rows = include_str!("../../../reference/vectors/spark_on_curve.csv").lines().skip(1);
    let mut count = 0;
    for row in rows {
        let cells: Vec<Vec<f64>> = row.split(',').skip(1).map(numbers).collect();
        let one = |place: usize| cells[place][0];
        let rate = one(6);
        let (measured, lag) = (one(10) / rate, one(9) / rate);
        let settings = Settings {
            pickup_angle: one(8),
            lag,
            initial: one(0),
            centrifugal: Curve::new(&cells[1].iter().copied().zip(cells[2].iter().copied()).collect::<Vec<_>>()),
            vacuum: Curve::constant(one(3)),
            clamp: (one(4), one(5)),
            cranking_below: 0.0,
            running_from: 0.0,
            no_spark_above: f64::INFINITY,
            ..settings(one(7) as u32)
        };
        let mut ignition = Ignition::new(settings);
        ignition.depression(Some(0.0), false, 0.0);
        ignition.edge(Flank::Timing, 0.0);
        let order = ignition
            .edge(Flank::Timing, measured)
            .map_or_else(|| panic!("{row}: no order"), |order| ((order.off - measured) * rate, order.advance));
        let exact = one(13) / one(14);
        assert!((order.0 - exact).abs() < 1e-12 * one(10) + 1e-9, "{row}: {order:?}");
        assert!((order.1 - one(12)).abs() < 1e-8, "{row}: {order:?}");
        count += 1;
    }
    assert!(count > 1000);
}
