//! A stimulator and an ignition under one simulated clock, spoken to by bytes.

use std::collections::VecDeque;
use std::io::{Error, ErrorKind, Read, Result, Write};

use bobweight_stimulator::{CoilEdge, Flank, Settings, Stimulator};
use bobweight_wire::{Abilities, BoardMessage, Decoder, FirmwareVersion, Frame, HostMessage, Request};

use super::coil::Coil;
use super::reluctor::Reluctor;
use super::{IgnitionUnderTest, Imperfections};
use crate::link::{Link, LinkError};

/// Ticks in a second of the simulated stimulator.
pub const SIMULATED_TICK_RATE: u32 = 2_000_000;

/// How often the ignition reads its sensors and both look at their clocks, in ticks of the stimulator: 100 times a second.
const HOUSEKEEPING: f64 = 20_000.0;

/// How long a read waits for bytes, in ticks of the stimulator: one second.
const PATIENCE: f64 = 2_000_000.0;

/// The built-in bench. Its clock moves only while somebody reads.
#[derive(Debug)]
pub struct SimulatedBench<I> {
    stimulator: Stimulator,
    ignition: I,
    coil: Coil,
    decoder: Decoder,
    outbound: VecDeque<u8>,
    /// True time in ticks of the stimulator; far below 2^53.
    now: f64,
    next_housekeeping: f64,
    /// Ticks of the ignition's clock in one of the stimulator's, and what it showed at the start.
    pace: f64,
    origin: f64,
    pulses: u8,
    /// Which pulse of the cycle the last timing flank began.
    pulse: u8,
    last_flank: f64,
    /// A crank degree in ticks, by the last pulse.
    degree: f64,
    /// What moves the pulse's other flank between stimulator and ignition, where something does.
    reluctor: Option<Reluctor>,
    /// Whether the ignition has seen the flank that the stimulator is about to pass.
    seen_ahead: bool,
}

impl<I: IgnitionUnderTest> SimulatedBench<I> {
    /// A bench whose crank stands still. Every seed has its own scatter, losses and origin of the ignition's clock. Of the
    /// imperfections those of the ignition's settings are the caller's: [`super::ImperfectIgnition`].
    #[expect(clippy::missing_panics_doc, reason = "two megahertz are in a stimulator's range")]
    pub fn new(ignition: I, imperfections: Imperfections, seed: u64) -> Self {
        let rate = f64::from(SIMULATED_TICK_RATE);
        let mut coil = Coil::new(imperfections, rate, seed);
        let pace = ignition.tick_rate() / rate * (1.0 + imperfections.clock_fast);
        // Somewhere in its range and between two ticks: nothing may depend on it.
        let origin = fraction(coil.random()) * 4_294_967_296.0 + fraction(coil.random());
        Self {
            stimulator: Stimulator::new(SETTINGS).expect("two megahertz are in range"),
            ignition,
            coil,
            decoder: Decoder::new(),
            outbound: VecDeque::new(),
            now: 0.0,
            next_housekeeping: 0.0,
            pace,
            origin,
            pulses: 1,
            pulse: 0,
            last_flank: 0.0,
            degree: 0.0,
            reluctor: None,
            seen_ahead: false,
        }
    }

    /// The same with a reluctor's conditioner between stimulator and ignition, where the pickup is one: its other flank moves with the speed,
    /// from its latest angle while the starter turns to its earliest at the greatest speed, crank rpm.
    #[must_use]
    pub fn with_pickup(mut self, pickup: &bobweight::Pickup, greatest_crank_rpm: f64) -> Self {
        self.reluctor = Reluctor::of(pickup, greatest_crank_rpm);
        self
    }

    /// A link to this bench, greeted.
    pub fn link(self) -> core::result::Result<Link<Self>, LinkError> {
        Link::open(self, "the built-in bench")
    }

    /// The ignition on it.
    pub fn ignition(&self) -> &I {
        &self.ignition
    }

    /// True time in ticks of the stimulator.
    pub(super) fn now(&self) -> f64 {
        self.now
    }

    /// Lets time pass until there are bytes to the host, and gives them, or until a time.
    pub(super) fn until(&mut self, until: f64) -> Option<Vec<u8>> {
        self.advance(until);
        (!self.outbound.is_empty()).then(|| self.outbound.drain(..).collect())
    }

    fn stimulator_clock(&self) -> u32 {
        wrapped(self.now)
    }

    fn ignition_clock(&self) -> u32 {
        wrapped(self.now.mul_add(self.pace, self.origin))
    }

    /// True time at which the ignition's clock shows this tick; now, if that is past.
    fn time_of(&self, tick: u32) -> f64 {
        let shown = self.now.mul_add(self.pace, self.origin);
        let ahead = tick.wrapping_sub(wrapped(shown)).cast_signed();
        if ahead <= 0 {
            return self.now;
        }
        (self.now + (f64::from(ahead) - shown.fract()) / self.pace).max(self.now)
    }

    /// Lets time pass until there is something to send, or it is `until`.
    fn advance(&mut self, until: f64) {
        while self.outbound.is_empty() && self.now < until {
            self.step(until);
            let clock = self.stimulator_clock();
            if let Some(batch) = self.stimulator.events(clock).cloned() {
                self.send(&BoardMessage::Events(batch));
            }
        }
    }

