//! Every message that either side can send, for the laws.
// Each test file is a crate of its own and uses what it needs.
#![allow(dead_code)]

use bobweight_wire::*;
use proptest::prelude::*;

pub fn angle() -> impl Strategy<Value = CrankAngle> {
    any::<i32>().prop_map(CrankAngle)
}

pub fn speed() -> impl Strategy<Value = CrankSpeed> {
    any::<u32>().prop_map(CrankSpeed)
}

pub fn host_message() -> impl Strategy<Value = HostMessage> {
    let edge = prop_oneof![Just(TimingEdge::Rising), Just(TimingEdge::Falling)];
    let pattern = (any::<u8>(), angle(), prop::option::of(angle()), edge).prop_map(
        |(pulses_in_two_turns, timing, second, timing_edge)| PickupPattern {
            pulses_in_two_turns,
            timing,
            second,
            timing_edge,
        },
    );
    let disturbance =
        prop_oneof![Just(Disturbance::Lose), angle().prop_map(Disturbance::Add), angle().prop_map(Disturbance::Shift)];
    prop_oneof![
        Just(HostMessage::Identify),
        Just(HostMessage::KeepAlive),
        Just(HostMessage::Stop),
        pattern.prop_map(HostMessage::Pattern),
        speed().prop_map(HostMessage::Speed),
        (speed(), speed(), any::<u32>()).prop_map(|(from, to, rate)| HostMessage::Ramp(Ramp {
            from,
            to,
            rate: Acceleration(rate)
        })),
        (speed(), any::<u16>())
            .prop_map(|(mean, ratio)| HostMessage::Crank(CrankPattern { mean, ratio: SpeedRatio(ratio) })),
        any::<u32>().prop_map(|n| HostMessage::Run(RunLength::Sparks(n))),
        any::<u32>().prop_map(|n| HostMessage::Run(RunLength::Cycles(n))),
        (any::<u16>(), disturbance)
            .prop_map(|(after_pulses, disturbance)| HostMessage::Upset(Upset { after_pulses, disturbance })),
        (angle(), angle()).prop_map(|(after, back)| HostMessage::Halt(Halt { after, back })),
        (any::<u16>(), any::<bool>()).prop_map(|(depression, throttle_closed)| HostMessage::Intake(Intake {
            depression: Depression(depression),
            throttle_closed
        })),
    ]
}

pub fn request() -> impl Strategy<Value = Request> {
    (any::<u8>(), host_message()).prop_map(|(sequence, message)| Request { sequence, message })
}

pub fn fault() -> impl Strategy<Value = FrameFault> {
    prop_oneof![
        Just(FrameFault::Length),
        Just(FrameFault::Stuffing),
        Just(FrameFault::Checksum),
        Just(FrameFault::UnknownMessage),
        any::<u8>().prop_map(FrameFault::NewerProtocol),
        any::<u8>().prop_map(FrameFault::OlderProtocol),
    ]
}

/// Every refusal there is.
pub const REFUSALS: [Refusal; 19] = [
    Refusal::NoPattern,
    Refusal::Turning,
    Refusal::NotTurning,
    Refusal::NotCranking,
    Refusal::Pulses,
    Refusal::FlankAngle,
    Refusal::FlanksTooNear,
    Refusal::Speed,
    Refusal::TooFast,
    Refusal::Rate,
    Refusal::Ratio,
    Refusal::Count,
    Refusal::Depression,
    Refusal::Upset,
    Refusal::Halt,
    Refusal::MotionWaits,
    Refusal::UpsetWaits,
    Refusal::NoSuchOutput,
    Refusal::OtherRole,
];

fn greeting() -> impl Strategy<Value = Greeting> {
    let role = prop_oneof![
        Just(Role::Ignition),
        (any::<[u32; 4]>(), any::<u16>(), any::<bool>()).prop_map(|(shortest, depression_step, throttle)| {
            let [shortest_interval, shortest_pulse, shortest_pulse_in_ramp, shortest_pulse_cranking] = shortest;
            Role::Stimulator(Abilities {
                shortest_interval,
                shortest_pulse,
                shortest_pulse_in_ramp,
                shortest_pulse_cranking,
                depression_step,
                throttle,
            })
        })
    ];
    (any::<[u8; 3]>(), any::<u32>(), any::<u32>(), role).prop_map(
        |([major, minor, patch], tick_rate_hz, clock_tolerance_ppm, role)| Greeting {
            firmware: FirmwareVersion { major, minor, patch },
            tick_rate_hz,
            clock_tolerance_ppm,
            role,
        },
    )
}

