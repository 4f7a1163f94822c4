//! The angle that a crank sweeps in a time: 6 N t degrees, t in seconds. Definition of the crank rpm.

use bobweight::{Phase, Timetable};
use bobweight_tests::plain::{Plain, advance, speed};
use bobweight_tool::proof::{Event, EventKind, Motion, Pickup, Recording, measure};

const TICKS_A_SECOND: f64 = 2e6;

/// 3 ms are 18 degrees at 1 000 crank rpm and 54 at 3 000: a spark 3 ms before top dead centre is read so.
#[test]
fn three_milliseconds_are_18_and_54_degrees() {
    for (crank_rpm, degrees) in [(1000.0, 18.0), (3000.0, 54.0)] {
        let pickup = Pickup { pulses_in_two_turns: 4, angle: 60.0 };
        let at = |turned: f64| turned / (6.0 * crank_rpm);
        let ticks = |seconds: f64| seconds * TICKS_A_SECOND;
        let mut events = Vec::new();
        for pulse in 0..40 {
            let dead_centre = f64::from(pulse) * 180.0 + 90.0;
            events.push((ticks(at(dead_centre - 60.0)), EventKind::TimingFlank));
            events.push((ticks(at(dead_centre) - 3e-3), EventKind::CoilOff));
        }
        events.sort_by(|a, b| a.0.total_cmp(&b.0));
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "times after 0, far below 2^53 ticks"
        )]
        let events: Vec<Event> =
            events.into_iter().map(|(at, kind)| Event { at_ticks: at.round() as u64, kind }).collect();
        let record = Recording {
            events: &events,
            tick_s: 1.0 / TICKS_A_SECOND,
            from_ticks: 0,
            to_ticks: events.last().unwrap().at_ticks + 1,
            motion: Motion::Steady { speed_crank_rpm: crank_rpm },
            first_pulse: 0,
        };
        let measured = measure(&record, pickup, &|_| 0.0).unwrap();
        let mean = measured.statistics().cycle_means.mean;
        // Half a tick at either end is 0.01 crank degrees at 3 000 crank rpm.
        assert!((mean - degrees).abs() < 0.01, "{mean} crank degrees at {crank_rpm} crank rpm");
    }
}

/// A lag of t makes an order earlier by 6 N t degrees, so that the spark is where the model says.
#[test]
fn a_lag_is_made_up_by_6_n_t_degrees() {
    let lag = 150e-6;
    let table = |lag| -> Timetable { Plain { lag, ..Plain::fire_float() }.timetable().unwrap() };
    let (without, with) = (table(0.0), table(lag));
    for crank_rpm in [650.0, 1000.0, 3000.0, 4600.0] {
        let period = without.period_of(speed(crank_rpm));
        let delay = |table: &Timetable| f64::from(table.delay(Phase::Running, period, advance(0.0)));
        let degrees = (delay(&without) - delay(&with)) * 180.0 / f64::from(period);
        let tick = 180.0 / f64::from(period);
        assert!((degrees - 6.0 * crank_rpm * lag).abs() <= tick, "{degrees} crank degrees at {crank_rpm} crank rpm");
    }
}
