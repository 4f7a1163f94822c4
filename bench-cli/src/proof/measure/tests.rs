use super::*;

const TICK_S: f64 = 0.5e-6;
const PICKUP: Pickup = Pickup { pulses_in_two_turns: 4, angle: 60.0 };

/// Time at which a motion has turned so far, by bisection: nothing of the code under test is inverted.
fn when(motion: Motion, turned: f64) -> f64 {
    let (mut low, mut high) = (0.0, if let Motion::Ramp { .. } = motion { 0.7 } else { 50.0 });
    for _ in 0..80 {
        let middle = f64::midpoint(low, high);
        if motion.turned(middle) < turned {
            low = middle;
        } else {
            high = middle;
        }
    }
    high
}

#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
fn ticks(seconds: f64) -> u64 {
    1_000 + (seconds / TICK_S).round() as u64
}

/// Flanks of `count` pulses and a spark `error(k)` early of `wanted` for each pulse.
fn events(
    motion: Motion,
    pickup: Pickup,
    count: u32,
    wanted: impl Fn(f64) -> f64,
    error: impl Fn(u32) -> Option<f64>,
) -> Vec<Event> {
    let mut events = Vec::new();
    for k in 0..count {
        let dead_centre = 20.0 + f64::from(k) * pickup.spacing() + pickup.angle;
        let flank = ticks(when(motion, dead_centre - pickup.angle));
        events.push(Event { at_ticks: flank, kind: EventKind::TimingFlank });
        let Some(error) = error(k) else { continue };
        let mut at = when(motion, dead_centre);
        for _ in 0..50 {
            at = when(motion, dead_centre - wanted(motion.speed_crank_rpm(at)) - error);
        }
        let off = ticks(at);
        events.push(Event { at_ticks: off.saturating_sub(4_000), kind: EventKind::CoilOn });
        events.push(Event { at_ticks: off, kind: EventKind::CoilOff });
    }
    events.sort_by_key(|event| event.at_ticks);
    events
}

fn record(events: &[Event], motion: Motion) -> Recording<'_> {
    let to_ticks = events.last().unwrap().at_ticks;
    Recording { events, tick_s: TICK_S, from_ticks: 1_000, to_ticks, motion, first_pulse: 0 }
}

fn steady(speed_crank_rpm: f64) -> Motion {
    Motion::Steady { speed_crank_rpm }
}

#[test]
fn a_spark_early_by_a_known_angle_is_read_so_at_every_speed_and_number_of_pulses() {
    for speed in [200.0, 650.0, 2_000.0, 4_600.0, 12_000.0] {
        for pulses_in_two_turns in [1, 2, 3, 4, 5, 6, 8, 12] {
            let pickup = Pickup { pulses_in_two_turns, angle: 60.0 };
            let events = events(steady(speed), pickup, 60, |_| 18.0, |_| Some(1.25));
            let measured = measure(&record(&events, steady(speed)), pickup, &|_| 18.0).unwrap();
            let statistics = measured.statistics();
            assert!(statistics.cycle_means.count >= 60 / pulses_in_two_turns - 2);
            assert_eq!((statistics.missing, statistics.extra), (0, 0), "{speed} crank rpm, {pulses_in_two_turns}");
            // A flank and a spark are each rounded to a tick.
            let bound = 6.0 * speed * TICK_S;
            let error = statistics.cycle_means.mean - 1.25;
            assert!(error.abs() <= bound, "{speed} crank rpm, {pulses_in_two_turns} pulses: {error}");
        }
    }
}

#[test]
fn a_lost_spark_is_missing_at_its_own_pulse_and_shifts_no_other() {
    let events = events(steady(2_000.0), PICKUP, 80, |_| 20.0, |k| (k != 41).then_some(0.0));
    let measured = measure(&record(&events, steady(2_000.0)), PICKUP, &|_| 20.0).unwrap();
    let lost: Vec<i64> = measured.pulses.iter().filter(|p| p.spark.is_none()).map(|p| p.sequence).collect();
    assert_eq!(lost, [41]);
    assert!(measured.sparks().all(|spark| spark.error().abs() < 0.02));
    let statistics = measured.statistics();
    assert_eq!(statistics.cycle_means.count * 4 + 4, statistics.pulse_count, "the cycle without it is left out");
}

