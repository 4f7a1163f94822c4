//! Messages in, orders and events out.

use bobweight_wire::{
    Abilities, Answer, Batch, CrankSpeed, EventKind, FirmwareVersion, Greeting, HostMessage, Intake, Refusal, Reply,
    Request, Role, RunLength, TimingEdge,
};

use crate::log::Log;
use crate::order::{Flank, FlankOrder, Passage};
use crate::train::{Pulse, Train};

/// What a board is and can do.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Settings {
    /// Version of the firmware.
    pub firmware: FirmwareVersion,
    /// Ticks in a second, [`LEAST_TICK_RATE`](Self::LEAST_TICK_RATE) to [`GREATEST_TICK_RATE`](Self::GREATEST_TICK_RATE).
    pub tick_rate_hz: u32,
    /// How far the clock may be out either way, in parts per million.
    pub clock_tolerance_ppm: u32,
    /// What the board can do.
    pub abilities: Abilities,
}

impl Settings {
    /// 1 kHz.
    pub const LEAST_TICK_RATE: u32 = 1_000;
    /// 200 MHz.
    pub const GREATEST_TICK_RATE: u32 = 200_000_000;
}

/// An edge of the coil's current.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CoilEdge {
    /// Switched on.
    On,
    /// Switched off: a spark.
    Off,
}

/// What the board's outputs show. The pickup's wire shows the last flank passed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Outputs {
    /// Whether the pickup's wire is high.
    pub pickup_high: bool,
    /// Depression and throttle.
    pub intake: Intake,
}

/// A run that counts.
#[derive(Debug)]
pub(crate) struct Run {
    pub(crate) sequence: u8,
    pub(crate) length: RunLength,
    /// Sparks or pulses to come.
    pub(crate) left: u32,
    /// Whether the flank at which cycles begin to count has passed.
    pub(crate) begun: bool,
}

/// The logic of a stimulator. Time is the caller's: `now` counts ticks, wraps, and is handed in by every call.
///
/// The caller puts [`next_flank`](Self::next_flank) into a compare register, calls [`passed`](Self::passed) when it has come
/// and [`coil`](Self::coil) at every edge of the coil, in the order of time; and from its main loop
/// [`message`](Self::message), [`poll`](Self::poll) and [`events`](Self::events), at least ten times a second.
#[derive(Debug)]
pub struct Stimulator {
    pub(crate) settings: Settings,
    train: Train,
    pub(crate) timing_edge: TimingEdge,
    waiting: Option<Passage>,
    prepared: Option<Passage>,
    /// The pickup's level after the last flank passed, and after the last one worked out.
    pub(crate) active: bool,
    active_ahead: bool,
    pub(crate) intake: Intake,
    pub(crate) log: Log,
    pub(crate) run: Option<Run>,
    /// When the host was last heard; `None` while it is taken to be gone.
    heard: Option<u32>,
}

impl Stimulator {
    /// A crank that stands still, outputs at rest. `None` for a tick rate out of range.
    pub const fn new(settings: Settings) -> Option<Self> {
        let tick_rate = settings.tick_rate_hz;
        if tick_rate < Settings::LEAST_TICK_RATE || tick_rate > Settings::GREATEST_TICK_RATE {
            return None;
        }
        Some(Self {
            settings,
            train: Train::new(),
            timing_edge: TimingEdge::Rising,
            waiting: None,
            prepared: None,
            active: false,
            active_ahead: false,
            intake: Intake::AT_REST,
            log: Log::new(),
            run: None,
            heard: None,
        })
    }

    /// Does what a message asks, or says why not; then crank and outputs stop, since the two sides do not agree on what turns.
    ///
    /// Afterwards the caller looks at [`outputs`](Self::outputs) and [`next_flank`](Self::next_flank) anew: a stop takes the
    /// order that waited away.
    #[inline(never)]
    pub fn message(&mut self, request: &Request, now: u32) -> Reply {
        self.heard = Some(now);
        let done = match request.message {
            HostMessage::Identify => return reply(request, Answer::Greeting(self.greeting())),
            HostMessage::KeepAlive => Ok(()),
            HostMessage::Stop => {
                self.rest(EventKind::Stopped, now);
                Ok(())
            }
            HostMessage::Pattern(pattern) => self.set_pattern(&pattern),
            HostMessage::Speed(speed) => self.set_speed(request.sequence, speed, now),
            HostMessage::Ramp(ramp) => self.set_ramp(request.sequence, ramp, now),
            HostMessage::Crank(pattern) => self.set_cranking(request.sequence, pattern, now),
            HostMessage::Halt(halt) => self.set_halt(request.sequence, halt),
            HostMessage::Upset(upset) => self.set_upset(request.sequence, upset),
            HostMessage::Run(length) => self.set_run(request.sequence, length),
            HostMessage::Intake(intake) => self.set_intake(intake),
        };
        let answer = match done {
            Ok(()) => Answer::Accepted,
            Err(refusal) => {
                self.rest(EventKind::Stopped, now);
                Answer::Refused(refusal)
            }
        };
        reply(request, answer)
    }

    /// The flank whose time comes next, the same one until it has passed.
    pub fn next_flank(&mut self) -> Option<FlankOrder> {
        if self.waiting.is_none() {
            if self.prepared.is_none() {
                self.prepared = self.work_out();
            }
            self.waiting = self.prepared.take();
        }
        self.waiting.as_ref().map(|passage| passage.order)
    }

    /// The flank after the next, once [`poll`](Self::poll) has worked it out: a board whose flanks follow each other faster than
    /// its main loop comes round puts it behind the next one.
    pub fn flank_after(&self) -> Option<FlankOrder> {
        if self.waiting.is_none() { None } else { self.prepared.as_ref().map(|passage| passage.order) }
    }

