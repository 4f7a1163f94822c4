//! What a stimulator does with each message, seen in its orders, events and outputs.
// Test figures are small and chosen; what a cast could lose is not there.
#![allow(clippy::cast_possible_truncation, clippy::cast_precision_loss, clippy::cast_sign_loss, clippy::float_cmp)]

mod common;

use bobweight_stimulator::wire::EventKind::{Begun, LostTiming, Second, Stopped, StraySecond, StrayTiming, Timing};
use bobweight_stimulator::wire::*;
use bobweight_stimulator::{CoilEdge, Flank, Stimulator};
use common::*;

/// Two megahertz, four pulses, flanks at 60 and 8 crank degrees BTDC, 1 000 crank rpm: a pulse lasts 60 000 ticks and its second
/// flank follows 52 / 6 000 s, 17 333.3 ticks, after the first.
fn turning() -> (Bench, u8) {
    let mut bench = Bench::new(2 * MEGAHERTZ);
    bench.tell(HostMessage::Pattern(pattern(4, 60.0, Some(8.0))));
    let sequence = bench.tell(HostMessage::Speed(rpm(1000.0)));
    (bench, sequence)
}

const PULSE: u64 = 60_000;

fn kinds(events: &[(EventKind, u64)]) -> Vec<EventKind> {
    events.iter().map(|(kind, _)| *kind).collect()
}

#[test]
fn a_change_of_speed_begins_at_the_flank_that_is_named() {
    let (mut bench, first) = turning();
    bench.flanks(4);
    let second = bench.tell(HostMessage::Speed(rpm(2000.0)));
    bench.flanks(5);
    let events = bench.all_events();
    assert_eq!(
        kinds(&events),
        [Begun(first), Timing, Second, Timing, Second, Begun(second), Timing, Second, Timing, Second, Timing]
    );
    let times: Vec<u64> = events.iter().filter(|(kind, _)| *kind == Timing).map(|(_, at)| *at).collect();
    assert_eq!(times.windows(2).map(|w| w[1] - w[0]).collect::<Vec<_>>(), [PULSE, PULSE, PULSE / 2, PULSE / 2]);
}

#[test]
fn flanks_worked_out_ahead_keep_their_motion() {
    let (mut bench, _) = turning();
    bench.flanks(2);
    bench.wait(0);
    // Two flanks are worked out: the change begins at the second timing flank from here.
    bench.tell(HostMessage::Speed(rpm(2000.0)));
    let times: Vec<u64> =
        bench.flanks(9).into_iter().filter(|(flank, _)| *flank == Some(Flank::Timing)).map(|(_, at)| at).collect();
    assert_eq!(times.windows(2).map(|w| w[1] - w[0]).collect::<Vec<_>>(), [PULSE, PULSE / 2, PULSE / 2, PULSE / 2]);
}

#[test]
fn a_lost_pulse_shows_where_it_would_have_been() {
    let (mut bench, _) = turning();
    bench.flanks(1);
    let upset = bench.tell(HostMessage::Upset(Upset { after_pulses: 1, disturbance: Disturbance::Lose }));
    let flanks = bench.flanks(6);
    let senses: Vec<_> = flanks.iter().map(|(flank, _)| *flank).collect();
    let (timing, second) = (Some(Flank::Timing), Some(Flank::Second));
    assert_eq!(senses, [second, timing, second, None, None, timing]);
    assert_eq!(flanks[3].1 - flanks[1].1, PULSE);
    assert_eq!(flanks[5].1 - flanks[1].1, 2 * PULSE);
    let events = kinds(&bench.all_events());
    assert_eq!(events[2..], [Second, Timing, Second, Begun(upset), LostTiming, Timing]);
}

#[test]
fn a_false_pulse_lasts_one_crank_degree() {
    // In the idle part the wire becomes active for a moment, in the active part idle.
    for (after, first, then) in [(100.0, StrayTiming, StraySecond), (20.0, StraySecond, StrayTiming)] {
        let (mut bench, _) = turning();
        bench.flanks(2);
        let upset =
            bench.tell(HostMessage::Upset(Upset { after_pulses: 0, disturbance: Disturbance::Add(degrees(after)) }));
        bench.flanks(6);
        let events = bench.all_events();
        let begun = events.iter().position(|(kind, _)| *kind == Begun(upset)).unwrap();
        let origin = events[begun + 1].1;
        let at = |kind| events.iter().find(|(k, _)| *k == kind).map(|(_, at)| *at - origin);
        let ticks = |angle: f64| (angle / 6000.0 * 2e6) as u64;
        assert!(at(first).unwrap().abs_diff(ticks(after)) <= 1, "{events:?}");
        assert!(at(then).unwrap().abs_diff(ticks(after + 1.0)) <= 1, "{events:?}");
        let nominal: Vec<u64> = events[begun..].iter().filter(|(k, _)| *k == Timing).map(|e| e.1).collect();
        assert_eq!(nominal[1] - nominal[0], PULSE, "the pulse itself stays as it is");
    }
}

