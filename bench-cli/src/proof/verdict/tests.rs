//! Verdicts on ramps, cranking and disturbed pulses, and on runs whose angles are right.

use super::*;
use crate::proof::measure::{
    DwellStatistics, Event, EventKind, Measured, Pickup, PointStatistics, Pulse, PulseStatistics, Spark, Summary,
};
use crate::record::bench::Direction;
use crate::record::verdict::Verdict;

fn setting() -> Setting {
    Setting {
        pulses_in_two_turns: 4,
        delay_at_no_advance: 52.0,
        flank_distance: Some([-52.0; 2]),
        centrifugal: vec![[1000.0, 0.0], [2000.0, 10.0]],
        vacuum: Vec::new(),
        tick_bench_s: 0.5e-6,
        tick_ignition_s: 0.5e-6,
        clock_tolerance: 0.0,
        vacuum_step_kpa: 0.0,
        tolerance: 0.5,
        tolerance_ramp: 2.0,
    }
}

fn spark(error: f64, speed_crank_rpm: f64) -> Spark {
    Spark { at_ticks: 0, speed_crank_rpm, advance: 18.0 + error, wanted: 18.0, dwell_s: None }
}

/// Pulses whose sparks have these errors; none is a missing spark.
fn measured(errors: impl IntoIterator<Item = Option<f64>>) -> Measured {
    let pulses = errors
        .into_iter()
        .zip(0_i32..)
        .map(|(error, k)| Pulse {
            sequence: i64::from(k),
            in_cycle: usize::try_from(k % 4).unwrap(),
            spark: error.map(|error| spark(error, 1000.0 + 10.0 * f64::from(k))),
            extra: Vec::new(),
        })
        .collect();
    Measured { pulses_in_two_turns: 4, pulses }
}

/// A small fixed unevenness in place of scatter.
fn jitter(k: usize) -> f64 {
    [0.05, -0.08, 0.02, 0.07, -0.06, 0.01, -0.01][k % 7]
}

#[test]
fn a_ramp_that_stays_within_its_tolerance_passes_though_its_error_changes() {
    let late = measured((0_u32..160).map(|k| Some(-0.2 - 5e-3 * f64::from(k) + jitter(k as usize))));
    let judged = judge_ramp(&late, Direction::Rising, &setting());
    assert_eq!((judged.verdict, judged.cycles), (Verdict::Pass, 40));
    assert!(judged.scatter < 0.1, "the course of the error is not scatter: {}", judged.scatter);
    assert!(judged.greatest_error < -0.9);
}

#[test]
fn a_ramp_beyond_its_tolerance_fails_and_says_at_which_speed() {
    let judged = judge_ramp(
        &measured((0..160).map(|k| Some(if k >= 120 { 3.0 } else { 0.0 } + jitter(k)))),
        Direction::Rising,
        &setting(),
    );
    assert_eq!(judged.verdict, Verdict::Fail);
    assert!(judged.at_crank_rpm > 2200.0 && judged.greatest_error > 2.9);
}

#[test]
fn a_ramp_with_a_missing_spark_fails_and_one_of_two_cycles_is_undecided() {
    let lost = measured((0..80).map(|k| (k != 33).then(|| jitter(k))));
    assert_eq!(judge_ramp(&lost, Direction::Falling, &setting()).verdict, Verdict::Fail);
    let short = measured((0..8).map(|k| Some(jitter(k))));
    assert_eq!(judge_ramp(&short, Direction::Falling, &setting()).verdict, Verdict::Undecided);
}

const NO_SHIFT: Stated = Stated { early: 0.0, late: 0.0 };

