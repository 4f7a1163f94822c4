//! A link to boards that do not behave.

use std::collections::VecDeque;
use std::io::{Error, ErrorKind, Read, Result as IoResult, Write};

use bobweight_wire::{
    Abilities, Answer, Batch, BoardMessage, CrankSpeed, Decoder, Event as WireEvent, EventKind, FirmwareVersion, Frame,
    FrameFault, Greeting, HostMessage, PROTOCOL, Refusal, Reply, Request, Role,
};

use super::*;
use crate::interrupt::Interrupt;

/// A board that answers by a rule of the test.
struct Board<F> {
    decoder: Decoder,
    answer: F,
    outbound: VecDeque<u8>,
}

impl<F: FnMut(&Request) -> Vec<Vec<u8>>> Board<F> {
    fn new(answer: F) -> Self {
        Self { decoder: Decoder::new(), answer, outbound: VecDeque::new() }
    }

    fn open(answer: F) -> Result<Link<Self>, LinkError> {
        Link::open(Self::new(answer), "the test's board")
    }
}

impl<F> Read for Board<F> {
    fn read(&mut self, buffer: &mut [u8]) -> IoResult<usize> {
        if self.outbound.is_empty() {
            return Err(Error::from(ErrorKind::TimedOut));
        }
        self.outbound.read(buffer)
    }
}

impl<F: FnMut(&Request) -> Vec<Vec<u8>>> Write for Board<F> {
    fn write(&mut self, bytes: &[u8]) -> IoResult<usize> {
        for &byte in bytes {
            if let Some(Ok(request)) = self.decoder.push::<Request>(byte) {
                self.outbound.extend((self.answer)(&request).into_iter().flatten());
            }
        }
        Ok(bytes.len())
    }

    fn flush(&mut self) -> IoResult<()> {
        Ok(())
    }
}

fn bytes(message: &BoardMessage) -> Vec<u8> {
    Frame::of(message).unwrap().as_bytes().to_vec()
}

fn reply(request: &Request, answer: Answer) -> Vec<u8> {
    bytes(&BoardMessage::Reply(Reply { sequence: request.sequence, answer }))
}

fn greeting(role: Role) -> Answer {
    Answer::Greeting(Greeting {
        firmware: FirmwareVersion { major: 1, minor: 2, patch: 3 },
        tick_rate_hz: 2_000_000,
        clock_tolerance_ppm: 5000,
        role,
    })
}

const STIMULATOR: Role = Role::Stimulator(Abilities {
    shortest_interval: 80,
    shortest_pulse: 80,
    shortest_pulse_in_ramp: 80,
    shortest_pulse_cranking: 80,
    depression_step: 64,
    throttle: true,
});

/// Greets as a stimulator and accepts everything.
fn willing(request: &Request) -> Vec<u8> {
    match request.message {
        HostMessage::Identify => reply(request, greeting(STIMULATOR)),
        _ => reply(request, Answer::Accepted),
    }
}

fn batch(number: u8, lost: u8, start: u32, ticks: &[u32]) -> Vec<u8> {
    let events = ticks.iter().map(|&ticks| WireEvent { kind: EventKind::CoilOff, ticks }).collect();
    bytes(&BoardMessage::Events(Batch { number, lost, start, events }))
}

#[test]
fn a_greeting_tells_the_board() {
    let link = Board::open(|request| vec![willing(request)]).unwrap();
    assert_eq!(link.greeting().firmware, FirmwareVersion { major: 1, minor: 2, patch: 3 });
    assert_eq!(link.abilities().depression_step, 64);
    assert!((link.tick_seconds() - 5e-7).abs() < 1e-20);
}

#[test]
fn a_board_that_restarts_is_asked_again() {
    let mut restarting = 2;
    let link = Board::open(move |request| {
        if restarting > 0 {
            restarting -= 1;
            return vec![b"boot\0".to_vec()];
        }
        vec![willing(request)]
    });
    assert!(link.is_ok(), "{:?}", link.err());
}

#[test]
fn each_wrong_board_has_its_own_error() {
    let silent = Board::open(|_| vec![]).err().unwrap();
    assert!(matches!(silent, LinkError::NotAStimulator { heard: None, .. }), "{silent:?}");

    let chatter = Board::open(|_| vec![b"hello, what do you want of me?\r\n\0".to_vec()]).err().unwrap();
    assert!(matches!(chatter, LinkError::NotAStimulator { heard: Some(_), .. }), "{chatter:?}");

    let ignition = Board::open(|request| vec![reply(request, greeting(Role::Ignition))]).err().unwrap();
    assert!(ignition.to_string().contains("this is an ignition"), "{ignition}");
}