#[test]
fn an_extra_spark_is_extra_and_the_nearest_one_is_the_pulses_own() {
    let mut events = events(steady(2_000.0), PICKUP, 80, |_| 20.0, |_| Some(0.0));
    let own = events.iter().filter(|e| e.kind == EventKind::CoilOff).nth(30).unwrap().at_ticks;
    for at_ticks in [own - 5_000, own + 3_000] {
        events.push(Event { at_ticks, kind: EventKind::CoilOff });
    }
    events.sort_by_key(|event| event.at_ticks);
    let measured = measure(&record(&events, steady(2_000.0)), PICKUP, &|_| 20.0).unwrap();
    assert_eq!((measured.missing(), measured.extra()), (0, 2));
    let pulse = measured.pulses.iter().find(|pulse| pulse.sequence == 30).unwrap();
    assert_eq!(pulse.spark.unwrap().at_ticks, own);
    assert_eq!(pulse.extra.len(), 2);
}

#[test]
fn one_shifted_flank_moves_no_angle() {
    let mut events = events(steady(3_000.0), PICKUP, 80, |_| 20.0, |_| Some(0.0));
    for flank in events.iter_mut().filter(|e| e.kind == EventKind::TimingFlank).step_by(4) {
        // 2 crank degrees at 3 000 crank rpm
        flank.at_ticks -= 222;
    }
    events.sort_by_key(|event| event.at_ticks);
    let measured = measure(&record(&events, steady(3_000.0)), PICKUP, &|_| 20.0).unwrap();
    assert!(measured.sparks().all(|spark| spark.error().abs() < 0.03));
}

#[test]
fn on_a_ramp_the_angle_is_that_of_the_commanded_motion() {
    let curve = |speed: f64| 8.0 + 12.0 * ((speed - 900.0) / 800.0).clamp(0.0, 1.0);
    for (from_crank_rpm, acceleration_crank_rpm_per_s) in [(650.0, 6_000.0), (4_600.0, -6_000.0)] {
        let motion = Motion::Ramp { from_crank_rpm, acceleration_crank_rpm_per_s };
        let events = events(motion, PICKUP, 55, curve, |_| Some(0.0));
        let measured = measure(&record(&events, motion), PICKUP, &curve).unwrap();
        assert!(measured.pulses.len() >= 48, "{}", measured.pulses.len());
        assert_eq!((measured.missing(), measured.extra()), (0, 0));
        for spark in measured.sparks() {
            assert!(spark.error().abs() < 0.03, "{} at {} crank rpm", spark.error(), spark.speed_crank_rpm);
        }
    }
}

#[test]
fn dwell_is_the_time_from_on_to_off() {
    let events = events(steady(1_000.0), PICKUP, 40, |_| 10.0, |_| Some(0.0));
    let dwell = measure(&record(&events, steady(1_000.0)), PICKUP, &|_| 10.0).unwrap().statistics().dwell.unwrap();
    for time in [dwell.least_s, dwell.mean_s, dwell.greatest_s] {
        assert!((time - 2e-3).abs() < 1e-9, "{time}");
    }
}

#[test]
fn the_pulse_of_the_two_turns_follows_the_first_one_of_the_stretch() {
    let events = events(steady(2_000.0), PICKUP, 40, |_| 20.0, |k| Some(if k % 4 == 1 { -2.0 } else { 0.0 }));
    let record = Recording { first_pulse: 2, ..record(&events, steady(2_000.0)) };
    let statistics = measure(&record, PICKUP, &|_| 20.0).unwrap().statistics();
    assert!((statistics.pulses[3].error.mean + 2.0).abs() < 0.02);
    assert!((statistics.pulse_spread - 2.0).abs() < 0.02);
    assert!((statistics.cycle_means.mean + 0.5).abs() < 0.02);
    // Uneven pulses are no scatter.
    assert!(statistics.cycle_means.standard_deviation < 0.01 && statistics.spark_scatter < 0.01);
}