    /// The board lost so many events before it could hand them over: the next batch says so.
    pub fn lost(&mut self, events: u8) {
        self.log.lose(events);
    }

    /// The flank that was ordered has come.
    pub fn passed(&mut self) {
        let Some(passage) = self.waiting.take() else {
            return;
        };
        let at = passage.order.at;
        if let Some(flank) = passage.order.flank {
            self.active = flank == Flank::Timing;
        }
        if passage.ramp_ended {
            self.log.record(EventKind::RampEnded, at);
        }
        for sequence in [passage.motion, passage.upset].into_iter().flatten() {
            self.log.record(EventKind::Begun(sequence), at);
        }
        if passage.begins_pulse() {
            self.count_pulse(at);
        }
        if let Some(kind) = passage.kind {
            self.log.record(kind, at);
        }
    }

    /// The coil's current was switched.
    pub fn coil(&mut self, edge: CoilEdge, at: u32) {
        self.log.record(if edge == CoilEdge::On { EventKind::CoilOn } else { EventKind::CoilOff }, at);
        let Some(Run { length: RunLength::Sparks(_), left, .. }) = &mut self.run else {
            return;
        };
        if edge == CoilEdge::Off {
            *left -= 1;
            if *left == 0 {
                self.finish(at);
            }
        }
    }

    /// Prepares the flank after the next, marks the time, and puts the outputs to rest if the host was silent for two seconds:
    /// then, as after a stop, the caller looks at outputs and orders anew.
    pub fn poll(&mut self, now: u32) {
        let rate = self.settings.tick_rate_hz;
        if self.heard.is_some_and(|heard| now.wrapping_sub(heard) >= 2 * rate) {
            self.heard = None;
            self.rest(EventKind::HostSilent, now);
        }
        if !self.turning() {
            return;
        }
        self.next_flank();
        if self.prepared.is_none() {
            self.prepared = self.work_out();
        }
        if self.log.quiet_for(now) >= rate >> 1 {
            self.log.record(EventKind::TimeMark, now);
        }
    }

    /// Events to send, if a batch is nearly full, has news or is a sixteenth of a second old. Each batch is given once, and lies
    /// where it is until the next event.
    pub fn events(&mut self, now: u32) -> Option<&Batch> {
        self.log.take(now, self.settings.tick_rate_hz >> 4)
    }

    /// What the outputs show.
    pub const fn outputs(&self) -> Outputs {
        Outputs { pickup_high: self.active == self.active_high(), intake: self.intake }
    }

    /// Whether the pickup's wire is high while the pickup is active, from its timing flank to its second.
    pub const fn active_high(&self) -> bool {
        matches!(self.timing_edge, TimingEdge::Rising)
    }

    /// Whether the crank turns, or a flank is still to come.
    pub fn turning(&self) -> bool {
        self.waiting.is_some() || self.prepared.is_some() || self.train.turning()
    }

    fn greeting(&self) -> Greeting {
        Greeting {
            firmware: self.settings.firmware,
            tick_rate_hz: self.settings.tick_rate_hz,
            clock_tolerance_ppm: self.settings.clock_tolerance_ppm,
            role: Role::Stimulator(self.settings.abilities),
        }
    }

    fn work_out(&mut self) -> Option<Passage> {
        let passage = self.train.next(self.settings.tick_rate_hz, self.active_ahead)?;
        if let Some(flank) = passage.order.flank {
            self.active_ahead = flank == Flank::Timing;
        }
        Some(passage)
    }

    /// Stops the crank where it is and puts depression and throttle to rest. The pickup keeps its level: a change would be an edge.
    fn rest(&mut self, event: EventKind, now: u32) {
        if self.turning() {
            self.log.record(event, now);
        }
        self.train.stop();
        self.waiting = None;
        self.prepared = None;
        self.active_ahead = self.active;
        self.intake = Intake::AT_REST;
        self.run = None;
    }

    /// The crank, once it has a pattern.
    pub(crate) fn train(&self) -> Result<&Train, Refusal> {
        if self.train.has_pattern() { Ok(&self.train) } else { Err(Refusal::NoPattern) }
    }

    /// Likewise, to change it.
    pub(crate) fn train_mut(&mut self) -> Result<&mut Train, Refusal> {
        if self.train.has_pattern() { Ok(&mut self.train) } else { Err(Refusal::NoPattern) }
    }

    /// Takes a pattern for a crank that stands still.
    pub(crate) fn take_pattern(&mut self, pulse: Pulse) {
        self.train.stop();
        self.train.pulse = pulse;
    }

    /// The pickup's wire goes to its idle level: a new pattern begins there.
    pub(crate) fn set_idle(&mut self) {
        self.active = false;
        self.active_ahead = false;
    }

    fn count_pulse(&mut self, at: u32) {
        let Some(run) = &mut self.run else { return };
        if !matches!(run.length, RunLength::Cycles(_)) {
            return;
        }
        if run.begun {
            run.left -= 1;
            if run.left == 0 {
                self.finish(at);
            }
        } else {
            run.begun = true;
            self.log.record(EventKind::Begun(run.sequence), at);
        }
    }

    fn finish(&mut self, at: u32) {
        self.run = None;
        self.log.record(EventKind::Finished, at);
    }
}

fn reply(request: &Request, answer: Answer) -> Reply {
    Reply { sequence: request.sequence, answer }
}

/// Whether a speed is one that turns.
pub(crate) fn turns(speed: CrankSpeed) -> bool {
    (CrankSpeed::LEAST..=CrankSpeed::GREATEST).contains(&speed)
}