/// Sends without an end and without a zero.
struct Babble;

impl Read for Babble {
    fn read(&mut self, buffer: &mut [u8]) -> IoResult<usize> {
        std::thread::sleep(std::time::Duration::from_millis(50));
        buffer.fill(b'U');
        Ok(buffer.len())
    }
}

impl Write for Babble {
    fn write(&mut self, bytes: &[u8]) -> IoResult<usize> {
        Ok(bytes.len())
    }

    fn flush(&mut self) -> IoResult<()> {
        Ok(())
    }
}

#[test]
fn whoever_never_ends_a_frame_is_not_waited_for() {
    let error = Link::open(Babble, "the test's board").err().unwrap();
    assert!(matches!(error, LinkError::NotAStimulator { .. }), "{error:?}");
}

#[test]
fn an_abandoned_link_says_stop_and_waits_for_nothing() {
    let asked = std::rc::Rc::new(std::cell::RefCell::new(Vec::new()));
    let hears = std::rc::Rc::clone(&asked);
    let mut link = Board::open(move |request| {
        hears.borrow_mut().push(request.message);
        vec![willing(request)]
    })
    .unwrap();
    asked.borrow_mut().clear();
    link.abandon();
    assert_eq!(*asked.borrow(), [HostMessage::Stop]);
}

/// An interrupt comes while a speed is asked for; what is said of it, and what the board is asked from then on.
fn interrupted(then: impl Fn(&Request) -> Vec<Vec<u8>>) -> (LinkError, Vec<HostMessage>) {
    let (interrupt, asked) = (Interrupt::default(), std::rc::Rc::new(std::cell::RefCell::new(Vec::new())));
    let (somebody, hears) = (interrupt.clone(), std::rc::Rc::clone(&asked));
    let board = Board::new(move |request| {
        if matches!(request.message, HostMessage::Speed(_)) {
            somebody.ask();
            return vec![willing(request)];
        }
        if !somebody.asked() {
            return vec![willing(request)];
        }
        hears.borrow_mut().push(request.message);
        then(request)
    });
    let mut link = Link::open_heeding(board, "the test's board", &interrupt).unwrap();
    let error = link.request(HostMessage::Speed(CrankSpeed(256_000))).unwrap_err();
    // Nothing moves the outputs again.
    let again = link.request(HostMessage::Speed(CrankSpeed(256_000))).unwrap_err();
    assert_eq!(again.to_string(), error.to_string());
    let asked = asked.borrow().clone();
    (error, asked)
}

#[test]
fn an_interrupt_stops_the_outputs_at_the_next_read_and_says_whether_they_rest() {
    let (error, asked) = interrupted(|request| vec![batch(0, 0, 0, &[0]), willing(request)]);
    assert!(matches!(error, LinkError::Interrupted { stopped: true, .. }), "{error:?}");
    assert_eq!(asked, [HostMessage::Stop]);
    let (error, asked) = interrupted(|_| vec![]);
    assert!(matches!(error, LinkError::Interrupted { stopped: false, .. }), "{error:?}");
    assert_eq!(asked, [HostMessage::Stop]);
    let said = error.to_string();
    assert!(
        said.contains("the test's board: the stimulator did not confirm") && said.contains("take its power"),
        "{said}"
    );
}

#[test]
fn an_interrupt_ends_the_search_for_a_stimulator() {
    let interrupt = Interrupt::default();
    interrupt.ask();
    let error = Link::open_heeding(Board::new(|_| vec![]), "the test's board", &interrupt).err().unwrap();
    assert!(matches!(error, LinkError::Interrupted { stopped: false, .. }), "{error:?}");
}

