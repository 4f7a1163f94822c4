//! The host's side of the wire.

use std::collections::VecDeque;
use std::io::{ErrorKind, Read, Write};
use std::time::{Duration, Instant};

use bobweight_wire::{
    Abilities, Answer, Batch, BoardMessage, Decoder, EventKind, Frame, FrameFault, Greeting, HostMessage, Reply,
    Request, Role,
};

use super::LinkError;
use crate::interrupt::Interrupt;

/// How often a board is asked who it is: one that restarts when its serial port is opened misses the first time.
const GREETINGS: u32 = 4;

/// A stimulator rests after two seconds of silence; this leaves room for a stream's own patience of one second.
const KEEP_ALIVE: Duration = Duration::from_millis(500);

/// So many patiences of the stream pass in silence before a board is given up: a machine that is busy with other things may
/// hold up the driver of the serial port, or a simulated board, for longer than one.
const PATIENCES: u32 = 3;

/// A message is answered at once; a board that only sends events for this long does not answer.
const ANSWER: Duration = Duration::from_secs(3);

/// One event of the stimulator.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Event {
    /// What happened.
    pub kind: EventKind,
    /// When, in ticks of the stimulator's clock since some moment before the first event, not wrapped.
    pub at: u64,
}

/// A link to a stimulator over any stream of bytes.
///
/// A read of the stream has a patience of its own, a second or so: it ends with `TimedOut` or `WouldBlock` when nothing came for
/// that long. The link keeps the host's sign of life going while events are read; whoever pauses longer than a second while the
/// crank turns calls [`keep_alive`](Self::keep_alive).
///
/// Before each message and each read it looks whether somebody [interrupted](Self::heed): then it stops the outputs, and this and
/// every later call ends with [`LinkError::Interrupted`].
#[derive(Debug)]
pub struct Link<S: Read + Write> {
    stream: S,
    place: String,
    decoder: Decoder,
    greeting: Greeting,
    abilities: Abilities,
    sequence: u8,
    /// Signs of life whose replies are still to come.
    unanswered: VecDeque<u8>,
    /// Questions who it is whose greetings are still to come: one that restarts when its port is opened may answer several.
    greetings: VecDeque<u8>,
    interrupt: Interrupt,
    /// Whether the outputs are being stopped because of an interrupt, and whether the board confirmed it.
    stopping: bool,
    stopped: Option<bool>,
    events: VecDeque<Result<Event, Option<u8>>>,
    next_batch: Option<u8>,
    now: u64,
    sent_at_ticks: u64,
    sent_at: Instant,
    received: VecDeque<u8>,
}

impl<S: Read + Write> Link<S> {
    /// Greets the board at the other end; `place` names the link in every error.
    pub fn open(stream: S, place: impl Into<String>) -> Result<Self, LinkError> {
        Self::open_heeding(stream, place, &Interrupt::default())
    }

    /// As [`open`](Self::open), and heeds an interrupt from the first read on.
    pub fn open_heeding(stream: S, place: impl Into<String>, interrupt: &Interrupt) -> Result<Self, LinkError> {
        let nobody = Greeting {
            firmware: bobweight_wire::FirmwareVersion { major: 0, minor: 0, patch: 0 },
            tick_rate_hz: 1,
            clock_tolerance_ppm: 0,
            role: Role::Ignition,
        };
        let mut link = Self {
            stream,
            place: place.into(),
            decoder: Decoder::new(),
            greeting: nobody,
            abilities: Abilities {
                shortest_interval: 0,
                shortest_pulse: 0,
                shortest_pulse_in_ramp: 0,
                shortest_pulse_cranking: 0,
                depression_step: 0,
                throttle: false,
            },
            sequence: 0,
            unanswered: VecDeque::new(),
            greetings: VecDeque::new(),
            interrupt: interrupt.clone(),
            stopping: false,
            stopped: None,
            events: VecDeque::new(),
            next_batch: None,
            now: 0,
            sent_at_ticks: 0,
            sent_at: Instant::now(),
            received: VecDeque::new(),
        };
        link.greeting = link.greet()?;
        match link.greeting.role {
            Role::Stimulator(abilities) => link.abilities = abilities,
            Role::Ignition => return Err(LinkError::Ignition { place: link.place }),
        }
        // What a former user left going must not go on.
        link.request(HostMessage::Stop)?;
        link.events.clear();
        Ok(link)
    }