    /// To the next thing that happens.
    fn step(&mut self, until: f64) {
        let clock = self.stimulator_clock();
        let flank = self.stimulator.next_flank();
        let flank_at = flank.map_or(f64::INFINITY, |order| {
            self.now.floor() + f64::from(order.at.wrapping_sub(clock).cast_signed().max(0))
        });
        let moved_at = match (&self.reluctor, flank.and_then(|order| order.flank)) {
            (Some(reluctor), Some(Flank::Second)) if !self.seen_ahead => {
                let pulse = self.degree * 720.0 / f64::from(self.pulses);
                reluctor.moved(self.last_flank, flank_at, pulse, f64::from(SIMULATED_TICK_RATE)).max(self.now)
            }
            _ => f64::INFINITY,
        };
        let switch = self.ignition.next_switch();
        let switch_at = switch.map_or(f64::INFINITY, |switch| self.time_of(switch.at));
        let ahead = switch
            .filter(|switch| switch.edge == CoilEdge::Off)
            .and_then(|_| self.coil.ahead(switch_at, self.pulse, self.degree))
            .unwrap_or(f64::INFINITY);
        let following = self.coil.following().unwrap_or(f64::INFINITY);

        let next =
            flank_at.min(moved_at).min(switch_at).min(ahead).min(following).min(self.next_housekeeping).min(until);
        self.now = self.now.max(next);
        if following <= next {
            if let Some((at, edge)) = self.coil.take_following() {
                self.stimulator.coil(edge, wrapped(at));
            }
        } else if ahead <= next {
            self.coil.spark_ahead(self.now);
            self.stimulator.coil(CoilEdge::Off, self.stimulator_clock());
        } else if moved_at <= next {
            self.seen_ahead = true;
            let clock = self.ignition_clock();
            self.ignition.second_flank(clock, clock);
        } else if flank_at <= next {
            self.flank(flank.and_then(|order| order.flank));
        } else if let Some(switch) = switch.filter(|_| switch_at <= next) {
            self.ignition.switched();
            self.coil.ordered(switch.edge, self.now, self.pulse, self.degree);
            if switch.edge == CoilEdge::Off {
                self.ignition.poll(self.ignition_clock());
            }
        } else if self.next_housekeeping <= next {
            self.next_housekeeping = self.now + HOUSEKEEPING;
            self.keep_house();
        }
    }

    fn flank(&mut self, flank: Option<Flank>) {
        self.stimulator.passed();
        let clock = self.ignition_clock();
        let seen = std::mem::take(&mut self.seen_ahead);
        match flank {
            Some(Flank::Second) if seen => {}
            Some(Flank::Timing) => {
                self.degree = (self.now - self.last_flank) * f64::from(self.pulses) / 720.0;
                self.last_flank = self.now;
                self.pulse = (self.pulse + 1) % self.pulses;
                self.ignition.timing_flank(clock, clock);
            }
            Some(Flank::Second) => self.ignition.second_flank(clock, clock),
            Some(Flank::Return) | None => {}
        }
    }

    fn keep_house(&mut self) {
        let clock = self.ignition_clock();
        self.ignition.intake(self.stimulator.outputs().intake, clock);
        self.ignition.poll(clock);
        self.stimulator.poll(self.stimulator_clock());
    }

    fn receive(&mut self, request: &Request) {
        let reply = self.stimulator.message(request, self.stimulator_clock());
        if let HostMessage::Pattern(pattern) = request.message {
            self.pulses = pattern.pulses_in_two_turns.max(1);
            self.pulse = self.pulses - 1;
        }
        self.send(&BoardMessage::Reply(reply));
    }

    fn send(&mut self, message: &BoardMessage) {
        // Every board message fits a frame: a law of the wire.
        if let Ok(frame) = Frame::of(message) {
            self.outbound.extend(frame.as_bytes());
        }
    }
}

impl<I: IgnitionUnderTest> Read for SimulatedBench<I> {
    /// Bytes to the host. If there are none within one simulated second, the read times out.
    fn read(&mut self, buffer: &mut [u8]) -> Result<usize> {
        self.advance(self.now + PATIENCE);
        if self.outbound.is_empty() {
            return Err(Error::from(ErrorKind::TimedOut));
        }
        self.outbound.read(buffer)
    }
}

impl<I: IgnitionUnderTest> Write for SimulatedBench<I> {
    fn write(&mut self, bytes: &[u8]) -> Result<usize> {
        for &byte in bytes {
            match self.decoder.push::<Request>(byte) {
                Some(Ok(request)) => self.receive(&request),
                Some(Err(fault)) => self.send(&BoardMessage::Unreadable(fault)),
                None => {}
            }
        }
        Ok(bytes.len())
    }

    fn flush(&mut self) -> Result<()> {
        Ok(())
    }
}

const SETTINGS: Settings = Settings {
    firmware: FirmwareVersion { major: 0, minor: 1, patch: 0 },
    tick_rate_hz: SIMULATED_TICK_RATE,
    clock_tolerance_ppm: 0,
    abilities: Abilities {
        shortest_interval: 40,
        shortest_pulse: 40,
        shortest_pulse_in_ramp: 40,
        shortest_pulse_cranking: 40,
        depression_step: 1,
        throttle: true,
    },
};

/// A true time as a clock shows it: whole ticks, wrapping.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "times are positive and below 2^53")]
fn wrapped(time: f64) -> u32 {
    time as u64 as u32
}

/// A number from 0 to 1.
fn fraction(random: u64) -> f64 {
    f64::from(u32::try_from(random >> 32).unwrap_or(0)) / 4_294_967_296.0
}