#[test]
fn a_moved_pulse_comes_whole() {
    for early in [5.0, -5.0] {
        let (mut bench, _) = turning();
        bench.flanks(2);
        bench.tell(HostMessage::Upset(Upset { after_pulses: 1, disturbance: Disturbance::Shift(degrees(early)) }));
        bench.flanks(8);
        let events = bench.all_events();
        let at = |kind| events.iter().find(|(k, _)| *k == kind).unwrap().1;
        let timing: Vec<u64> = events.iter().filter(|(k, _)| *k == Timing).map(|e| e.1).collect();
        let expected = timing[0] as f64 + 2.0 * PULSE as f64 - early / 6000.0 * 2e6;
        assert!((at(EventKind::MovedTiming) as f64 - expected).abs() <= 1.0, "{events:?}");
        assert!((at(EventKind::MovedSecond) as f64 - expected - 52.0 / 6000.0 * 2e6).abs() <= 1.0);
        assert_eq!(timing[2] - timing[1], 2 * PULSE, "the others stay as they are");
    }
}

/// Halted out of cranking 100 crank degrees after a timing flank and thrown back 150: the second flank (52 degrees after it) is
/// passed forwards and backwards, then the timing flank backwards. Times by the constant rate: with speed v at the flank
/// and rate `v^2 / (2 x)`, a place p is passed after `x / v * 2 (1 -+ sqrt(1 - p / x))`.
#[test]
fn a_halt_stops_and_kicks_back() {
    let mut bench = Bench::new(2 * MEGAHERTZ);
    bench.tell(HostMessage::Pattern(pattern(4, 60.0, Some(8.0))));
    let halt = Halt { after: degrees(100.0), back: degrees(150.0) };
    bench.tell(HostMessage::Crank(CrankPattern { mean: rpm(200.0), ratio: SpeedRatio(768) }));
    bench.flanks(6);
    let sequence = bench.tell(HostMessage::Halt(halt));
    bench.flanks(20);
    let events = bench.all_events();
    let begun = events.iter().position(|(kind, _)| *kind == Begun(sequence)).unwrap();
    assert_eq!(kinds(&events)[begun..], [Begun(sequence), Timing, Second, StrayTiming, StraySecond, Stopped]);

    // The timing flank lies 60 degrees before top dead centre: 30 from the fastest place.
    let (least, greatest) = (100.0_f64, 300.0_f64);
    let squared = least * least + (greatest * greatest - least * least) * 60.0 / 90.0;
    let speed = 6.0 * squared.sqrt();
    let after = |place: f64, sign: f64| 100.0 / speed * 2.0 * (1.0 + sign * (1.0 - place / 100.0).sqrt()) * 2e6;
    let expected = [after(52.0, -1.0), after(52.0, 1.0), after(0.0, 1.0), after(-50.0, 1.0)];
    for (event, expected) in events[begun + 2..].iter().zip(expected) {
        let measured = (event.1 - events[begun].1) as f64;
        assert!((measured - expected).abs() < 1.5, "{:?}: {measured}, not {expected}", event.0);
    }
    assert!(!bench.stimulator.turning());
    assert!(!bench.stimulator.outputs().pickup_high);
    bench.tell(HostMessage::Speed(rpm(500.0)));
    assert_eq!(bench.flanks(1)[0].0, Some(Flank::Timing), "it starts again");
}

#[test]
fn a_run_counts_cycles_between_flanks() {
    let (mut bench, _) = turning();
    bench.flanks(3);
    let run = bench.tell(HostMessage::Run(RunLength::Cycles(3)));
    // A lost pulse is a pulse of its cycle all the same.
    bench.tell(HostMessage::Upset(Upset { after_pulses: 2, disturbance: Disturbance::Lose }));
    bench.spark_after = Some(1000);
    bench.flanks(40);
    let events = kinds(&bench.all_events());
    let begun = events.iter().position(|k| *k == Begun(run)).unwrap();
    let finished = events.iter().position(|k| *k == EventKind::Finished).unwrap();
    let count = |kind| events[begun..finished].iter().filter(|k| **k == kind).count();
    assert_eq!((count(Timing), count(LostTiming)), (11, 1));
    assert_eq!(count(EventKind::CoilOff), 11);
    assert_eq!(events[finished + 1], Timing, "over at the flank that begins the next cycle");
    assert!(bench.stimulator.turning(), "the crank turns on");
}