    /// Looks for this interrupt before each read from now on.
    pub fn heed(&mut self, interrupt: &Interrupt) {
        self.interrupt = interrupt.clone();
    }

    /// What the board said of itself.
    pub fn greeting(&self) -> &Greeting {
        &self.greeting
    }

    /// What the stimulator can do.
    pub fn abilities(&self) -> Abilities {
        self.abilities
    }

    /// Length of the stimulator's tick in seconds.
    pub fn tick_seconds(&self) -> f64 {
        1.0 / f64::from(self.greeting.tick_rate_hz)
    }

    /// Time of the last event, in ticks as in [`Event::at`].
    pub fn now(&self) -> u64 {
        self.now
    }

    /// The name of the link.
    pub fn place(&self) -> &str {
        &self.place
    }

    /// The stream underneath.
    pub fn stream(&self) -> &S {
        &self.stream
    }

    /// Asks for something and waits until it is accepted; gives the message's number, which the event `Begun` repeats.
    pub fn request(&mut self, message: HostMessage) -> Result<u8, LinkError> {
        let sequence = self.send(message)?;
        match self.answer(sequence)? {
            Answer::Refused(refusal) => Err(LinkError::Refused { place: self.place.clone(), asked: message, refusal }),
            Answer::Greeting(_) if message != HostMessage::Identify => Err(self.restarted()),
            Answer::Accepted | Answer::Greeting(_) => Ok(sequence),
        }
    }

    /// The next event of a crank that turns. `EventsLost` says that some are missing before the next one; every other error ends
    /// the link.
    pub fn next_event(&mut self) -> Result<Event, LinkError> {
        self.next_event_within(PATIENCES * ANSWER)?.ok_or_else(|| LinkError::Stands { place: self.place.clone() })
    }

    /// As [`next_event`](Self::next_event); none where none came for so long.
    pub fn next_event_within(&mut self, longest: Duration) -> Result<Option<Event>, LinkError> {
        let (asked, mut silences, mut answers) = (Instant::now(), 0, false);
        loop {
            if let Some(event) = self.events.pop_front() {
                let lost = |count| LinkError::EventsLost { place: self.place.clone(), count };
                return event.map(Some).map_err(lost);
            }
            self.keep_alive_in_time()?;
            match self.receive()? {
                Some(BoardMessage::Events(batch)) => {
                    self.take_batch(&batch);
                    continue;
                }
                Some(BoardMessage::Reply(reply)) => {
                    self.take_stray(reply)?;
                    answers = true;
                }
                Some(BoardMessage::Unreadable(fault)) => return Err(self.unreadable(fault)),
                None => silences += 1,
            }
            if silences == PATIENCES {
                let place = self.place.clone();
                return Err(if answers { LinkError::Stands { place } } else { LinkError::Silent { place } });
            }
            if asked.elapsed() >= longest {
                return Ok(None);
            }
        }
    }