/// A board that restarts while its port is opened may answer each question who it is; later nobody asks.
#[test]
fn a_greeting_that_nobody_asked_for_is_a_restart() {
    let hello = |request: &Request, number| {
        vec![willing(request), reply(&Request { sequence: number, ..*request }, greeting(STIMULATOR))]
    };
    let mut first = true;
    let mut late = None;
    let mut link = Board::open(move |request| match request.message {
        HostMessage::Identify if std::mem::take(&mut first) => {
            late = Some(request.sequence);
            vec![]
        }
        HostMessage::Stop => hello(request, late.take().unwrap_or(0)),
        HostMessage::Speed(_) => hello(request, request.sequence.wrapping_sub(1)),
        _ => vec![willing(request)],
    })
    .unwrap();
    link.keep_alive().unwrap();
    link.request(HostMessage::KeepAlive).unwrap();
    link.keep_alive().unwrap();
    link.request(HostMessage::Speed(CrankSpeed(256_000))).unwrap();
    // Whatever number it has.
    let error = link.next_event().unwrap_err();
    assert!(matches!(error, LinkError::Restarted { .. }), "{error:?}");
    assert!(error.to_string().contains("restarted in the middle of the run"), "{error}");
}

/// A crank that turns says something twice a second: signs of life alone come from one that stands.
#[test]
fn answers_without_an_event_come_from_a_crank_that_stands() {
    let mut link = Board::open(|request| vec![willing(request)]).unwrap();
    link.request(HostMessage::Speed(CrankSpeed(256_000))).unwrap();
    link.keep_alive().unwrap();
    let error = link.next_event().unwrap_err();
    assert!(matches!(error, LinkError::Stands { .. }), "{error:?}");
    // Not even that is waited for once the time is over.
    link.keep_alive().unwrap();
    assert_eq!(link.next_event_within(std::time::Duration::ZERO).unwrap(), None);
}

/// A frame of another protocol, built by hand: version byte, a body nobody here can read, CRC-32, stuffing.
fn foreign(version: u8) -> Vec<u8> {
    let body = [version, 0x2a, 0x07];
    // Computed with zlib's crc32, for both versions used below.
    let sum: u32 = match version {
        2 => 0x0dca_54f7,
        0 => 0x0e4e_8099,
        other => panic!("no checksum for version {other}"),
    };
    let mut checked = body.to_vec();
    checked.extend_from_slice(&sum.to_le_bytes());
    let mut frame = Vec::new();
    for part in checked.split(|byte| *byte == 0) {
        frame.push(u8::try_from(part.len() + 1).unwrap());
        frame.extend_from_slice(part);
    }
    frame.push(0);
    frame
}

#[test]
fn another_protocol_says_which_side_to_update() {
    assert_eq!(PROTOCOL, 1, "the frames below are of the versions beside it");
    let newer = Board::open(|_| vec![foreign(2)]).err().unwrap();
    assert!(matches!(newer, LinkError::UpdateHost { theirs: 2, .. }), "{newer:?}");
    assert!(newer.to_string().contains("update this program"), "{newer}");
    let older = Board::open(|_| vec![foreign(0)]).err().unwrap();
    assert!(matches!(older, LinkError::UpdateBoard { theirs: 0, .. }), "{older:?}");
    assert!(older.to_string().contains("update the stimulator's firmware"), "{older}");
}

#[test]
fn a_refusal_names_its_reason() {
    let mut link = Board::open(|request| match request.message {
        HostMessage::Speed(_) => vec![reply(request, Answer::Refused(Refusal::NoPattern))],
        _ => vec![willing(request)],
    })
    .unwrap();
    let error = link.request(HostMessage::Speed(CrankSpeed(256_000))).unwrap_err();
    assert!(matches!(error, LinkError::Refused { refusal: Refusal::NoPattern, .. }), "{error:?}");
    assert!(error.to_string().contains("set it before the crank turns"), "{error}");
}

#[test]
fn damage_either_way_is_told_apart() {
    let mut spoil = false;
    let mut link = Board::open(move |request| {
        let mut answer = willing(request);
        if std::mem::replace(&mut spoil, matches!(request.message, HostMessage::Stop)) {
            // The version byte follows the overhead byte.
            answer[1] ^= 0x40;
        }
        vec![answer]
    })
    .unwrap();
    let error = link.request(HostMessage::KeepAlive).unwrap_err();
    assert!(matches!(error, LinkError::Damaged { fault: FrameFault::Checksum, .. }), "{error:?}");

    let mut link = Board::open(|request| match request.message {
        HostMessage::KeepAlive => vec![bytes(&BoardMessage::Unreadable(FrameFault::Stuffing))],
        _ => vec![willing(request)],
    })
    .unwrap();
    let error = link.request(HostMessage::KeepAlive).unwrap_err();
    assert!(matches!(error, LinkError::Unreadable { fault: FrameFault::Stuffing, .. }), "{error:?}");
}

