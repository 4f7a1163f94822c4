//! How far a true spark lies from its order, on a crank whose acceleration is at most the sheet's and whose edges are
//! good. The crank, its edges and the bounds are those of `tests/truth/crank`, derived there; each test prints how near they came.

use bobweight_crank::{Edge, Flank, Motion, bounds, pickup};
use bobweight_tests::numbers::{Numbers, times};
use bobweight_tests::plain::Plain;
use bobweight_tests::ride::{Ridden, Ride};
use bobweight_tests::throttle::throttle;

const PULSES: [u8; 5] = [1, 3, 4, 8, 12];
const TICK_RATES: [f64; 2] = [2e6, 16e6];

/// Several settings for each pickup and timer.
fn engines() -> Vec<Plain> {
    let mut engines = Vec::new();
    for pulses in PULSES {
        for tick_rate in TICK_RATES {
            let base = Plain { tick_rate, ..Plain::with_pulses(pulses) };
            engines.extend([
                // The flank so near to the spark that most dwells begin before it.
                Plain { pickup_angle: 43.0, ..base.clone() },
                Plain { lag: 150e-6, acceleration: 3000.0, greatest: 31.3, least: 9.1, ..base.clone() },
                Plain {
                    acceleration: 12_000.0,
                    dwell: vec![(8.0, 4e-3), (16.0, 2e-3)],
                    largest_dwell: 5e-3,
                    ..base.clone()
                },
                base,
            ]);
        }
    }
    // V8s whose flank lies as near to the whole advance as their box lets it, and as far from it as the burn time does.
    engines.extend([55.5, 60.0, 77.0].map(|pickup_angle| Plain { pickup_angle, ..Plain::v8() }));
    engines.into_iter().map(Plain::in_steps).collect()
}

fn edges_of(plain: &Plain, motion: &Motion) -> Vec<Edge> {
    plain.crank_pickup().edges(motion, motion.end_time())
}

/// How near sparks came to a bound.
#[derive(Default)]
struct Nearest {
    sparks: usize,
    /// Largest departure less one tick and 0.02 crank degrees, as a share of the bound.
    early: f64,
    late: f64,
}

/// Holds every spark that was timed by its edge to the bound, one tick and 0.02 crank degrees.
fn hold_timed_sparks(plain: &Plain, motion: &Motion, ridden: &Ridden, lost: bool, nearest: &mut Nearest) {
    let truth = plain.truth();
    for spark in &ridden.sparks {
        let Some(timed) = spark.timed_by else { continue };
        let in_the_law = if lost { timed.after_lost } else { spark.off < ridden.good_until };
        if timed.unruly || !in_the_law {
            continue;
        }
        let ordered = timed.ordered(plain, &truth);
        let early = spark.angle(plain, motion) - ordered;
        let bound = timed.bound(plain, ordered);
        let tick = 6.0 * motion.speed_at(spark.off) / plain.tick_rate;
        nearest.sparks += 1;
        nearest.early = nearest.early.max((early - tick - 0.02) / bound);
        nearest.late = nearest.late.max((-early - tick - 0.02) / bound);
        assert!(
            early.abs() <= bound + tick + 0.02,
            "{early} crank degrees early of {ordered}, bound {bound}, a tick is {tick}, {} crank rpm, was {} and {}: {spark:?} {plain:?}",
            motion.speed_at(spark.off),
            motion.speed_at(spark.off - timed.period),
            motion.speed_at(spark.off - 2.0 * timed.period)
        );
    }
}

/// Rides every engine over motions of the throttle, with one edge lost where that is asked for.
fn ride(motions: usize, lose_one: bool, seed: u64, mut judge: impl FnMut(&Plain, &Motion, &Ridden, Option<Lost>)) {
    let mut numbers = Numbers::new(seed);
    for plain in engines() {
        let table = plain.timetable().unwrap();
        for _ in 0..motions * times() {
            let ride = Ride {
                plain: &plain,
                table: &table,
                handled_after: numbers.one_of(&[0, 50]),
                depression: numbers.one_of(&[None, Some(23.3), Some(60.0)]),
                volts: numbers.between(9.0, 15.0),
            };
            let motion = throttle(&plain, &mut numbers);
            let mut edges = edges_of(&plain, &motion);
            if !lose_one {
                judge(&plain, &motion, &ride.over(&edges), None);
                continue;
            }
            let whole = ride.over(&edges);
            let timing: Vec<usize> = (8..edges.len()).filter(|&i| edges[i].flank == Flank::Timing).collect();
            if timing.is_empty() {
                // Over so soon that there is no edge to lose.
                continue;
            }
            let edge = pickup::lose(&mut edges, numbers.one_of(&timing));
            // Where an edge of the same motion is no good one even with none lost, the law does not speak.
            if whole.good_until.is_infinite() {
                judge(&plain, &motion, &ride.over(&edges), Some(Lost { edge, whole: &whole }));
            }
        }
    }
}

/// The edge that was lost, and the same ride with it.
#[derive(Clone, Copy)]
struct Lost<'a> {
    edge: Edge,
    whole: &'a Ridden,
}

