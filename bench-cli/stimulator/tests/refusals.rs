//! What a stimulator refuses, and why.

mod common;

use bobweight_stimulator::wire::*;
use bobweight_stimulator::{Outputs, Settings, Stimulator};
use common::*;

#[test]
fn each_refusal_has_its_cause() {
    let mut bench = Bench::new(2 * MEGAHERTZ);
    let mut refuse = |message: HostMessage, refusal: Refusal| {
        assert_eq!(bench.ask(message), Answer::Refused(refusal), "{message:?}");
    };
    let upset = |disturbance| HostMessage::Upset(Upset { after_pulses: 0, disturbance });
    refuse(HostMessage::Speed(rpm(1000.0)), Refusal::NoPattern);
    refuse(HostMessage::Crank(CrankPattern { mean: rpm(200.0), ratio: SpeedRatio(768) }), Refusal::NoPattern);
    refuse(HostMessage::Run(RunLength::Sparks(1)), Refusal::NoPattern);
    refuse(HostMessage::Pattern(pattern(0, 60.0, None)), Refusal::Pulses);
    refuse(HostMessage::Pattern(pattern(13, 60.0, None)), Refusal::Pulses);
    refuse(HostMessage::Pattern(pattern(4, 721.0, None)), Refusal::FlankAngle);
    refuse(HostMessage::Pattern(pattern(4, 60.0, Some(-361.0))), Refusal::FlankAngle);
    refuse(HostMessage::Pattern(pattern(4, 60.0, Some(59.5))), Refusal::FlanksTooNear);
    refuse(HostMessage::Pattern(pattern(4, 60.0, Some(60.5))), Refusal::FlanksTooNear);
    refuse(
        HostMessage::Intake(Intake { depression: Depression(u16::MAX), throttle_closed: true }),
        Refusal::Depression,
    );
    assert_eq!(bench.ask(HostMessage::Pattern(pattern(4, 60.0, Some(8.0)))), Answer::Accepted);
    let mut refuse = |message: HostMessage, refusal: Refusal| {
        assert_eq!(bench.ask(message), Answer::Refused(refusal), "{message:?}");
    };
    let ramp = |from, to, rate| HostMessage::Ramp(Ramp { from: rpm(from), to: rpm(to), rate: rpm_per_second(rate) });
    refuse(HostMessage::Speed(rpm(19.9)), Refusal::Speed);
    refuse(HostMessage::Speed(CrankSpeed(u32::MAX)), Refusal::Speed);
    refuse(ramp(500.0, 20_001.0, 100.0), Refusal::Speed);
    refuse(ramp(500.0, 1000.0, 0.5), Refusal::Rate);
    refuse(ramp(500.0, 1000.0, 60_001.0), Refusal::Rate);
    refuse(HostMessage::Crank(CrankPattern { mean: rpm(2001.0), ratio: SpeedRatio(768) }), Refusal::Speed);
    refuse(HostMessage::Crank(CrankPattern { mean: rpm(200.0), ratio: SpeedRatio(255) }), Refusal::Ratio);
    refuse(HostMessage::Run(RunLength::Sparks(1)), Refusal::NotTurning);
    refuse(upset(Disturbance::Lose), Refusal::NotTurning);
    refuse(HostMessage::Halt(Halt { after: degrees(10.0), back: degrees(0.0) }), Refusal::NotCranking);
    let mut refuse = |message: HostMessage, refusal: Refusal| {
        assert_eq!(bench.ask(HostMessage::Speed(rpm(1000.0))), Answer::Accepted);
        bench.flanks(2);
        assert_eq!(bench.ask(message), Answer::Refused(refusal), "{message:?}");
    };
    refuse(HostMessage::Halt(Halt { after: degrees(10.0), back: degrees(0.0) }), Refusal::NotCranking);
    refuse(HostMessage::Pattern(pattern(4, 60.0, None)), Refusal::Turning);
    refuse(HostMessage::Run(RunLength::Sparks(0)), Refusal::Count);
    refuse(HostMessage::Run(RunLength::Cycles(u32::MAX)), Refusal::Count);
    for after in [0.5, 50.5, 52.5, 178.5, -1.0, 1e6] {
        refuse(upset(Disturbance::Add(degrees(after))), Refusal::Upset);
    }
    for early in [127.5, -127.5, 1e6] {
        refuse(upset(Disturbance::Shift(degrees(early))), Refusal::Upset);
    }
    // One that waits, and another.
    for (first, second, refusal) in [
        (HostMessage::Speed(rpm(2000.0)), HostMessage::Speed(rpm(500.0)), Refusal::MotionWaits),
        (upset(Disturbance::Lose), upset(Disturbance::Lose), Refusal::UpsetWaits),
    ] {
        bench.ask(HostMessage::Speed(rpm(1000.0)));
        bench.flanks(2);
        assert_eq!(bench.ask(first), Answer::Accepted);
        assert_eq!(bench.ask(second), Answer::Refused(refusal));
    }
}

