//! A timetable that is made has room for every dwell from the second flank: whatever pickup, coil and battery, an engine that is turned
//! as fast as cranking goes has one spark a pulse, over when the next flank comes.

// Times and places of these tests are small and positive, far inside every cast.
#![allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]

use bobweight::{Flank, Phase};
use bobweight_tests::firmware::{Happening, Timer};
use bobweight_tests::numbers::{Numbers, times};
use bobweight_tests::plain::{Plain, voltage};

/// A pickup with a second flank, as odd as it may be: the flanks near to each other or nearly a pulse apart.
fn odd(numbers: &mut Numbers) -> Plain {
    let pulses = numbers.one_of(&[1, 2, 3, 4, 5, 6, 8, 10, 12]);
    let spacing = 720.0 / f64::from(pulses);
    let cranking = numbers.between(0.0, 10.0);
    let running_from = numbers.between(450.0, 900.0);
    Plain {
        cranking,
        second_flank_angle: Some(cranking),
        pickup_angle: cranking + spacing * numbers.between(0.1, 0.95),
        cranking_below: running_from - 50.0,
        running_from,
        burn_time: numbers.between(0.2e-3, 3e-3),
        largest_duty: numbers.between(0.2, 0.9),
        ..Plain::with_pulses(pulses)
    }
    .in_steps()
}

#[test]
fn every_dwell_from_the_second_flank_is_over_at_the_next_flank() {
    let mut numbers = Numbers::new(13);
    let (mut made, mut refused, mut unlike) = (0, 0, Vec::new());
    for _ in 0..4000 * times() {
        let plain = odd(&mut numbers);
        let table = match plain.timetable() {
            Ok(table) => table,
            Err(why) => {
                refused += usize::from(why.contains("last into the next flank"));
                continue;
            }
        };
        made += 1;
        let mut timer = Timer::new(&plain, &table, 0);
        let volts = numbers.between(8.0, 16.0);
        timer.happen(0, Happening::Battery(voltage(volts)));
        let rpm = numbers.between(0.9, 0.999) * plain.running_from;
        let period = plain.period(rpm);
        let to_second = (plain.pickup_angle - plain.cranking) / plain.spacing() * period;
        for pulse in 1..30 {
            let at = f64::from(pulse) * period;
            for (flank, time) in [(Flank::Timing, at), (Flank::Second, at + to_second)] {
                timer.happen((time * plain.tick_rate).round() as u64, Happening::Edge { flank, handled_after: 0 });
            }
        }
        assert_eq!(timer.sequencer.phase(), Phase::Cranking, "{plain:?}");
        timer.run_to((30.0 * period * plain.tick_rate) as u64 - 2);
        if timer.dwells.len() < 27 || timer.sequencer.counters().still_running > 0 {
            unlike.push((timer.dwells.len(), volts, plain));
        }
    }
    println!("{made} timetables made, {refused} refused for want of room");
    assert!(unlike.is_empty(), "{} of {made}, as {:?}", unlike.len(), unlike[0]);
    assert!(made > 2000 && refused > 0, "{made} made, {refused} refused");
}
