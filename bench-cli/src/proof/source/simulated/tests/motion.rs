//! Ramps, cranking, lost and false pulses.

use super::*;
use bobweight_wire::{CrankPattern, Disturbance, Ramp, SpeedRatio, Upset};

/// On a ramp the angle comes from the commanded motion: `6 (v t + a t^2 / 2)` degrees after the flank at which it began. An
/// ignition that knows the last period T alone is late by `(pickup angle - advance) (1 + f) / 2 * a m T^2 / 120` (f is the delay's
/// share of T; kinematics), and its curve is read at the speed of `(1/2 + f) T` ago.
#[test]
fn a_ramp_is_judged_by_its_commanded_motion() {
    with_bench(Imperfections::default(), 8, |link| {
        settle(link, 650.0, 0.0);
        let (from, to, rate) = (650.0, 4600.0, 2000.0);
        let ramp = Ramp { from: wire_speed(from), to: wire_speed(to), rate: bobweight_wire::Acceleration(2000 * 256) };
        let sequence = link.request(HostMessage::Ramp(ramp)).unwrap();
        let events: Vec<Event> =
            link.events().map(Result::unwrap).take_while(|event| event.kind != EventKind::RampEnded).collect();
        let begun = events.iter().find(|event| event.kind == EventKind::Begun(sequence)).unwrap().at;
        let (mut last, mut period) = (begun, 120.0 / (4.0 * from));
        let (mut sparks, mut nearest_to_bound) = (0, 0.0_f64);
        for event in events.iter().filter(|event| event.at >= begun) {
            let t = (event.at - begun) as f64 / TICKS;
            let speed = from + rate * t;
            let since = (6.0 * (from * t + rate * t * t / 2.0)).rem_euclid(180.0);
            match event.kind {
                EventKind::Timing => {
                    let off = since.min(180.0 - since);
                    assert!(off < 6.0 * speed / TICKS, "a flank lies {off} degrees off");
                    if event.at > last {
                        period = (event.at - last) as f64 / TICKS;
                    }
                    last = event.at;
                }
                EventKind::CoilOff if speed < to => {
                    let advance = wanted(speed, 0.0);
                    let late = advance - (60.0 - since);
                    let f = (60.0 - advance) / 180.0;
                    let steepest = 12.0 / 800.0;
                    let bound = (60.0 - advance) * (1.0 + f) / 2.0 * rate * 4.0 * period * period / 120.0
                        + steepest * rate * period * (0.5 + f);
                    assert!(late > -0.1 && late < bound + 0.1, "{late} late at {speed} crank rpm, bound {bound}");
                    nearest_to_bound = nearest_to_bound.max(late / bound);
                    sparks += 1;
                }
                _ => {}
            }
        }
        println!("{sparks} sparks on the ramp, late by up to {nearest_to_bound:.2} of the bound");
        assert!(sparks > 100);
    });
}

#[test]
fn cranking_sparks_between_flank_and_dwell() {
    with_bench(Imperfections::default(), 9, |link| {
        let crank = CrankPattern { mean: wire_speed(200.0), ratio: SpeedRatio(768) };
        link.request(HostMessage::Crank(crank)).unwrap();
        let events = run(link, 12);
        let mut second = 0;
        let mut sparks = 0;
        for event in &events {
            match event.kind {
                EventKind::Second => second = event.at,
                EventKind::CoilOff => {
                    sparks += 1;
                    let after = (event.at - second) as f64 / TICKS;
                    assert!(
                        (after - 0.0039).abs() < 3.0 / TICKS,
                        "one dwell of 12 V after the second flank: {after} s"
                    );
                }
                _ => {}
            }
        }
        assert!(sparks >= 40, "{sparks} sparks in 48 pulses");
    });
}

#[test]
fn a_lost_and_a_false_pulse_pass() {
    with_bench(Imperfections::default(), 10, |link| {
        settle(link, 2000.0, 0.0);
        for disturbance in [Disturbance::Lose, Disturbance::Add(bobweight_wire::CrankAngle(100 * 256))] {
            let upset = Upset { after_pulses: 4, disturbance };
            let sequence = link.request(HostMessage::Upset(upset)).unwrap();
            let events = run(link, 4);
            assert!(events.iter().any(|event| event.kind == EventKind::Begun(sequence)), "{disturbance:?}");
            let after = steady_angles(&run(link, 4), 2000.0);
            assert_eq!(after.len(), 16);
            assert!(after.iter().all(|angle| (angle - wanted(2000.0, 0.0)).abs() < 0.05), "{disturbance:?}: {after:?}");
        }
    });
}