#[test]
fn one_late_spark_after_a_lost_pulse_is_right_and_an_early_one_is_not() {
    let judge = |at: usize, error: Option<f64>, stated| {
        let record = measured((0..80).map(|k| if k == at { error } else { Some(jitter(k)) }));
        judge_disturbed(&record, 40, stated, 2000.0, &setting())
    };
    let stated = Stated { early: 0.0, late: 60.0 };
    let late = judge(40, Some(-50.0), stated);
    assert_eq!(late.verdict, Verdict::Pass);
    assert!((late.greatest_late - 50.0).abs() < 1e-9);
    assert_eq!(judge(40, None, stated).verdict, Verdict::Pass);
    assert_eq!(judge(40, Some(3.0), stated).verdict, Verdict::Fail);
    assert_eq!(judge(40, Some(-70.0), stated).verdict, Verdict::Fail);
    // A false pulse may move one spark early by what is stated.
    assert_eq!(judge(41, Some(15.0), Stated { early: 21.0, late: 0.0 }).verdict, Verdict::Pass);
    assert_eq!(judge(41, Some(25.0), Stated { early: 21.0, late: 0.0 }).verdict, Verdict::Fail);
}

#[test]
fn a_spark_that_is_late_by_more_than_half_a_pulse_is_not_called_early() {
    let mut record = measured((0..80).map(|k| (k != 40).then(|| jitter(k))));
    record.pulses[41].extra.push(spark(80.0, 2000.0));
    let judged = judge_disturbed(&record, 40, Stated { early: 0.0, late: 110.0 }, 2000.0, &setting());
    assert_eq!(judged.verdict, Verdict::Pass);
    assert!((judged.greatest_late - 100.0).abs() < 1e-9 && judged.greatest_early < 0.1, "{judged:?}");
    assert_eq!(judge_disturbed(&record, 40, NO_SHIFT, 2000.0, &setting()).verdict, Verdict::Fail);
}

#[test]
fn what_is_wrong_after_the_fifth_good_edge_fails() {
    let record = measured((0..80).map(|k| if k == 46 { None } else { Some(jitter(k)) }));
    let judged = judge_disturbed(&record, 40, Stated { early: 99.0, late: 99.0 }, 2000.0, &setting());
    assert_eq!((judged.verdict, judged.right_again), (Verdict::Fail, false));
}

/// Cranking at 200 crank rpm: a second flank each 150 ms and a spark so many seconds after each.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
fn cranking(after: impl Fn(u32) -> Option<f64>) -> CrankingVerdict {
    let tick_s = 0.5e-6;
    let mut events = Vec::new();
    for k in 0..12 {
        let flank = 0.1 + 0.15 * f64::from(k);
        events.push(Event { at_ticks: (flank / tick_s) as u64, kind: EventKind::SecondFlank });
        if let Some(after) = after(k) {
            events.push(Event { at_ticks: ((flank + after) / tick_s) as u64, kind: EventKind::CoilOff });
        }
    }
    events.sort_by_key(|event| event.at_ticks);
    let record = CrankingRecord {
        events: &events,
        flank: EventKind::SecondFlank,
        tick_s,
        from_ticks: 0,
        to_ticks: 4_000_000,
        ordered_dwell_s: 3.9e-3,
        fastest_crank_rpm: 300.0,
    };
    judge_cranking(&record, &setting())
}

#[test]
fn cranking_sparks_come_between_the_flank_and_one_dwell_after_it() {
    let right = cranking(|_| Some(3.9e-3));
    assert_eq!((right.verdict, right.pulses), (Verdict::Pass, 10));
    // 6 N t: 3.9 ms at 300 crank rpm is 7.02 crank degrees.
    assert!((right.early_of_flank + 7.02).abs() < 0.01, "{}", right.early_of_flank);
    let early = cranking(|k| Some(if k == 5 { -10e-6 } else { 3.9e-3 }));
    assert_eq!(early.verdict, Verdict::Fail);
    let late = cranking(|k| Some(if k == 5 { 4.4e-3 } else { 3.9e-3 }));
    assert_eq!(late.verdict, Verdict::Fail);
    assert!((late.late_of_dwell - 0.9).abs() < 0.01, "{}", late.late_of_dwell);
    assert_eq!(cranking(|k| (k != 5).then_some(3.9e-3)).missing, 1);
}

