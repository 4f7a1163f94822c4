//! Drives a stimulator as a board does, with a clock of its own.
// Test figures are small and chosen; what a cast could lose is not there.
#![allow(clippy::cast_possible_truncation, clippy::cast_precision_loss, clippy::cast_sign_loss, clippy::float_cmp)]
// Each test file is a crate of its own and uses what it needs.
#![allow(dead_code)]

use bobweight_stimulator::wire::*;
use bobweight_stimulator::{CoilEdge, Flank, Settings, Stimulator};

pub const MEGAHERTZ: u32 = 1_000_000;

/// A board that can do everything, with flanks one tick apart if need be.
pub fn settings(tick_rate_hz: u32) -> Settings {
    Settings {
        firmware: FirmwareVersion { major: 0, minor: 1, patch: 0 },
        tick_rate_hz,
        clock_tolerance_ppm: 50,
        abilities: Abilities {
            shortest_interval: 1,
            shortest_pulse: 1,
            shortest_pulse_in_ramp: 1,
            shortest_pulse_cranking: 1,
            depression_step: 1,
            throttle: true,
        },
    }
}

pub fn rpm(speed: f64) -> CrankSpeed {
    CrankSpeed((speed * 256.0).round() as u32)
}

pub fn degrees(angle: f64) -> CrankAngle {
    CrankAngle((angle * 256.0).round() as i32)
}

pub fn rpm_per_second(rate: f64) -> Acceleration {
    Acceleration((rate * 256.0).round() as u32)
}

pub fn pattern(pulses: u8, timing: f64, second: Option<f64>) -> PickupPattern {
    PickupPattern {
        pulses_in_two_turns: pulses,
        timing: degrees(timing),
        second: second.map(degrees),
        timing_edge: TimingEdge::Rising,
    }
}

/// A bench with nothing but the stimulator and a clock that never wraps.
pub struct Bench {
    pub stimulator: Stimulator,
    pub now: u64,
    origin: u32,
    sequence: u8,
    pub events: Vec<(EventKind, u64)>,
    last_event: u64,
    /// Time of an imagined spark after each timing flank, in ticks.
    pub spark_after: Option<u64>,
    pub batches: Vec<Batch>,
}

impl Bench {
    pub fn new(tick_rate: u32) -> Self {
        Self::at(tick_rate, 0)
    }

    /// A bench whose board's clock shows `origin` at first.
    pub fn at(tick_rate: u32, origin: u32) -> Self {
        Self {
            stimulator: Stimulator::new(settings(tick_rate)).unwrap(),
            now: 0,
            origin,
            sequence: 0,
            events: Vec::new(),
            last_event: 0,
            spark_after: None,
            batches: Vec::new(),
        }
    }

    pub fn clock(&self) -> u32 {
        (self.now as u32).wrapping_add(self.origin)
    }

    pub fn ask(&mut self, message: HostMessage) -> Answer {
        self.sequence = self.sequence.wrapping_add(1);
        let request = Request { sequence: self.sequence, message };
        let reply = self.stimulator.message(&request, self.clock());
        assert_eq!(reply.sequence, self.sequence);
        reply.answer
    }

    #[track_caller]
    pub fn tell(&mut self, message: HostMessage) -> u8 {
        assert_eq!(self.ask(message), Answer::Accepted, "{message:?}");
        self.sequence
    }

    /// Moves on to the next flank and gives it with its time; `None` at standstill.
    pub fn flank(&mut self) -> Option<(Option<Flank>, u64)> {
        let order = self.stimulator.next_flank()?;
        let ahead = order.at.wrapping_sub(self.clock());
        assert!(ahead < 1 << 31, "a flank lies {} ticks in the past", ahead.wrapping_neg());
        self.now += u64::from(ahead);
        self.stimulator.passed();
        if let (Some(Flank::Timing), Some(after)) = (order.flank, self.spark_after) {
            let clock = self.clock();
            self.stimulator.coil(CoilEdge::On, clock.wrapping_add(1));
            self.stimulator.coil(CoilEdge::Off, clock.wrapping_add(after as u32));
        }
        self.collect();
        Some((order.flank, self.now))
    }

    pub fn flanks(&mut self, number: usize) -> Vec<(Option<Flank>, u64)> {
        std::iter::from_fn(|| {
            self.ask(HostMessage::KeepAlive);
            self.flank()
        })
        .take(number)
        .collect()
    }

    /// Lets time pass.
    pub fn wait(&mut self, ticks: u64) {
        self.now += ticks;
        let clock = self.clock();
        self.stimulator.poll(clock);
        self.collect();
    }

    /// Everything recorded so far, with absolute times.
    pub fn all_events(&mut self) -> Vec<(EventKind, u64)> {
        // Asked long after, the batch is old enough.
        let late = self.clock().wrapping_add(1 << 30);
        if let Some(batch) = self.stimulator.events(late).cloned() {
            self.unpack(batch);
        }
        self.events.clone()
    }

    fn collect(&mut self) {
        let clock = self.clock();
        if let Some(batch) = self.stimulator.events(clock).cloned() {
            self.unpack(batch);
        }
    }

    fn unpack(&mut self, batch: Batch) {
        let since = batch.start.wrapping_sub((self.last_event as u32).wrapping_add(self.origin));
        let mut at = self.last_event + u64::from(since);
        for event in &batch.events {
            at += u64::from(event.ticks);
            self.events.push((event.kind, at));
        }
        self.last_event = at;
        self.batches.push(batch);
    }
}
