//! The worked frames of the README, byte by byte, both ways.

use bobweight_wire::*;

const README: &str = include_str!("../README.md");

/// Bytes of the README's row of this name.
#[track_caller]
fn row(name: &str, expected: &[u8]) -> Vec<u8> {
    let hex = |bytes: &[u8]| bytes.iter().map(|byte| format!("{byte:02x}")).collect::<Vec<_>>().join(" ");
    let start = format!("| {name} | `");
    let line = README.lines().find(|line| line.starts_with(&start));
    let line = line.unwrap_or_else(|| panic!("the README lacks the row\n{start}{}` |", hex(expected)));
    let written = line[start.len()..].trim_end_matches("` |");
    assert_eq!(written, hex(expected), "the README's row `{name}`");
    written.split(' ').map(|byte| u8::from_str_radix(byte, 16).unwrap()).collect()
}

#[track_caller]
fn check<M: Message + PartialEq + std::fmt::Debug>(name: &str, message: &M) {
    let frame = Frame::of(message).unwrap();
    let bytes = row(name, frame.as_bytes());
    let mut decoder = Decoder::new();
    let said: Vec<_> = bytes.iter().filter_map(|&byte| decoder.push::<M>(byte)).collect();
    assert!(matches!(said.as_slice(), [Ok(read)] if read == message), "{name}: read as {said:?}");
}

fn degrees(degrees: i32) -> CrankAngle {
    CrankAngle(degrees * CrankAngle::PER_DEGREE)
}

fn rpm(rpm: u32) -> CrankSpeed {
    CrankSpeed(rpm * CrankSpeed::PER_RPM)
}

#[test]
fn requests() {
    let pattern = PickupPattern {
        pulses_in_two_turns: 4,
        timing: degrees(60),
        second: Some(degrees(8)),
        timing_edge: TimingEdge::Falling,
    };
    let ramp = Ramp { from: rpm(650), to: rpm(4600), rate: Acceleration(2000 * Acceleration::PER_RPM_PER_SECOND) };
    let upset = |disturbance| HostMessage::Upset(Upset { after_pulses: 4, disturbance });
    let messages = [
        ("Identify", HostMessage::Identify),
        ("Keep alive", HostMessage::KeepAlive),
        ("Stop", HostMessage::Stop),
        ("Pattern: 4 pulses, 60 and 8 degrees BTDC, falling", HostMessage::Pattern(pattern)),
        ("Speed: 1 000 crank rpm", HostMessage::Speed(rpm(1000))),
        ("Ramp: 650 to 4 600 crank rpm at 2 000 rpm/s", HostMessage::Ramp(ramp)),
        ("Crank: 200 crank rpm, 3 to 1", HostMessage::Crank(CrankPattern { mean: rpm(200), ratio: SpeedRatio(768) })),
        ("Run: 50 sparks", HostMessage::Run(RunLength::Sparks(50))),
        ("Run: 12 cycles", HostMessage::Run(RunLength::Cycles(12))),
        ("Upset: lose the fifth pulse", upset(Disturbance::Lose)),
        ("Upset: add a level 100 degrees after its flank", upset(Disturbance::Add(degrees(100)))),
        ("Upset: shift it 5 degrees late", upset(Disturbance::Shift(degrees(-5)))),
        ("Halt: after 100 degrees, back 150", HostMessage::Halt(Halt { after: degrees(100), back: degrees(150) })),
        (
            "Intake: 20 kPa, throttle open",
            HostMessage::Intake(Intake { depression: Depression(20 * Depression::PER_KPA), throttle_closed: false }),
        ),
    ];
    for (name, message) in messages {
        check(name, &Request { sequence: 7, message });
    }
}

