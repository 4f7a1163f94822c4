//! A reluctor on a running engine, whose sparks are timed by the crossing before their own.
//!
//! Stated before it was measured: a spark lies within the bound of an edge, for the way of one whole pulse less what the spark is earlier
//! than the crossing; it is never later than its own crossing, or than three quarters of a dwell that began too late for it; a dwell
//! that had not begun at the crossing begins there; each pulse has one spark. At a steady speed an advance equal to the crossing's
//! angle is as good as any.

use bobweight_crank::{Edge, Flank, Motion, Spark, bounds};
use bobweight_tests::numbers::{Numbers, times};
use bobweight_tests::plain::Plain;
use bobweight_tests::reluctor::{Made, Ridden, pickup_of, ride};
use bobweight_tests::throttle::throttle;

const PULSES: [u8; 7] = [1, 2, 3, 4, 6, 8, 12];
const THRESHOLD: f64 = 40.0;

fn engines() -> Vec<Plain> {
    let mut engines = Vec::new();
    for pulses in PULSES {
        for tick_rate in [2e6, 16e6] {
            let base = Plain { tick_rate, vacuum: vec![], ..Plain::reluctor(pulses) };
            engines.extend([
                // An advance well before the crossing, so that every spark's burn time lies over it or before it.
                Plain { initial: 16.0, greatest: 36.0, ..base.clone() },
                Plain { lag: 150e-6, acceleration: 3000.0, burn_time: 1.0e-3, ..base.clone() },
                Plain {
                    acceleration: 12_000.0,
                    dwell: vec![(8.0, 4e-3), (16.0, 2e-3)],
                    largest_dwell: 5e-3,
                    ..base.clone()
                },
                // No curve: the crossing's own angle at every speed.
                Plain { centrifugal: vec![(900.0, 0.0), (1000.0, 0.0)], ..base.clone() },
                base,
            ]);
        }
    }
    engines.into_iter().map(Plain::in_steps).collect()
}

fn crossings(edges: &[Edge]) -> Vec<&Edge> {
    edges.iter().filter(|edge| edge.flank == Flank::Timing).collect()
}

#[derive(Default)]
struct Nearest {
    sparks: usize,
    at_crossing: usize,
    from_crossing: usize,
    pulses: usize,
    early: f64,
    late: f64,
    /// Latest after its own crossing, crank degrees.
    after_crossing: f64,
}

fn hold(
    plain: &Plain,
    motion: &Motion,
    edges: &[Edge],
    ridden: &Ridden,
    volts: f64,
    handled_after: u32,
    nearest: &mut Nearest,
) {
    let tick = 1.0 / plain.tick_rate;
    let handled = (f64::from(handled_after) + 2.0) * tick;
    let crossings = crossings(edges);
    let dwell = plain.truth().dwell.at(volts);
    let in_the_law = |time: f64| time < ridden.good_until.min(motion.end_time());
    for spark in ridden.sparks.iter().filter(|spark| in_the_law(spark.off)) {
        nearest.sparks += 1;
        match spark.by {
            Made::ByCrossingBefore { crossing, period, .. } => {
                let place = crossings.iter().position(|edge| (edge.time - crossing).abs() < 2.0 * tick).unwrap();
                let (before, own) = (crossings[place], crossings.get(place + 1));
                let ordered = spark.ordered(plain).unwrap();
                let off = spark.off + plain.lag;
                let angle = Spark::of_pulse(motion, u32::from(plain.pulses), off, before.pulse.unwrap() + 1).btdc;
                let early = angle - ordered;
                let bound = bounds::timed_by_edge(
                    u32::from(plain.pulses),
                    plain.timing_angle(),
                    ordered,
                    period,
                    plain.acceleration,
                );
                let slack = 6.0 * motion.speed_at(spark.off) * tick + 0.02;
                assert!(
                    early <= bound + slack,
                    "{early} crank degrees early of {ordered}, bound {bound}: {spark:?} {plain:?}"
                );
                nearest.early = nearest.early.max((early - slack) / bound);
                if spark.ended_at.is_none() {
                    assert!(
                        -early <= bound + slack,
                        "{} late of {ordered}, bound {bound}: {spark:?} {plain:?}",
                        -early
                    );
                    nearest.late = nearest.late.max((-early - slack) / bound);
                }
                if let Some(own) = own {
                    let last = (own.time + handled).max(spark.on + 0.75 * dwell + 2.0 * tick);
                    assert!(
                        spark.off <= last,
                        "{} s after its own crossing: {spark:?} {plain:?}",
                        spark.off - own.time
                    );
                    nearest.at_crossing += usize::from(spark.ended_at.is_some());
                    nearest.after_crossing = nearest.after_crossing.max(plain.pickup_angle - angle);
                }
            }
            Made::FromCrossing(at) => {
                assert!(spark.off <= at + dwell + handled, "{spark:?} {plain:?}");
                let own = crossings.iter().find(|edge| (edge.time - at).abs() < 2.0 * tick).unwrap();
                let angle = Spark::of_pulse(motion, u32::from(plain.pulses), spark.off, own.pulse.unwrap()).btdc;
                nearest.after_crossing = nearest.after_crossing.max(plain.pickup_angle - angle);
                nearest.from_crossing += 1;
            }
            // The first pulses of a ride are cranked.
            Made::ByMovingFlank(_) if spark.ended_at.is_some() && spark.off < crossings[3].time => {}
            Made::WithoutCrossing | Made::ByMovingFlank(_) => panic!("{spark:?} {plain:?}"),
        }
    }
    // The first pulses are cranked, at a speed that no starter has.
    for pair in crossings.windows(2).skip(4).filter(|pair| in_the_law(pair[1].time + dwell)) {
        let of_this = |spark: &&bobweight_tests::reluctor::MadeSpark| match spark.by {
            Made::ByCrossingBefore { crossing, .. } => (crossing - pair[0].time).abs() < 2.0 * tick,
            Made::FromCrossing(at) => (at - pair[1].time).abs() < 2.0 * tick,
            _ => false,
        };
        let sparks = ridden.sparks.iter().filter(of_this).count();
        nearest.pulses += 1;
        assert_eq!(sparks, 1, "sparks of the pulse at {} s: {plain:?}", pair[1].time);
    }
}

