//! A second ignition, from the formulas alone.
//!
//! It believes every edge, knows the future of nothing, and computes in `f64`. Advance is
//! `clamp(initial + centrifugal(speed) + vacuum(depression))`, speed is `120 / (m T)` with T the time between the last two
//! timing edges, and the spark is ordered at `edge + T m (pickup angle - advance) / 720 - lag`.

use crate::{CYCLE_DEGREES, Curve, Flank, period};

/// What an ignition is set to. Angles in crank degrees BTDC, speeds in crank rpm, times in seconds.
#[derive(Clone, Debug)]
pub struct Settings {
    /// Pulses in two crank turns.
    pub pulses: u32,
    /// The timing flank.
    pub pickup_angle: f64,
    /// Where cranking takes its time from a second flank: its angle.
    pub second_flank_angle: Option<f64>,
    /// How much later than its order a spark comes.
    pub lag: f64,
    /// Initial timing.
    pub initial: f64,
    /// Crank rpm -> crank degrees.
    pub centrifugal: Curve,
    /// kPa depression -> crank degrees.
    pub vacuum: Curve,
    /// The vacuum is taken above the throttle: none while that is closed.
    pub ported: bool,
    /// Vacuum advance is added at no more than so many crank degrees a second, and taken away at once.
    pub greatest_vacuum_rate: f64,
    /// The least and the greatest total of running.
    pub clamp: (f64, f64),
    /// The advance of cranking.
    pub cranking: f64,
    /// The advance while held.
    pub held: f64,
    /// Running becomes cranking below this speed.
    pub cranking_below: f64,
    /// Cranking becomes running from this speed on.
    pub running_from: f64,
    /// No sparks above this speed.
    pub no_spark_above: f64,
    /// Sparks again below this speed.
    pub spark_again_below: f64,
    /// Battery volts -> dwell.
    pub dwell: Curve,
    /// The largest dwell.
    pub largest_dwell: f64,
    /// Dwell is at most this share of the period.
    pub largest_duty: f64,
}

/// Slower than this, in crank rpm, is stopped.
pub const STOPPED_BELOW: f64 = 30.0;

/// No sparks above this speed with the advance held, crank rpm.
pub const NO_HELD_SPARK_ABOVE: f64 = 2000.0;
/// Sparks again below this speed, likewise.
pub const HELD_SPARK_AGAIN_BELOW: f64 = 1900.0;

/// What decides the advance.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Phase {
    /// No two edges near enough to each other yet.
    Stopped,
    /// Turned by the starter.
    Cranking,
    /// On its own; held or not.
    Running,
    /// Too fast: no sparks.
    Overspeed,
}

/// One order to the coil.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Order {
    /// Coil on; it may lie before the edge, where the dwell is longer than the delay.
    pub on: f64,
    /// Coil off: the spark comes the lag later.
    pub off: f64,
    /// The advance asked for, crank degrees BTDC. At the second flank it is that flank's angle.
    pub advance: f64,
    /// The period it was computed with, seconds.
    pub period: f64,
}

/// The ignition and what it remembers.
#[derive(Clone, Debug)]
pub struct Ignition {
    settings: Settings,
    phase: Phase,
    last_timing_edge: Option<f64>,
    period: Option<f64>,
    armed: bool,
    held: bool,
    volts: f64,
    vacuum_wanted: f64,
    vacuum_given: f64,
    vacuum_time: f64,
}

impl Ignition {
    /// A stopped ignition with 12 V and no vacuum.
    pub fn new(settings: Settings) -> Self {
        Self {
            settings,
            phase: Phase::Stopped,
            last_timing_edge: None,
            period: None,
            armed: false,
            held: false,
            volts: 12.0,
            vacuum_wanted: 0.0,
            vacuum_given: 0.0,
            vacuum_time: 0.0,
        }
    }

    /// The phase after the last timing edge.
    pub fn phase(&self) -> Phase {
        self.phase
    }

    /// Battery voltage.
    pub fn battery(&mut self, volts: f64) {
        self.volts = volts;
    }