#[test]
fn throttle_opened_and_closed_as_it_may_keeps_the_bound_of_an_edge() {
    let mut nearest = Nearest::default();
    ride(60, false, 1, |plain, motion, ridden, _| hold_timed_sparks(plain, motion, ridden, false, &mut nearest));
    println!("{} sparks; early to {:.4} and late to {:.4} of the bound", nearest.sparks, nearest.early, nearest.late);
    assert!(nearest.sparks > 100_000, "only {} sparks", nearest.sparks);
    assert!(nearest.early > 0.8 && nearest.late > 0.8, "the motions are too tame");
}

/// The spark of the edge after a lost one keeps the bound of half an interval. The spark whose own edge is lost comes late, and not
/// later than its dwell would have been short of the largest.
#[test]
fn one_lost_edge_makes_its_spark_late_and_the_next_keeps_its_bound() {
    let mut nearest = Nearest::default();
    let (mut untimed, mut earliest, mut latest) = (0, f64::NEG_INFINITY, 0.0_f64);
    ride(500, true, 2, |plain, motion, ridden, lost| {
        let Lost { edge, whole } = lost.unwrap();
        hold_timed_sparks(plain, motion, ridden, true, &mut nearest);
        let of_pulse = |ridden: &Ridden| ridden.sparks.iter().find(|s| Some(s.pulse) == edge.pulse).copied();
        let (Some(with), Some(without)) = (of_pulse(whole), of_pulse(ridden)) else { return };
        if without.timed_by.is_some() || (with.on - without.on).abs() > 0.0 {
            return;
        }
        let allowed = bounds::late_without_edge(plain.largest_dwell, with.off - with.on);
        let late = without.off - with.off;
        let tick = 1.0 / plain.tick_rate;
        assert!(
            (-tick..=allowed + tick).contains(&late),
            "{late} s late of {allowed} s allowed: {with:?} {without:?} {plain:?}"
        );
        untimed += 1;
        earliest = earliest.max(-late / tick);
        latest = latest.max(late / allowed);
    });
    println!(
        "{} sparks after a lost edge; early to {:.4}, late to {:.4} of the bound",
        nearest.sparks, nearest.early, nearest.late
    );
    println!(
        "{untimed} sparks without their edge: earliest {earliest:.2} ticks early, latest {latest:.4} of the bound"
    );
    assert!(nearest.sparks > 1_000 && untimed > 200, "{} and {untimed} sparks", nearest.sparks);
    assert!(nearest.early > 0.5 && nearest.late > 0.5 && latest > 0.2, "the motions are too tame");
}

/// Ten pulses, a spark that burns up to 7/8 of a period: an engine that is speeded up gives its edge before that. The edge is taken for
/// the spark's own echo, and its pulse has no spark; but it is remembered, so that the spark after it keeps the bound of an edge.
#[test]
fn an_edge_taken_for_an_echo_leaves_the_next_spark_its_bound() {
    let (mut nearest, mut hidden, mut numbers) = (Nearest::default(), 0, Numbers::new(6));
    for burn_time in [1.5e-3, 2.0e-3, 2.5e-3] {
        let plain = Plain {
            pulses: 10,
            pickup_angle: 60.0,
            initial: 6.0,
            centrifugal: vec![(2500.0, 0.0), (2600.0, 1.0)],
            vacuum: vec![],
            held: 6.0,
            cranking: 8.0,
            second_flank_angle: Some(8.0),
            no_spark_above: 1150.0,
            spark_again_below: 1140.0,
            acceleration: 6000.0,
            burn_time,
            ..Plain::fire_float()
        }
        .in_steps();
        let table = plain.timetable().unwrap();
        for _ in 0..400 * times() {
            let rpm = numbers.between(480.0, 690.0);
            let mut motion = Motion::steady(rpm).hold(numbers.between(12.0, 13.0) * plain.period(rpm));
            for _ in 0..4 {
                motion = motion.ramp_to(numbers.between(480.0, 1100.0), plain.acceleration);
            }
            motion = motion.hold(6.0 * plain.period(rpm));
            let edges: Vec<Edge> =
                edges_of(&plain, &motion).into_iter().filter(|edge| edge.flank == Flank::Timing).collect();
            let ridden =
                Ride { plain: &plain, table: &table, handled_after: 0, depression: None, volts: 12.0 }.over(&edges);
            let sparks = ridden.sparks.iter().filter(|spark| spark.timed_by.is_some()).count();
            hidden += usize::from(sparks + 3 < edges.len());
            // Without exception, also after what was taken for an echo.
            let ridden = Ridden { good_until: f64::INFINITY, ..ridden };
            assert!(
                !ridden.sparks.iter().any(|spark| spark.timed_by.is_some_and(|timed| timed.after_lost)),
                "{rpm} crank rpm"
            );
            hold_timed_sparks(&plain, &motion, &ridden, false, &mut nearest);
        }
    }
    println!(
        "{hidden} rides with a hidden edge; early to {:.4}, late to {:.4} of the bound",
        nearest.early, nearest.late
    );
    assert!(hidden > 20, "only {hidden} rides had an edge in a burn time");
}