#[test]
fn throttle_opened_and_closed_as_it_may_keeps_the_bound_of_a_whole_pulse() {
    let (mut nearest, mut numbers) = (Nearest::default(), Numbers::new(31));
    for plain in engines() {
        let table = plain.timetable().unwrap_or_else(|why| panic!("{why}: {plain:?}"));
        for _ in 0..25 * times() {
            let motion = throttle(&plain, &mut numbers);
            let edges = pickup_of(&plain, THRESHOLD).edges(&motion, motion.end_time());
            // In whole steps of a voltage.
            let (volts, handled_after) =
                ((numbers.between(9.0, 15.0) * 256.0).floor() / 256.0, numbers.one_of(&[0, 50]));
            let ridden = ride(&plain, &table, &edges, volts, handled_after);
            hold(&plain, &motion, &edges, &ridden, volts, handled_after, &mut nearest);
        }
    }
    println!(
        "{} sparks, {} ended at their own crossing, {} from it; early to {:.4}, late to {:.4} of the bound; at most {:.2} crank degrees after the crossing; {} pulses, each with one spark",
        nearest.sparks,
        nearest.at_crossing,
        nearest.from_crossing,
        nearest.early,
        nearest.late,
        nearest.after_crossing,
        nearest.pulses
    );
    assert!(nearest.sparks > 50_000 && nearest.early > 0.8, "the motions are too tame");
}

/// One tick and 0.02 crank degrees, as of any pickup, and no doubt about an edge: the crossing in a spark's burn time is none of its echo.
#[test]
fn at_a_steady_speed_an_advance_equal_to_the_crossing_is_as_good_as_any() {
    let (mut sparks, mut worst) = (0, 0.0_f64);
    for plain in engines() {
        for burn_time in [0.2e-3, 1.5e-3] {
            let plain = Plain { burn_time, ..plain.clone() };
            let Ok(table) = plain.timetable() else { continue };
            for rpm in [460.0, 700.0, 1000.0, 1600.0, 2500.0, 3300.0, 4600.0] {
                for (start, handled_after) in [(0.1, 0), (0.7, 100)] {
                    let motion = Motion::starting(start, rpm).hold(24.0 * plain.period(rpm));
                    let edges = pickup_of(&plain, THRESHOLD).edges(&motion, motion.end_time());
                    let ridden = ride(&plain, &table, &edges, 14.0, handled_after);
                    let timed: Vec<_> = ridden.sparks.iter().filter(|spark| spark.ordered(&plain).is_some()).collect();
                    assert!(timed.len() >= 20, "{} sparks at {rpm} crank rpm: {plain:?}", timed.len());
                    let c = ridden.counters;
                    assert_eq!((c.refused, c.replaced, c.lost, c.forced, c.off_now), (0, 0, 0, 0, 0), "{plain:?}");
                    for spark in timed {
                        let (off, ordered) = (spark.off + plain.lag, spark.ordered(&plain).unwrap());
                        let error = Spark::read(&motion, u32::from(plain.pulses), off, ordered).btdc - ordered;
                        // The tick of the order, that of the edge and that of the period.
                        let allowed = 3.0 * 6.0 * rpm / plain.tick_rate + 0.02;
                        assert!(error.abs() <= allowed, "{error} crank degrees at {rpm}: {spark:?} {plain:?}");
                        worst = worst.max(error.abs() / allowed);
                        sparks += 1;
                    }
                }
            }
        }
    }
    println!("{sparks} sparks, to {worst:.3} of one tick each of order, edge and period, and 0.02 crank degrees");
    assert!(sparks > 20_000);
}