    /// Holds the held advance in place of that of running.
    pub fn hold(&mut self, held: bool) {
        self.held = held;
    }

    /// Depression in kPa, `None` for a failed sensor, as of a time.
    pub fn depression(&mut self, depression: Option<f64>, throttle_closed: bool, time: f64) {
        self.settle_vacuum(time);
        self.vacuum_wanted = match depression {
            Some(kpa) if !(self.settings.ported && throttle_closed) => self.settings.vacuum.at(kpa),
            _ => 0.0,
        };
        self.settle_vacuum(time);
    }

    /// An edge at a time: the order that it makes, if any.
    pub fn edge(&mut self, flank: Flank, time: f64) -> Option<Order> {
        match flank {
            Flank::Timing => self.timing_edge(time),
            Flank::Second => self.second_edge(time),
        }
    }

    /// The advance of running at a speed, with the vacuum advance given: sum and total after the clamp.
    pub fn running_advance(settings: &Settings, crank_rpm: f64, vacuum: f64) -> (f64, f64) {
        let sum = settings.initial + settings.centrifugal.at(crank_rpm) + vacuum;
        (sum, sum.max(settings.clamp.0).min(settings.clamp.1))
    }

    fn timing_edge(&mut self, time: f64) -> Option<Order> {
        self.settle_vacuum(time);
        let interval = self.last_timing_edge.map(|last| time - last);
        self.last_timing_edge = Some(time);
        self.armed = true;
        self.period = interval.filter(|interval| *interval <= period(self.settings.pulses, STOPPED_BELOW));
        let Some(measured) = self.period else {
            self.phase = Phase::Stopped;
            return None;
        };
        let speed = period(self.settings.pulses, 1.0) / measured;
        self.phase = next_phase(self.phase, speed, self.held, &self.settings);
        let advance = match self.phase {
            Phase::Stopped | Phase::Overspeed => return None,
            Phase::Cranking if self.settings.second_flank_angle.is_some() => return None,
            Phase::Cranking => self.settings.cranking,
            Phase::Running if self.held => self.settings.held,
            Phase::Running => Self::running_advance(&self.settings, speed, self.vacuum_given).1,
        };
        let share = f64::from(self.settings.pulses) * (self.settings.pickup_angle - advance) / CYCLE_DEGREES;
        let off = time + measured * share - self.settings.lag;
        Some(Order { on: off - self.dwell(measured), off, advance, period: measured })
    }

    /// While cranking the coil is charged from the second flank on; the spark needs no period and is never early.
    fn second_edge(&mut self, time: f64) -> Option<Order> {
        let advance = self.settings.second_flank_angle?;
        let measured = self.period?;
        let armed = std::mem::take(&mut self.armed);
        (armed && self.phase == Phase::Cranking).then(|| Order {
            on: time,
            off: time + self.dwell(measured),
            advance,
            period: measured,
        })
    }

    fn dwell(&self, period: f64) -> f64 {
        let settings = &self.settings;
        settings.dwell.at(self.volts).min(settings.largest_dwell).min(settings.largest_duty * period)
    }

    fn settle_vacuum(&mut self, time: f64) {
        let allowed = self.vacuum_given + self.settings.greatest_vacuum_rate * (time - self.vacuum_time);
        self.vacuum_given = self.vacuum_wanted.min(allowed);
        self.vacuum_time = time;
    }
}

fn next_phase(phase: Phase, speed: f64, held: bool, settings: &Settings) -> Phase {
    let (mut cut, mut spark_again) = (settings.no_spark_above, settings.spark_again_below);
    if held {
        cut = cut.min(NO_HELD_SPARK_ABOVE);
        spark_again = spark_again.min(HELD_SPARK_AGAIN_BELOW);
    }
    match phase {
        _ if speed > cut => Phase::Overspeed,
        Phase::Overspeed if speed >= spark_again => Phase::Overspeed,
        Phase::Running | Phase::Overspeed if speed >= settings.cranking_below => Phase::Running,
        _ if speed >= settings.running_from => Phase::Running,
        _ => Phase::Cranking,
    }
}

#[cfg(test)]
mod tests;
