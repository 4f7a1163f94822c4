//! Laws that hold whatever a host sends, at whatever moment.
// Ticks here are far below 2^53.
#![allow(clippy::cast_precision_loss)]

mod common;

use bobweight_stimulator::wire::*;
use bobweight_stimulator::{CoilEdge, Flank};
use common::*;
use proptest::prelude::*;

#[derive(Debug, Clone)]
enum Step {
    Tell(HostMessage),
    Flanks(u8),
    Wait(u32),
    Spark,
}

fn angle() -> impl Strategy<Value = CrankAngle> {
    prop_oneof![
        6 => (-360 * 256..=720 * 256).prop_map(CrankAngle),
        2 => (0..=180 * 256).prop_map(CrankAngle),
        1 => any::<i32>().prop_map(CrankAngle),
    ]
}

fn speed() -> impl Strategy<Value = CrankSpeed> {
    prop_oneof![
        4 => (20 * 256..=20_000 * 256_u32).prop_map(CrankSpeed),
        4 => (20 * 256..=2_000 * 256_u32).prop_map(CrankSpeed),
        1 => any::<u32>().prop_map(CrankSpeed),
    ]
}

fn message() -> impl Strategy<Value = HostMessage> {
    let rate = prop_oneof![4 => 256..=60_000 * 256_u32, 1 => any::<u32>()].prop_map(Acceleration);
    let ratio = prop_oneof![4 => 256..=2048_u16, 1 => any::<u16>()].prop_map(SpeedRatio);
    let edge = prop_oneof![Just(TimingEdge::Rising), Just(TimingEdge::Falling)];
    let disturbance =
        prop_oneof![Just(Disturbance::Lose), angle().prop_map(Disturbance::Add), angle().prop_map(Disturbance::Shift)];
    let run = prop_oneof![any::<u32>().prop_map(RunLength::Sparks), (0..20_u32).prop_map(RunLength::Cycles)];
    prop_oneof![
        1 => Just(HostMessage::Identify),
        1 => Just(HostMessage::Stop),
        4 => (0..=13_u8, angle(), prop::option::of(angle()), edge).prop_map(
            |(pulses_in_two_turns, timing, second, timing_edge)| HostMessage::Pattern(PickupPattern {
                pulses_in_two_turns,
                timing,
                second,
                timing_edge
            })
        ),
        3 => speed().prop_map(HostMessage::Speed),
        3 => (speed(), speed(), rate).prop_map(|(from, to, rate)| HostMessage::Ramp(Ramp { from, to, rate })),
        3 => (speed(), ratio).prop_map(|(mean, ratio)| HostMessage::Crank(CrankPattern { mean, ratio })),
        1 => run.prop_map(HostMessage::Run),
        4 => (0..4_u16, disturbance)
            .prop_map(|(after_pulses, disturbance)| HostMessage::Upset(Upset { after_pulses, disturbance })),
        3 => (angle(), angle()).prop_map(|(after, back)| HostMessage::Halt(Halt { after, back })),
        1 => (any::<u16>(), any::<bool>()).prop_map(|(depression, throttle_closed)| HostMessage::Intake(Intake {
            depression: Depression(depression),
            throttle_closed
        })),
    ]
}

fn step() -> impl Strategy<Value = Step> {
    prop_oneof![
        4 => message().prop_map(Step::Tell),
        4 => (1..12_u8).prop_map(Step::Flanks),
        1 => (0..100_000_u32).prop_map(Step::Wait),
        1 => Just(Step::Spark),
    ]
}