#[test]
fn cranking_from_a_far_edge_is_judged_against_the_early_angle_of_the_swing() {
    let pickup = |pulses_in_two_turns| Pickup { pulses_in_two_turns, angle: 60.0 };
    // Time is the integral of dA / 6 N, summed here; the crank is slowest at top dead centre.
    for m in [1, 2, 4, 8] {
        let spacing = pickup(m).spacing();
        let pulse_s = spacing / 1200.0;
        let speed = |until_dead_centre: f64| {
            let near = until_dead_centre.rem_euclid(pulse_s);
            100.0 + 200.0 * near.min(pulse_s - near) / (pulse_s / 2.0)
        };
        let step = pulse_s / 200_000.0;
        let (mut way, mut time) = (0.0, 0.0);
        while way < 60.0 {
            way += 6.0 * speed(time) * step;
            time += step;
        }
        // Now forward from the flank, `time` before dead centre, through the delay of 52 degrees at 200 crank rpm.
        let (mut turned, mut gone) = (0.0, 0.0);
        while gone < 52.0 / 1200.0 {
            turned += 6.0 * speed(time - gone) * step;
            gone += step;
        }
        let early = early_by_swing(200.0, 3.0, pickup(m), 8.0);
        assert!((early - (52.0 - turned)).abs() < 0.01, "{m} pulses: {early}, summed {}", 52.0 - turned);
    }
    assert!(early_by_swing(200.0, 1.0, pickup(4), 8.0).abs() < 1e-9);
    let judge = |error: f64| {
        let sparks = measured((0..80).map(|k| Some(error + jitter(k))));
        judge_cranking_without_second_flank(&sparks, 5.0, 200.0, &setting())
    };
    assert_eq!((judge(5.0), judge(0.0), judge(6.0)), (Verdict::Pass, Verdict::Fail, Verdict::Fail));
}

/// A test point without error, of a dozen cycles and more.
fn right_point() -> JudgedPoint {
    let error = Summary { count: 13, mean: 0.0, standard_deviation: 0.1 };
    let conditions =
        Conditions { speed_crank_rpm: 1500.0, depression_kpa: 0.0, direction: Direction::Rising, vacuum_advance: 0.0 };
    let statistics = PointStatistics {
        cycle_means: error,
        spark_scatter: 0.2,
        pulse_spread: 0.0,
        pulses: (0..4).map(|in_cycle| PulseStatistics { in_cycle, error }).collect(),
        wanted: 13.0,
        pulse_count: 52,
        missing: 0,
        extra: 0,
        dwell: Some(DwellStatistics { least_s: 3e-3, mean_s: 3e-3, greatest_s: 3e-3 }),
    };
    JudgedPoint {
        measured: MeasuredPoint { conditions, statistics },
        decision: Decision::Pass,
        // As many as a whole run has: one point alone bounds nothing.
        single: SingleSparks { judged: 4368, outside: 0, worst: 0.3 },
    }
}

#[test]
fn a_missing_or_extra_spark_or_an_uneven_pulse_fails_whatever_the_angles() {
    let run = |change: &dyn Fn(&mut PointStatistics)| {
        let mut points = vec![right_point(); 8];
        change(&mut points[3].measured.statistics);
        judge_run(&points, &setting()).verdict
    };
    assert_eq!(run(&|_| ()), Verdict::Pass);
    assert_eq!(run(&|point| point.missing = 1), Verdict::Fail);
    assert_eq!(run(&|point| point.extra = 1), Verdict::Fail);
    assert_eq!(run(&|point| point.pulses[2].error.mean = 1.5), Verdict::Fail);
}

#[test]
fn one_failure_fails_and_one_undecided_leaves_undecided() {
    use Verdict::{Fail, Pass, Undecided};
    assert_eq!(Verdict::of_all([Pass, Undecided, Fail]), Fail);
    assert_eq!(Verdict::of_all([Pass, Undecided, Pass]), Undecided);
    assert_eq!(Verdict::of_all([Pass, Pass]), Pass);
    assert_eq!(Verdict::of_all([]), Undecided);
}