#[test]
fn board_messages() {
    let greeting = |role| Greeting {
        firmware: FirmwareVersion { major: 0, minor: 1, patch: 0 },
        tick_rate_hz: 2_000_000,
        clock_tolerance_ppm: 5000,
        role,
    };
    let stimulator = Role::Stimulator(Abilities {
        shortest_interval: 80,
        shortest_pulse: 2_222,
        shortest_pulse_in_ramp: 5_000,
        shortest_pulse_cranking: 13_333,
        depression_step: 64,
        throttle: true,
    });
    let reply = |answer| BoardMessage::Reply(Reply { sequence: 7, answer });
    let event = |kind, ticks| Event { kind, ticks };
    let batch = Batch {
        number: 3,
        lost: 0,
        start: 1_000_000,
        events: [
            event(EventKind::Begun(7), 0),
            event(EventKind::Timing, 0),
            event(EventKind::CoilOn, 8_000),
            event(EventKind::Second, 9_333),
            event(EventKind::CoilOff, 500),
        ]
        .into_iter()
        .collect(),
    };
    let messages = [
        ("Reply: accepted", reply(Answer::Accepted)),
        ("Reply: refused, no pattern", reply(Answer::Refused(Refusal::NoPattern))),
        ("Reply: greeting of a stimulator", reply(Answer::Greeting(greeting(stimulator)))),
        ("Reply: greeting of an ignition", reply(Answer::Greeting(greeting(Role::Ignition)))),
        ("Events: five", BoardMessage::Events(batch)),
        ("Unreadable: checksum", BoardMessage::Unreadable(FrameFault::Checksum)),
        ("Unreadable: newer protocol 2", BoardMessage::Unreadable(FrameFault::NewerProtocol(2))),
    ];
    for (name, message) in messages {
        check(name, &message);
    }
}

#[test]
fn messages_of_an_ignition() {
    for (name, message) in [
        ("Ignition: how it stands", IgnitionMessage::Stand),
        ("Ignition: read from place 16", IgnitionMessage::Read(16)),
        ("Ignition: write four bytes at place 300", IgnitionMessage::Write(Piece::of(300, b"BOBW"))),
        ("Ignition: commit", IgnitionMessage::Commit),
    ] {
        check(name, &IgnitionRequest { sequence: 7, message });
    }
    // The first message is that of every board, to the byte.
    let identify = Frame::of(&IgnitionRequest { sequence: 7, message: IgnitionMessage::Identify }).unwrap();
    assert_eq!(identify.as_bytes(), row("Identify", identify.as_bytes()));
    let stored = StoredImage { length: 114, checksum: 0xdead_beef, generation: 3 };
    let standing = Standing { turns: false, newest_version: 1, stored: Some(stored), works_by: Some(0xcafe) };
    for (name, answer) in [
        ("Ignition: accepted", IgnitionAnswer::Accepted),
        ("Ignition: refused, it turns", IgnitionAnswer::Refused(IgnitionRefusal::Turns)),
        ("Ignition: stands, 114 bytes, three writes before", IgnitionAnswer::Standing(standing)),
        (
            "Ignition: stands without a curve",
            IgnitionAnswer::Standing(Standing { turns: true, newest_version: 1, stored: None, works_by: None }),
        ),
        ("Ignition: a piece from place 16", IgnitionAnswer::Piece(Piece::of(16, &[0, 8, 255]))),
    ] {
        check(name, &FromIgnition::Reply(IgnitionReply { sequence: 7, answer }));
    }
}

/// A board reads requests into 32 bytes.
#[test]
fn the_longest_request_to_an_ignition_fits_a_board() {
    let message = IgnitionMessage::Write(Piece::of(u16::MAX, &[0xff; LARGEST_PIECE]));
    let frame = Frame::of(&IgnitionRequest { sequence: u8::MAX, message }).unwrap();
    assert!(frame.as_bytes().len() <= LARGEST_REQUEST, "{}", frame.as_bytes().len());
    let mut decoder = RequestDecoder::new();
    let said: Vec<_> = frame.as_bytes().iter().filter_map(|&byte| decoder.push::<IgnitionRequest>(byte)).collect();
    assert_eq!(said, [Ok(IgnitionRequest { sequence: u8::MAX, message })]);
}