#[test]
fn silence_and_strangers_end_the_link() {
    let mut link = Board::open(|request| match request.message {
        HostMessage::KeepAlive => vec![],
        _ => vec![willing(request)],
    })
    .unwrap();
    assert!(matches!(link.request(HostMessage::KeepAlive), Err(LinkError::Silent { .. })));

    let mut link = Board::open(|request| match request.message {
        HostMessage::KeepAlive => vec![reply(&Request { sequence: 200, ..*request }, Answer::Accepted)],
        _ => vec![willing(request)],
    })
    .unwrap();
    assert!(matches!(link.request(HostMessage::KeepAlive), Err(LinkError::OutOfTurn { .. })));
}

#[test]
fn times_go_on_when_the_clock_wraps() {
    let mut link = Board::open(|request| match request.message {
        HostMessage::Speed(_) => {
            vec![batch(7, 0, 0xffff_fff0, &[0, 10]), willing(request), batch(8, 0, 4, &[0, 0x8000_0000, 0x8000_0000])]
        }
        _ => vec![willing(request)],
    })
    .unwrap();
    link.request(HostMessage::Speed(CrankSpeed(256_000))).unwrap();
    let times: Vec<u64> = link.events().take(5).map(|event| event.unwrap().at).collect();
    let first = times[0];
    assert_eq!(times.iter().map(|at| at - first).collect::<Vec<_>>(), [0, 10, 20, 0x8000_0014, 0x1_0000_0014]);
}

#[test]
fn lost_events_and_lost_frames_are_said_where_they_are_missing() {
    let mut link = Board::open(|request| match request.message {
        HostMessage::Speed(_) => {
            vec![willing(request), batch(1, 0, 0, &[0]), batch(2, 9, 50, &[0]), batch(4, 0, 90, &[0])]
        }
        _ => vec![willing(request)],
    })
    .unwrap();
    link.request(HostMessage::Speed(CrankSpeed(256_000))).unwrap();
    assert!(link.next_event().is_ok());
    let counted = link.next_event().unwrap_err();
    assert!(matches!(counted, LinkError::EventsLost { count: Some(9), .. }), "{counted:?}");
    assert!(counted.to_string().contains("9 events or more"), "{counted}");
    assert!(link.next_event().is_ok());
    assert!(matches!(link.next_event(), Err(LinkError::EventsLost { count: None, .. })));
    assert!(link.next_event().is_ok(), "the link goes on");
    assert!(matches!(link.next_event(), Err(LinkError::Silent { .. })));
}

/// Half a second of the board's ticks without a message is the time for a sign of life.
#[test]
fn the_host_stays_heard_while_it_reads() {
    let (sender, alive) = std::sync::mpsc::channel();
    let mut number = 0;
    let mut link = Board::open(move |request| {
        let mut answers = vec![willing(request)];
        if matches!(request.message, HostMessage::KeepAlive | HostMessage::Speed(_)) {
            sender.send(request.message).unwrap();
            answers.push(batch(number, 0, u32::from(number) * 1_000_001, &[0]));
            number += 1;
            answers.push(batch(number, 0, u32::from(number) * 1_000_001, &[0]));
            number += 1;
        }
        answers
    })
    .unwrap();
    link.request(HostMessage::Speed(CrankSpeed(256_000))).unwrap();
    for event in link.events().take(20) {
        event.unwrap();
    }
    drop(link);
    let alive = alive.iter().filter(|message| *message == HostMessage::KeepAlive).count();
    assert!((17..=20).contains(&alive), "{alive} signs of life in ten seconds of ticks");
}

#[test]
fn what_is_no_serial_port_is_named() {
    let absent = serial::open("/dev/no-such-port", &Interrupt::default()).err().unwrap().to_string();
    assert!(absent.contains("/dev/no-such-port: there is no such serial port; plug the stimulator in"), "{absent}");
    let folder = serial::open("/", &Interrupt::default()).err().unwrap().to_string();
    assert!(folder.contains("this is a folder"), "{folder}");
    let file = serial::open("/dev/null", &Interrupt::default()).err().unwrap().to_string();
    assert!(file.contains("is it a serial port?"), "{file}");
}