    /// The events from now on, without an end: it is for the reader to stop at the one it waits for.
    pub fn events(&mut self) -> impl Iterator<Item = Result<Event, LinkError>> + '_ {
        std::iter::from_fn(move || Some(self.next_event()))
    }

    /// Says that the host is there.
    pub fn keep_alive(&mut self) -> Result<(), LinkError> {
        let sequence = self.send(HostMessage::KeepAlive)?;
        self.unanswered.push_back(sequence);
        Ok(())
    }

    /// Stops the crank without waiting for an answer: for a link that has failed already and may still carry this.
    pub fn abandon(&mut self) {
        // The stimulator stops by itself after two seconds of silence.
        let _ = self.send(HostMessage::Stop);
    }

    /// Stops the crank and lets it stand, in whole seconds of the stream's patience, so that an ignition sees that it has stopped.
    /// Events of that time are thrown away.
    pub fn stand_still(&mut self, time: Duration) -> Result<(), LinkError> {
        self.request(HostMessage::Stop)?;
        // A read of nothing takes the stream's own patience, a second by its own clock.
        let mut left = time.as_secs() + u64::from(time.subsec_nanos() > 0);
        while left > 0 {
            match self.receive()? {
                None => left -= 1,
                Some(BoardMessage::Reply(reply)) => self.take_stray(reply)?,
                Some(_) => {}
            }
        }
        self.next_batch = None;
        self.events.clear();
        Ok(())
    }

    fn greet(&mut self) -> Result<Greeting, LinkError> {
        let mut heard = None;
        // A zero byte cuts off what a restart left behind at the other end.
        self.write(&[0])?;
        for _ in 0..GREETINGS {
            let sequence = self.send(HostMessage::Identify)?;
            self.greetings.push_back(sequence);
            let asked = Instant::now();
            while asked.elapsed() < ANSWER {
                match self.next_message()? {
                    None => break,
                    Some(Ok(BoardMessage::Reply(Reply { sequence, answer: Answer::Greeting(greeting) }))) => {
                        self.greetings.retain(|waiting| *waiting != sequence);
                        return Ok(greeting);
                    }
                    Some(Err(FrameFault::NewerProtocol(theirs))) => {
                        return Err(LinkError::UpdateHost { place: self.place.clone(), theirs });
                    }
                    Some(Err(FrameFault::OlderProtocol(theirs))) => {
                        return Err(LinkError::UpdateBoard { place: self.place.clone(), theirs });
                    }
                    Some(Err(fault)) => heard = Some(fault),
                    Some(Ok(_)) => {}
                }
            }
        }
        Err(LinkError::NotAStimulator { place: self.place.clone(), heard })
    }

    fn answer(&mut self, sequence: u8) -> Result<Answer, LinkError> {
        let asked = Instant::now();
        while asked.elapsed() < ANSWER {
            match self.receive_patiently()? {
                Some(BoardMessage::Reply(reply)) if reply.sequence == sequence => return Ok(reply.answer),
                Some(BoardMessage::Reply(reply)) => self.take_stray(reply)?,
                Some(BoardMessage::Events(batch)) => self.take_batch(&batch),
                Some(BoardMessage::Unreadable(fault)) => return Err(self.unreadable(fault)),
                None => break,
            }
        }
        Err(self.silent())
    }

    fn take_stray(&mut self, reply: Reply) -> Result<(), LinkError> {
        let greets = matches!(reply.answer, Answer::Greeting(_));
        let waiting = if greets { &mut self.greetings } else { &mut self.unanswered };
        match waiting.iter().position(|waiting| *waiting == reply.sequence) {
            Some(at) => {
                waiting.remove(at);
                Ok(())
            }
            None if greets => Err(self.restarted()),
            None => Err(LinkError::OutOfTurn { place: self.place.clone() }),
        }
    }

    /// Stops the outputs once somebody has interrupted.
    fn heed_interrupt(&mut self) -> Result<(), LinkError> {
        if self.stopping || !self.interrupt.asked() {
            return Ok(());
        }
        let stopped = self.stopped.unwrap_or_else(|| {
            self.stopping = true;
            let stopped = self.confirmed_stop();
            self.stopping = false;
            stopped
        });
        self.stopped = Some(stopped);
        Err(LinkError::Interrupted { place: self.place.clone(), stopped })
    }

    /// Whether the board says that it has stopped, asked once and waited for as long as a read waits.
    fn confirmed_stop(&mut self) -> bool {
        let Ok(sequence) = self.send(HostMessage::Stop) else { return false };
        let asked = Instant::now();
        while asked.elapsed() < ANSWER {
            match self.next_message() {
                Ok(Some(Ok(BoardMessage::Reply(reply)))) if reply.sequence == sequence => {
                    return reply.answer == Answer::Accepted;
                }
                // What was on its way before.
                Ok(Some(_)) => {}
                Ok(None) | Err(_) => return false,
            }
        }
        false
    }

    fn take_batch(&mut self, batch: &Batch) {
        let expected = self.next_batch.replace(batch.number.wrapping_add(1));
        if expected.is_some_and(|number| number != batch.number) {
            self.events.push_back(Err(None));
        } else if batch.lost > 0 {
            self.events.push_back(Err(Some(batch.lost)));
        }
        // The lower 32 bits of `now` follow the board's clock.
        let [low, _] = halves(self.now);
        let mut at = self.now + u64::from(batch.start.wrapping_sub(low));
        for event in &batch.events {
            at += u64::from(event.ticks);
            self.events.push_back(Ok(Event { kind: event.kind, at }));
        }
        self.now = at;
    }

    fn keep_alive_in_time(&mut self) -> Result<(), LinkError> {
        // A simulated bench runs ahead of any other clock: its own ticks count as well.
        let ticks = u64::from(self.greeting.tick_rate_hz / 2);
        if self.sent_at.elapsed() >= KEEP_ALIVE || self.now.saturating_sub(self.sent_at_ticks) >= ticks {
            self.keep_alive()?;
        }
        Ok(())
    }

    fn send(&mut self, message: HostMessage) -> Result<u8, LinkError> {
        // Once the outputs are stopped nothing may move them again.
        self.heed_interrupt()?;
        self.sequence = self.sequence.wrapping_add(1);
        let request = Request { sequence: self.sequence, message };
        let frame = Frame::of(&request).map_err(|fault| self.unreadable(fault))?;
        self.write(frame.as_bytes())?;
        self.sent_at = Instant::now();
        self.sent_at_ticks = self.now;
        Ok(self.sequence)
    }

    fn write(&mut self, bytes: &[u8]) -> Result<(), LinkError> {
        let written = self.stream.write_all(bytes).and_then(|()| self.stream.flush());
        written.map_err(|cause| LinkError::Broken { place: self.place.clone(), cause })
    }

    /// The next message; `None` when nothing came for the stream's patience, or bytes without the end of a message for longer
    /// than any message takes.
    fn receive(&mut self) -> Result<Option<BoardMessage>, LinkError> {
        match self.next_message()? {
            None => Ok(None),
            Some(Ok(message)) => Ok(Some(message)),
            Some(Err(fault)) => Err(LinkError::Damaged { place: self.place.clone(), fault }),
        }
    }

    /// As [`receive`](Self::receive), with as many patiences as a board has before it is given up.
    fn receive_patiently(&mut self) -> Result<Option<BoardMessage>, LinkError> {
        for _ in 0..PATIENCES {
            self.keep_alive_in_time()?;
            if let Some(message) = self.receive()? {
                return Ok(Some(message));
            }
        }
        Ok(None)
    }

    fn next_message(&mut self) -> Result<Option<Result<BoardMessage, FrameFault>>, LinkError> {
        let begun = Instant::now();
        loop {
            while let Some(byte) = self.received.pop_front() {
                if let Some(message) = self.decoder.push(byte) {
                    return Ok(Some(message));
                }
            }
            if begun.elapsed() >= ANSWER {
                return Ok(None);
            }
            self.heed_interrupt()?;
            let mut buffer = [0; 256];
            match self.stream.read(&mut buffer) {
                Ok(0) => {
                    let cause = ErrorKind::UnexpectedEof.into();
                    return Err(LinkError::Broken { place: self.place.clone(), cause });
                }
                Ok(length) => self.received.extend(&buffer[..length]),
                Err(error) if matches!(error.kind(), ErrorKind::TimedOut | ErrorKind::WouldBlock) => return Ok(None),
                Err(error) if error.kind() == ErrorKind::Interrupted => {}
                Err(cause) => return Err(LinkError::Broken { place: self.place.clone(), cause }),
            }
        }
    }

    pub(crate) fn restarted(&self) -> LinkError {
        LinkError::Restarted { place: self.place.clone() }
    }

    fn silent(&self) -> LinkError {
        LinkError::Silent { place: self.place.clone() }
    }

    fn unreadable(&self, fault: FrameFault) -> LinkError {
        LinkError::Unreadable { place: self.place.clone(), fault }
    }
}

/// Low and high half of a time.
fn halves(ticks: u64) -> [u32; 2] {
    let [a, b, c, d, e, f, g, h] = ticks.to_le_bytes();
    [u32::from_le_bytes([a, b, c, d]), u32::from_le_bytes([e, f, g, h])]
}