fn tick_rate() -> impl Strategy<Value = u32> {
    prop::sample::select(vec![1_000, 15_625, MEGAHERTZ, 2 * MEGAHERTZ, 16 * MEGAHERTZ, 200 * MEGAHERTZ])
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(5_000))]

    /// No flank is ordered into the past (the bench itself asserts it), each changes the level, and after a stop there is none.
    #[test]
    fn flanks_alternate_and_end_with_a_stop(rate in tick_rate(), origin: u32, steps in prop::collection::vec(step(), 1..60)) {
        let mut bench = Bench::at(rate, origin);
        let mut high = bench.stimulator.outputs().pickup_high;
        for step in steps {
            match step {
                Step::Tell(message) => {
                    let accepted = bench.ask(message) == Answer::Accepted;
                    let level = bench.stimulator.outputs().pickup_high;
                    if accepted && matches!(message, HostMessage::Pattern(_)) {
                        high = level;
                    }
                    prop_assert_eq!(level, high, "{:?} changes the level", message);
                    if matches!(message, HostMessage::Stop) {
                        prop_assert!(!bench.stimulator.turning());
                        prop_assert_eq!(bench.stimulator.next_flank(), None);
                    }
                }
                Step::Flanks(number) => {
                    for _ in 0..number {
                        let Some((flank, _)) = bench.flanks(1).first().copied() else { break };
                        let level = bench.stimulator.outputs().pickup_high;
                        prop_assert_eq!(level != high, flank.is_some(), "{:?} without a change of level", flank);
                        high = level;
                    }
                }
                Step::Wait(ticks) => {
                    // Never past the flank that waits: a board's timer would have taken it.
                    let clock = bench.clock();
                    let ahead = bench.stimulator.next_flank().map_or(u32::MAX, |order| order.at.wrapping_sub(clock));
                    bench.wait(u64::from(ticks.min(ahead)));
                }
                Step::Spark => {
                    let clock = bench.clock();
                    bench.stimulator.coil(CoilEdge::On, clock);
                    bench.stimulator.coil(CoilEdge::Off, clock);
                }
            }
        }
    }

    /// However pulses are upset, those after them lie where they would have lain.
    #[test]
    fn upsets_leave_the_rest_alone(
        pulses in 1..=12_u8,
        speed in 200.0..3000.0_f64,
        upsets in prop::collection::vec((0..3_u16, angle(), 0..3_u8), 1..10),
    ) {
        let mut bench = Bench::new(2 * MEGAHERTZ);
        bench.tell(HostMessage::Pattern(pattern(pulses, 60.0, Some(45.0))));
        bench.tell(HostMessage::Speed(rpm(speed)));
        let period = 120.0 * 2e6 / (f64::from(pulses) * f64::from(rpm(speed).0) / 256.0);
        // A refusal stops the crank; it is started anew, and its flanks lie where that beginning puts them.
        let mut beginnings = vec![bench.flanks(1)[0].1];
        for (after_pulses, angle, kind) in upsets {
            let disturbance = [Disturbance::Lose, Disturbance::Add(angle), Disturbance::Shift(angle)][usize::from(kind)];
            if bench.ask(HostMessage::Upset(Upset { after_pulses, disturbance })) != Answer::Accepted {
                bench.tell(HostMessage::Speed(rpm(speed)));
                let begun = bench.flanks(2);
                beginnings.extend(begun.iter().find(|(flank, _)| *flank == Some(Flank::Timing)).map(|(_, at)| *at));
            }
            bench.flanks(8);
        }
        for (kind, at) in bench.all_events() {
            if kind == EventKind::Timing {
                let first = beginnings.iter().rev().find(|first| **first <= at).expect("the first flank is an event");
                let pulses = (at as f64 - *first as f64) / period;
                let off = (pulses - pulses.round()) * period;
                prop_assert!(off.abs() <= 1.0, "a flank lies {} ticks off", off);
            }
        }
    }
}

/// A halt that passes flanks backwards ends with the level of the place where the crank stands.
#[test]
fn a_kick_back_of_any_size_leaves_the_right_level() {
    for (after, back, high) in [
        (100.0, 0.0, false),
        (100.0, 40.0, false),
        (100.0, 60.0, true),
        (100.0, 105.0, false),
        (30.0, 10.0, true),
        (30.0, 35.0, false),
        (30.0, 170.0, true),
    ] {
        let mut bench = Bench::new(2 * MEGAHERTZ);
        bench.tell(HostMessage::Pattern(pattern(4, 60.0, Some(8.0))));
        bench.tell(HostMessage::Crank(CrankPattern { mean: rpm(200.0), ratio: SpeedRatio(768) }));
        bench.flanks(5);
        bench.tell(HostMessage::Halt(Halt { after: degrees(after), back: degrees(back) }));
        let last = bench.flanks(20).last().copied().unwrap();
        assert_eq!(last.0, None, "it stands");
        assert_eq!(bench.stimulator.outputs().pickup_high, high, "{after} and back {back}");
        bench.tell(HostMessage::Speed(rpm(500.0)));
        let expected = if high { Flank::Second } else { Flank::Timing };
        assert_eq!(bench.flanks(1)[0].0, Some(expected));
    }
}