#[test]
fn a_clock_that_is_not_the_stated_one_is_refused() {
    let events = events(steady(2_000.0), PICKUP, 80, |_| 20.0, |_| Some(0.0));
    let error = measure(&record(&events, steady(2_001.0)), PICKUP, &|_| 20.0).unwrap_err();
    assert!(matches!(error, MeasureError::NotTheCommandedMotion { .. }), "{error}");
}

#[test]
fn records_without_flanks_or_out_of_order_are_refused() {
    let motion = steady(2_000.0);
    let spark = Event { at_ticks: 2_000, kind: EventKind::CoilOff };
    let alone = [spark];
    assert!(matches!(measure(&record(&alone, motion), PICKUP, &|_| 20.0), Err(MeasureError::NoFlank { .. })));
    let turned = [spark, Event { at_ticks: 1_500, kind: EventKind::TimingFlank }];
    assert_eq!(measure(&record(&turned, motion), PICKUP, &|_| 20.0), Err(MeasureError::NotInOrder { index: 1 }));
}

#[test]
fn a_cranking_speed_swings_between_its_least_at_dead_centre_and_its_greatest_halfway() {
    for m in [1, 2, 3, 4, 6, 8, 12] {
        let pickup = Pickup { pulses_in_two_turns: m, angle: 60.0 };
        let motion = Motion::cranking(200.0, 3.0, pickup, 0.1);
        let pulse_s = pickup.spacing() / 1200.0;
        // From the flank on the crank goes its angle to top dead centre.
        let Motion::Cranking { dead_centre_s, .. } = motion else { panic!("cranking") };
        let way = motion.turned(dead_centre_s) - motion.turned(0.1);
        assert!((way - 60.0).abs() < 1e-9, "{m} pulses: {way}");
        // 3:1 about a mean of 200: 100 to 300 crank rpm.
        assert!((motion.speed_crank_rpm(dead_centre_s) - 100.0).abs() < 1e-6);
        assert!((motion.speed_crank_rpm(dead_centre_s + pulse_s / 2.0) - 300.0).abs() < 1e-6);
        assert!((motion.turned(0.1 + 7.0 * pulse_s) - motion.turned(0.1) - 7.0 * pickup.spacing()).abs() < 1e-9);
        // The angle is the sum of the speed over time.
        let steps = 100_000;
        let step = 2.0 * pulse_s / f64::from(steps);
        let sum: f64 = (0..steps).map(|k| 6.0 * motion.speed_crank_rpm((f64::from(k) + 0.5) * step) * step).sum();
        assert!((sum - motion.turned(2.0 * pulse_s)).abs() < 1e-6, "{m} pulses: {sum}");
    }
}

#[test]
fn a_cranking_spark_is_read_by_the_speed_that_the_crank_has() {
    let motion = Motion::cranking(200.0, 3.0, PICKUP, 0.02);
    // The crank stands 60 degrees before dead centre at 0.02 s; the events below begin 20 degrees after time 0.
    let begin = motion.turned(0.02) - 20.0;
    let shifted: Vec<Event> = {
        let mut events = Vec::new();
        for k in 0..48 {
            let flank = 20.0 + begin + f64::from(k) * PICKUP.spacing();
            events.push(Event { at_ticks: ticks(when(motion, flank)), kind: EventKind::TimingFlank });
            events.push(Event { at_ticks: ticks(when(motion, flank + 60.0 - 8.0)), kind: EventKind::CoilOff });
        }
        events
    };
    let statistics = measure(&record(&shifted, motion), PICKUP, &|_| 8.0).unwrap().statistics();
    assert!(statistics.cycle_means.count >= 11 && statistics.missing + statistics.extra == 0);
    assert!(statistics.cycle_means.mean.abs() < 1e-3, "{}", statistics.cycle_means.mean);
}