#[test]
fn a_run_counts_sparks() {
    let (mut bench, _) = turning();
    bench.spark_after = Some(1000);
    bench.tell(HostMessage::Run(RunLength::Sparks(5)));
    bench.flanks(40);
    let events = kinds(&bench.all_events());
    let finished = events.iter().position(|k| *k == EventKind::Finished).unwrap();
    assert_eq!(events[..=finished].iter().filter(|k| **k == EventKind::CoilOff).count(), 5);
    assert_eq!(events[finished - 1], EventKind::CoilOff);
}

#[test]
fn outputs_rest_when_the_host_is_silent_for_two_seconds() {
    let (mut bench, _) = turning();
    bench.tell(HostMessage::Intake(Intake { depression: Depression(20 * 256), throttle_closed: false }));
    bench.wait(3_999_999);
    assert!(bench.stimulator.turning());
    assert_eq!(bench.stimulator.outputs().intake.depression, Depression(20 * 256));
    bench.wait(1);
    assert!(!bench.stimulator.turning());
    assert_eq!(bench.stimulator.next_flank(), None);
    assert_eq!(bench.stimulator.outputs().intake, Intake { depression: Depression(0), throttle_closed: true });
    assert_eq!(bench.all_events().last().unwrap().0, EventKind::HostSilent);
}

#[test]
fn a_stop_keeps_the_level_and_a_start_goes_on_from_it() {
    let (mut bench, _) = turning();
    bench.flanks(3);
    assert!(bench.stimulator.outputs().pickup_high);
    bench.tell(HostMessage::Stop);
    assert!(bench.stimulator.outputs().pickup_high, "a change of level would be an edge");
    assert_eq!(bench.stimulator.next_flank(), None);
    assert_eq!(bench.all_events().last().unwrap().0, Stopped);
    bench.tell(HostMessage::Speed(rpm(1000.0)));
    assert_eq!(bench.flanks(1)[0].0, Some(Flank::Second));
}

#[test]
fn a_falling_timing_flank_turns_the_level_round() {
    let mut bench = Bench::new(MEGAHERTZ);
    bench.tell(HostMessage::Pattern(PickupPattern { timing_edge: TimingEdge::Falling, ..pattern(4, 60.0, None) }));
    assert!(bench.stimulator.outputs().pickup_high);
    bench.tell(HostMessage::Speed(rpm(1000.0)));
    bench.flanks(1);
    assert!(!bench.stimulator.outputs().pickup_high);
}

#[test]
fn time_is_marked_while_nothing_happens() {
    let mut bench = Bench::new(2 * MEGAHERTZ);
    bench.tell(HostMessage::Pattern(pattern(1, 60.0, Some(8.0))));
    bench.tell(HostMessage::Speed(rpm(20.0)));
    bench.flanks(2);
    for _ in 0..20 {
        bench.tell(HostMessage::KeepAlive);
        bench.wait(200_000);
    }
    let marks = bench.all_events().iter().filter(|(kind, _)| *kind == EventKind::TimeMark).count();
    assert_eq!(marks, 4, "two a second");
}

#[test]
fn events_without_room_are_counted() {
    let (mut bench, _) = turning();
    let stimulator = &mut bench.stimulator;
    for at in 0..30 {
        stimulator.coil(CoilEdge::On, at);
    }
    let full = stimulator.events(30).cloned().expect("full");
    assert_eq!((full.events.len(), full.lost), (LARGEST_BATCH, 0));
    stimulator.coil(CoilEdge::Off, 31);
    let next = stimulator.events(31 + MEGAHERTZ).expect("old");
    assert_eq!((next.number, next.events.len(), next.lost), (1, 1, 14));
}

#[test]
fn the_origin_of_the_clock_changes_nothing() {
    let run = |origin: u32| {
        let mut bench = Bench::at(2 * MEGAHERTZ, origin);
        bench.tell(HostMessage::Pattern(pattern(3, 60.0, Some(8.0))));
        bench.tell(HostMessage::Ramp(Ramp { from: rpm(500.0), to: rpm(3000.0), rate: rpm_per_second(1500.0) }));
        bench.flanks(400);
        bench.all_events().iter().map(|(kind, at)| (*kind, *at)).collect::<Vec<_>>()
    };
    let at_zero = run(0);
    for origin in [1, 0x7fff_ffff, 0xffff_0000, 0xffff_ffff] {
        assert_eq!(run(origin), at_zero, "origin {origin:#x}");
    }
}

/// It has to fit beside its buffers into two kilobytes. The host pads it; a chip of eight bits does not.
#[test]
fn the_state_is_small() {
    let size = size_of::<Stimulator>();
    println!("state: {size} bytes on this host");
    assert!(size < 512, "{size} bytes");
}
