//! Streams that broke an earlier rule, each a test.
use bobweight::Flank;
use bobweight_tests::firmware::{Happening, Timer};
use bobweight_tests::plain::Plain;

#[test]
fn trace() {
    let plain = Plain {
        pulses: 9,
        pickup_angle: 33.28187561035156,
        second_flank_angle: Some(0.0),
        acceleration: 17907.0,
        spread: 0.6760101318359375,
        tick_rate: 125e6,
        no_spark_above: 4552.3046875,
        spark_again_below: 4452.3046875,
        latency: 1.2302e-5,
        burn_time: 0.001337158,
        largest_duty: 0.3,
        centrifugal: vec![(500.0, 0.0), (1379.91796875, 7.228790283203125)],
        initial: 0.0,
        cranking: 0.0,
        held: 0.0,
        vacuum: vec![(5.0, 0.0), (10.0, 9.94769287109375)],
        greatest: 17.176483154296875,
        greatest_without_vacuum: 90.0,
        ..Plain::fire_float()
    };
    let table = plain.timetable().unwrap();
    let mut timer = Timer::new(&plain, &table, 0);
    let unit = plain.period(1000.0) * plain.tick_rate * 0.6367884717882435;
    let mut at = 0;
    for (gap, edge, late) in [
        (0.2, true, 0),
        (1.5557627928803601, false, 0),
        (0.2, true, 0),
        (1.3163459230513699, false, 0),
        (1.459727477098701, true, 0),
        (1.2869904134104562, true, 0),
        (1.652683565049459, true, 0),
        (0.25, true, 0),
        (1.1189759782075483, true, 813894u32),
    ] {
        at = timer.now().max(at) + (gap * unit) as u64;
        if edge {
            timer.happen(at, Happening::Edge { flank: Flank::Timing, handled_after: late });
            show(at, &timer);
        }
    }
    let start = timer.now() + 475_304;
    for i in 0..12 {
        timer.happen(start + i * 475_304, Happening::Edge { flank: Flank::Timing, handled_after: 0 });
        show(start + i * 475_304, &timer);
    }
}
fn show(at: u64, timer: &Timer<'_>) {
    let text = format!("{:?}", timer.sequencer);
    let i = text.find("rhythm:").unwrap();
    println!("{:.3} {}", at as f64 / 475304.0, &text[i..]);
}
