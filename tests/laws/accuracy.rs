//! The core's fixed point against the independent truth in f64, on dense grids. Source of the formulas: definition of crank
//! speed and angle; each formula stands in `tests/truth/crank`.

use bobweight::Phase;
use bobweight::quantity::Advance;
use bobweight_crank::Ignition;
use bobweight_tests::plain::{Plain, advance, depression, speed};

/// What the model allows itself, in crank degrees.
const WITHIN: f64 = 0.02;

fn engines(pulses: u8) -> Vec<Plain> {
    let spacing = 720.0 / f64::from(pulses);
    let base = Plain {
        pulses,
        second_flank_angle: None,
        cranking: 8.0,
        // With many pulses the flank must lie within one spacing of the least advance.
        pickup_angle: 60.0f64.min(spacing - 1.0),
        initial: 8.0,
        least: 0.0,
        spread: 0.1,
        burn_time: 0.2e-3,
        no_spark_above: 8000.0,
        spark_again_below: 7900.0,
        latency: 10e-6,
        ..Plain::fire_float()
    };
    let lagging = Plain { lag: 150e-6, pickup_angle: base.pickup_angle.max(50.0), ..base.clone() };
    let clamped = Plain { greatest: 31.3, least: 9.1, ..base.clone() };
    let steep = Plain { centrifugal: vec![(2000.0, 0.0), (2025.0, 20.0)], ..base.clone() };
    let falling = Plain {
        centrifugal: vec![(600.0, 3.0), (1000.0, 1.0), (1500.0, 18.25), (5000.0, 21.5), (6500.0, 12.0)],
        vacuum: vec![(10.0, -4.0), (30.0, 9.5), (60.0, 7.25)],
        ..base.clone()
    };
    vec![base, lagging, clamped, steep, falling]
}

fn speeds() -> impl Iterator<Item = f64> {
    (0..=80_000).map(|quarter| f64::from(quarter) / 4.0)
}

#[test]
fn total_advance_is_within_a_fiftieth_of_a_degree_at_every_speed() {
    let mut worst = 0.0f64;
    for plain in engines(4) {
        let model = plain.core().unwrap().model;
        let truth = plain.truth();
        for kpa in [0.0, 12.5, 17.0, 23.3, 35.0, 40.5, 77.7, 110.0] {
            for rpm in speeds() {
                let ours = model.advance(Phase::Running, speed(rpm), Some(depression(kpa)), false).unwrap();
                let (_, total) = Ignition::running_advance(&truth, rpm, truth.vacuum.at(kpa));
                let error = (ours.total.get().to_num::<f64>() - total).abs();
                worst = worst.max(error);
                assert!(error <= WITHIN, "{error} crank degrees out at {rpm} crank rpm and {kpa} kPa: {plain:?}");
            }
        }
    }
    println!("worst total advance: {worst:.6} crank degrees out");
}

#[test]
fn a_spark_is_within_a_tick_and_a_fiftieth_of_a_degree_at_every_period() {
    let mut worst = 0.0f64;
    let mut compared = 0u64;
    for tick_rate in [1e6, 2e6, 16e6, 125e6] {
        for pulses in [1, 3, 4, 8, 12] {
            for plain in engines(pulses) {
                let plain = Plain { tick_rate, ..plain };
                // An engine whose sparks do not fit between so many pulses is refused, and proves nothing here.
                let Ok(table) = plain.timetable() else { continue };
                for kpa in [0.0, 23.3, 40.5] {
                    let (beyond, n) = compare(&plain, &table, kpa);
                    worst = worst.max(beyond);
                    compared += n;
                }
            }
        }
    }
    println!("{compared} delays; worst beyond the nearest tick: {worst:.6} crank degrees");
    assert!(compared > 10_000_000, "only {compared} delays were compared");
}

/// Compares every delay over all speeds; answers the worst error beyond one tick in crank degrees, and how many there were.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // Periods are positive and below 2^30 ticks.
fn compare(plain: &Plain, table: &bobweight::Timetable, kpa: f64) -> (f64, u64) {
    let truth = plain.truth();
    let vacuum = truth.vacuum.at(kpa);
    let ours = table.vacuum_advance(Some(depression(kpa)), false);
    let (mut worst, mut compared) = (0.0f64, 0);
    let mut last = 0;
    for rpm in speeds().skip(120).take_while(|&rpm| rpm <= plain.no_spark_above) {
        let period = (plain.period(rpm) * plain.tick_rate).round() as u32;
        if period == last {
            continue;
        }
        last = period;
        let true_rpm = 120.0 * plain.tick_rate / (f64::from(plain.pulses) * f64::from(period));
        let (_, total) = Ignition::running_advance(&truth, true_rpm, vacuum);
        let tick = plain.spacing() / f64::from(period);
        for (phase, wanted) in [
            (Phase::Running, total),
            (Phase::Held, plain.held.clamp(plain.least, plain.greatest)),
            (Phase::Cranking, plain.cranking),
        ] {
            let delay = f64::from(table.delay(phase, period, ours));
            let exact = (plain.pickup_angle - wanted) / tick - plain.lag * plain.tick_rate;
            let error = (delay - exact).abs() * tick;
            worst = worst.max(error - tick);
            assert!(
                error <= tick + WITHIN,
                "{error} crank degrees out, a tick is {tick}, at {true_rpm} crank rpm, {phase:?}: {plain:?}"
            );
            let ordered = plain.pickup_angle - (delay + plain.lag * plain.tick_rate) * tick;
            let greatest = if phase == Phase::Cranking { plain.greatest_cranking } else { plain.greatest };
            assert!(
                ordered <= greatest + 1e-9,
                "ordered {ordered}, above {greatest}, at {true_rpm} crank rpm: {plain:?}"
            );
            compared += 1;
        }
    }
    (worst, compared)
}

#[test]
fn every_period_and_advance_has_an_answer() {
    for pulses in 1..=12 {
        for plain in engines(pulses) {
            let Ok(table) = plain.timetable() else { continue };
            for period in (0..=u32::MAX).step_by(65_521).chain(0..1000).chain(u32::MAX - 1000..=u32::MAX) {
                for vacuum in [Advance::MIN, advance(0.0), Advance::MAX] {
                    for phase in [Phase::Running, Phase::Held, Phase::Cranking, Phase::Stopped, Phase::Overspeed] {
                        assert!(table.delay(phase, period, vacuum) <= 1 << 31);
                    }
                }
            }
        }
    }
}