fn event_kind() -> impl Strategy<Value = EventKind> {
    prop_oneof![
        any::<u8>().prop_map(EventKind::Begun),
        prop::sample::select(vec![
            EventKind::Timing,
            EventKind::Second,
            EventKind::CoilOn,
            EventKind::CoilOff,
            EventKind::RampEnded,
            EventKind::Finished,
            EventKind::LostTiming,
            EventKind::MovedTiming,
            EventKind::MovedSecond,
            EventKind::StrayTiming,
            EventKind::StraySecond,
            EventKind::Stopped,
            EventKind::HostSilent,
            EventKind::TimeMark,
        ]),
    ]
}

pub fn board_message() -> impl Strategy<Value = BoardMessage> {
    let answer = prop_oneof![
        Just(Answer::Accepted),
        prop::sample::select(REFUSALS.to_vec()).prop_map(Answer::Refused),
        greeting().prop_map(Answer::Greeting),
    ];
    let event = (event_kind(), any::<u32>()).prop_map(|(kind, ticks)| Event { kind, ticks });
    prop_oneof![
        (any::<u8>(), answer).prop_map(|(sequence, answer)| BoardMessage::Reply(Reply { sequence, answer })),
        (any::<u8>(), any::<u8>(), any::<u32>(), prop::collection::vec(event, 0..=LARGEST_BATCH)).prop_map(
            |(number, lost, start, events)| BoardMessage::Events(Batch {
                number,
                lost,
                start,
                events: events.into_iter().collect()
            })
        ),
        fault().prop_map(BoardMessage::Unreadable),
    ]
}

fn piece() -> impl Strategy<Value = Piece> {
    (any::<u16>(), prop::collection::vec(any::<u8>(), 0..=LARGEST_PIECE)).prop_map(|(at, bytes)| Piece::of(at, &bytes))
}

pub fn ignition_request() -> impl Strategy<Value = IgnitionRequest> {
    let message = prop_oneof![
        Just(IgnitionMessage::Identify),
        Just(IgnitionMessage::Stand),
        any::<u16>().prop_map(IgnitionMessage::Read),
        piece().prop_map(IgnitionMessage::Write),
        Just(IgnitionMessage::Commit),
    ];
    (any::<u8>(), message).prop_map(|(sequence, message)| IgnitionRequest { sequence, message })
}

/// Every refusal of an ignition.
pub const IGNITION_REFUSALS: [IgnitionRefusal; 7] = [
    IgnitionRefusal::Turns,
    IgnitionRefusal::NotKept,
    IgnitionRefusal::Outside,
    IgnitionRefusal::NoImage,
    IgnitionRefusal::Version,
    IgnitionRefusal::Settings,
    IgnitionRefusal::NothingStored,
];

pub fn from_ignition() -> impl Strategy<Value = FromIgnition> {
    let stored = (any::<u16>(), any::<u32>(), any::<u16>()).prop_map(|(length, checksum, generation)| StoredImage {
        length,
        checksum,
        generation,
    });
    let standing = (any::<bool>(), any::<u8>(), prop::option::of(stored), prop::option::of(any::<u32>()))
        .prop_map(|(turns, newest_version, stored, works_by)| Standing { turns, newest_version, stored, works_by });
    let answer = prop_oneof![
        Just(IgnitionAnswer::Accepted),
        prop::sample::select(IGNITION_REFUSALS.to_vec()).prop_map(IgnitionAnswer::Refused),
        greeting().prop_map(IgnitionAnswer::Greeting),
        standing.prop_map(IgnitionAnswer::Standing),
        piece().prop_map(IgnitionAnswer::Piece),
    ];
    prop_oneof![
        (any::<u8>(), answer).prop_map(|(sequence, answer)| FromIgnition::Reply(IgnitionReply { sequence, answer })),
        fault().prop_map(FromIgnition::Unreadable),
    ]
}