/// The two sides do not agree on what turns: nothing goes on.
#[test]
fn a_refusal_stops_the_crank_and_puts_the_outputs_to_rest() {
    let mut bench = Bench::new(2 * MEGAHERTZ);
    bench.tell(HostMessage::Pattern(pattern(4, 60.0, Some(8.0))));
    bench.tell(HostMessage::Speed(rpm(1000.0)));
    bench.tell(HostMessage::Intake(Intake { depression: Depression(30 * 256), throttle_closed: false }));
    bench.flanks(3);
    let level = bench.stimulator.outputs().pickup_high;
    assert_eq!(bench.ask(HostMessage::Speed(rpm(10.0))), Answer::Refused(Refusal::Speed));
    assert!(!bench.stimulator.turning());
    assert_eq!(bench.stimulator.next_flank(), None);
    assert_eq!(bench.stimulator.outputs(), Outputs { pickup_high: level, intake: Intake::AT_REST });
    assert_eq!(bench.all_events().last().map(|(kind, _)| *kind), Some(EventKind::Stopped));
}

/// Pulses that a board could not work out in time, by the kind of motion.
#[test]
fn pulses_too_near_each_other_are_refused() {
    let mut settings = settings(2 * MEGAHERTZ);
    settings.abilities = Abilities {
        shortest_pulse: 2_222,
        shortest_pulse_in_ramp: 5_000,
        shortest_pulse_cranking: 13_333,
        ..settings.abilities
    };
    let mut stimulator = Stimulator::new(settings).unwrap();
    let mut ask = |message| {
        let answer = stimulator.message(&Request { sequence: 0, message }, 0).answer;
        stimulator.message(&Request { sequence: 0, message: HostMessage::Stop }, 0);
        answer
    };
    let too_fast = Answer::Refused(Refusal::TooFast);
    let ramp = |to| HostMessage::Ramp(Ramp { from: rpm(500.0), to: rpm(to), rate: rpm_per_second(1000.0) });
    let crank = |mean| HostMessage::Crank(CrankPattern { mean: rpm(mean), ratio: SpeedRatio(768) });
    assert_eq!(ask(HostMessage::Pattern(pattern(12, 60.0, None))), Answer::Accepted);
    // 12 pulses in two turns: 9 000 crank rpm make 900 a second, 4 000 make 400, and 1 500 make 150.
    assert_eq!(ask(HostMessage::Speed(rpm(9_000.0))), Answer::Accepted);
    assert_eq!(ask(HostMessage::Speed(rpm(9_010.0))), too_fast);
    assert_eq!(ask(ramp(4_000.0)), Answer::Accepted);
    assert_eq!(ask(ramp(4_010.0)), too_fast);
    assert_eq!(ask(crank(1_500.0)), Answer::Accepted);
    assert_eq!(ask(crank(1_510.0)), too_fast);
}

#[test]
fn what_a_board_cannot_do_is_refused() {
    let mut settings = settings(2 * MEGAHERTZ);
    settings.abilities = Abilities {
        shortest_interval: 200,
        shortest_pulse: 200,
        shortest_pulse_in_ramp: 200,
        shortest_pulse_cranking: 200,
        depression_step: 0,
        throttle: false,
    };
    let mut stimulator = Stimulator::new(settings).unwrap();
    let mut ask = |message| stimulator.message(&Request { sequence: 0, message }, 0).answer;
    let Answer::Greeting(greeting) = ask(HostMessage::Identify) else { panic!("no greeting") };
    assert_eq!(greeting.role, Role::Stimulator(settings.abilities));
    let intake =
        |kpa: u16, throttle_closed| HostMessage::Intake(Intake { depression: Depression(kpa * 256), throttle_closed });
    assert_eq!(ask(intake(0, true)), Answer::Accepted);
    assert_eq!(ask(intake(1, true)), Answer::Refused(Refusal::NoSuchOutput));
    assert_eq!(ask(intake(0, false)), Answer::Refused(Refusal::NoSuchOutput));
    // Flanks one crank degree apart are 100 us apart at 1 666.7 crank rpm.
    assert_eq!(ask(HostMessage::Pattern(pattern(4, 60.0, Some(59.0)))), Answer::Accepted);
    assert_eq!(ask(HostMessage::Speed(rpm(1667.0))), Answer::Refused(Refusal::TooFast));
    assert_eq!(ask(HostMessage::Speed(rpm(1666.0))), Answer::Accepted);
    assert!(Stimulator::new(Settings { tick_rate_hz: 999, ..settings }).is_none());
    assert!(Stimulator::new(Settings { tick_rate_hz: 200_000_001, ..settings }).is_none());
}
