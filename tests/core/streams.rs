//! Streams that broke an earlier rule, each a test.
use bobweight::Flank;
use bobweight_tests::firmware::{Happening, Timer};
use bobweight_tests::plain::Plain;

#[test]
fn trace() {
    let plain = Plain {
        pulses: 6,
        pickup_angle: 37.6,
        second_flank_angle: None,
        acceleration: 11941.0,
        spread: 0.0,
        tick_rate: 250e3,
        no_spark_above: 6746.0,
        spark_again_below: 6646.0,
        latency: 119e-6,
        burn_time: 0.64e-3,
        largest_duty: 0.3,
        centrifugal: vec![(500.0, 0.0), (600.0, 0.0)],
        initial: 0.0,
        cranking: 0.0,
        held: 0.0,
        vacuum: vec![],
        greatest: 16.5,
        ..Plain::fire_float()
    };
    let table = plain.timetable().unwrap();
    let mut timer = Timer::new(&plain, &table, 0);
    let unit = 0.02 * 250e3;
    let mut t = 0.2;
    for gap in [0.2, 1.4652].into_iter().chain([0.367; 11]) {
        t += gap;
        timer.happen((t * unit) as u64, Happening::Edge { flank: Flank::Timing, handled_after: 0 });
        println!(
            "{t:.3} {:?} {:?} {:?}",
            timer.sequencer.period().map(|p| f64::from(p) / unit),
            timer.sequencer.counters(),
            timer.answers.last()
        );
    }
}
