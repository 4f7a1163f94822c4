//! Drives a stimulator from one motion to the next and records what comes back.

use std::io::{Read, Write};
use std::sync::atomic::{AtomicBool, Ordering};

use bobweight_wire as wire;
use bobweight_wire::{Disturbance, EventKind, HostMessage, Intake, PickupPattern, Ramp, RunLength, TimingEdge, Upset};
use thiserror::Error;

use crate::link::{Link, LinkError};
use crate::measure;

/// Why a record could not be made.
#[derive(Debug, Error)]
pub enum DriverError {
    /// The link failed.
    #[error(transparent)]
    Link(#[from] LinkError),
    /// The user interrupted the run; the outputs are at rest.
    #[error("interrupted; the stimulator's outputs were stopped")]
    Interrupted,
    /// The stimulator stopped, though nobody asked for it.
    #[error(
        "{place}: the stimulator stopped by itself; look at its power and its serial line, then run the bench again"
    )]
    Stopped {
        /// The link's name.
        place: String,
    },
}

/// What was recorded of one commanded motion.
#[derive(Debug, Clone)]
pub struct Stretch {
    /// Flanks of the pickup and switchings of the coil, in the order of time.
    pub events: Vec<measure::Event>,
    /// The tick of the timing flank at which it began.
    pub from_ticks: u64,
    /// The tick at which it ended.
    pub to_ticks: u64,
    /// Which pulse of the two turns that flank began, from 0.
    pub first_pulse: usize,
    /// How many timing flanks after the first one the upset pulse came, where one was asked for.
    pub upset: Option<i64>,
}

/// A stimulator under command.
pub struct Driver<'a, S: Read + Write> {
    link: Link<S>,
    interrupted: &'a AtomicBool,
    pulses: usize,
    /// Timing flanks since the pattern was set, lost ones too.
    flanks: usize,
    speed: Option<wire::CrankSpeed>,
    rate: wire::Acceleration,
}

impl<'a, S: Read + Write> Driver<'a, S> {
    /// Sets the pickup. `rate` is the acceleration between speeds, crank rpm per s. When `interrupted` turns true, the outputs
    /// are stopped and the next call ends with [`DriverError::Interrupted`].
    ///
    /// # Errors
    /// Where the stimulator refuses the pickup or the link fails.
    pub fn open(
        mut link: Link<S>,
        pickup: measure::Pickup,
        second_flank: Option<f64>,
        timing_edge: TimingEdge,
        rate: f64,
        interrupted: &'a AtomicBool,
    ) -> Result<Self, DriverError> {
        let pattern = PickupPattern {
            pulses_in_two_turns: u8::try_from(pickup.pulses_in_two_turns).unwrap_or(u8::MAX),
            timing: angle(pickup.angle),
            second: second_flank.map(angle),
            timing_edge,
        };
        link.request(HostMessage::Pattern(pattern))?;
        Ok(Self {
            link,
            interrupted,
            pulses: pickup.pulses_in_two_turns.max(1),
            flanks: 0,
            speed: None,
            rate: acceleration(rate),
        })
    }

    /// The link.
    pub fn link(&self) -> &Link<S> {
        &self.link
    }

    /// The step of the depression that the stimulator puts out, kPa.
    pub fn depression_step_kpa(&self) -> f64 {
        f64::from(self.link.abilities().depression_step) / f64::from(wire::Depression::PER_KPA)
    }

    /// Sets depression and throttle; gives the depression in kPa as it is really put out.
    ///
    /// # Errors
    /// Where the stimulator refuses or the link fails.
    pub fn intake(&mut self, depression_kpa: f64, throttle_closed: bool) -> Result<f64, DriverError> {
        let step = f64::from(self.link.abilities().depression_step.max(1));
        let steps = (depression_kpa * f64::from(wire::Depression::PER_KPA) / step).round() * step;
        let depression = wire::Depression(whole(steps).try_into().unwrap_or(u16::MAX));
        self.link.request(HostMessage::Intake(Intake { depression, throttle_closed }))?;
        Ok(f64::from(depression.0) / f64::from(wire::Depression::PER_KPA))
    }

    /// Cranks at a mean speed in crank rpm whose greatest is `swing` times its least within each pulse.
    ///
    /// # Errors
    /// Where the stimulator refuses or the link fails.
    pub fn crank(&mut self, mean_crank_rpm: f64, swing: f64) -> Result<(), DriverError> {
        let ratio = whole(swing * f64::from(wire::SpeedRatio::PER_ONE)).try_into().unwrap_or(u16::MAX);
        let pattern = wire::CrankPattern { mean: speed(mean_crank_rpm), ratio: wire::SpeedRatio(ratio) };
        let begun = self.link.request(HostMessage::Crank(pattern))?;
        self.speed = None;
        self.record(begun, |_| true).map(drop)
    }

    /// Brings the crank to a steady speed in crank rpm at the rate of change that the engine could have; gives the speed in
    /// crank rpm as it is really turned.
    ///
    /// # Errors
    /// Where the stimulator refuses or the link fails.
    pub fn steady(&mut self, crank_rpm: f64) -> Result<f64, DriverError> {
        let to = speed(crank_rpm);
        match self.speed {
            Some(from) if from == to => {}
            Some(_) => drop(self.ramp(crank_rpm)?),
            None => {
                let begun = self.link.request(HostMessage::Speed(to))?;
                self.speed = Some(to);
                self.record(begun, |_| true)?;
            }
        }
        Ok(f64::from(to.0) / f64::from(wire::CrankSpeed::PER_RPM))
    }

    /// The rate of change between speeds as it is really driven, crank rpm per s.
    pub fn rate(&self) -> f64 {
        f64::from(self.rate.0) / f64::from(wire::Acceleration::PER_RPM_PER_SECOND)
    }

    /// Changes from the steady speed at hand to another at the driver's rate, and records the way.
    ///
    /// # Errors
    /// Where the stimulator refuses or the link fails.
    pub fn ramp(&mut self, to_crank_rpm: f64) -> Result<Stretch, DriverError> {
        let to = speed(to_crank_rpm);
        let from = self.speed.unwrap_or(to);
        let begun = self.link.request(HostMessage::Ramp(Ramp { from, to, rate: self.rate }))?;
        self.speed = Some(to);
        let mut stretch = self.record(begun, |kind| kind == EventKind::RampEnded)?;
        // The ramp ends when the speed is reached; the event follows at the next flank.
        let seconds = f64::from(from.0.abs_diff(to.0)) / f64::from(self.rate.0);
        let length = whole_ticks(seconds / self.link.tick_seconds());
        stretch.to_ticks = stretch.to_ticks.min(stretch.from_ticks + length);
        Ok(stretch)
    }

    /// Records this many whole cycles of two crank turns.
    ///
    /// # Errors
    /// Where the stimulator refuses or the link fails.
    pub fn cycles(&mut self, cycles: usize) -> Result<Stretch, DriverError> {
        let length = RunLength::Cycles(u32::try_from(cycles).unwrap_or(u32::MAX));
        let begun = self.link.request(HostMessage::Run(length))?;
        self.record(begun, |kind| kind == EventKind::Finished)
    }

    /// Records this many whole cycles, with one pulse upset so many pulses after the beginning, or a few more. Where host or line
    /// pause between the two messages, the upset pulse comes after the record: then it is waited for, so that it upsets nothing
    /// else, and the stretch has none.
    ///
    /// # Errors
    /// Where the stimulator refuses or the link fails.
    pub fn upset(
        &mut self,
        disturbance: Disturbance,
        after_pulses: u16,
        cycles: usize,
    ) -> Result<Stretch, DriverError> {
        let length = RunLength::Cycles(u32::try_from(cycles).unwrap_or(u32::MAX));
        let begun = self.link.request(HostMessage::Run(length))?;
        let upset = self.link.request(HostMessage::Upset(Upset { after_pulses, disturbance }))?;
        let stretch = self.record_upset(begun, Some(upset), |kind| kind == EventKind::Finished)?;
        if stretch.upset.is_none() {
            let further = usize::from(after_pulses).div_ceil(self.pulses) + cycles;
            let length = RunLength::Cycles(u32::try_from(further).unwrap_or(u32::MAX));
            let begun = self.link.request(HostMessage::Run(length))?;
            self.record(begun, |kind| kind == EventKind::Finished)?;
        }
        Ok(stretch)
    }

    /// Puts every output to rest and gives the link back.
    ///
    /// # Errors
    /// Where the link fails.
    pub fn stop(mut self) -> Result<Link<S>, DriverError> {
        self.link.request(HostMessage::Stop)?;
        Ok(self.link)
    }

    /// Stops the crank after a failure, where the link still carries it.
    pub fn abandon(&mut self) {
        self.link.abandon();
    }

    fn record(&mut self, begun: u8, ends: impl Fn(EventKind) -> bool) -> Result<Stretch, DriverError> {
        self.record_upset(begun, None, ends)
    }

    /// Records from the flank at which message `begun` takes effect until the event that ends it.
    fn record_upset(
        &mut self,
        begun: u8,
        upset: Option<u8>,
        ends: impl Fn(EventKind) -> bool,
    ) -> Result<Stretch, DriverError> {
        let mut events = Vec::new();
        let mut began: Option<(u64, usize)> = None;
        let mut upset_at = None;
        loop {
            if self.interrupted.load(Ordering::Relaxed) {
                self.link.request(HostMessage::Stop)?;
                return Err(DriverError::Interrupted);
            }
            let event = self.link.next_event()?;
            let kind = match event.kind {
                EventKind::Timing | EventKind::LostTiming | EventKind::MovedTiming => {
                    self.flanks += 1;
                    (event.kind == EventKind::Timing).then_some(measure::EventKind::TimingFlank)
                }
                EventKind::Second => Some(measure::EventKind::SecondFlank),
                EventKind::CoilOn => Some(measure::EventKind::CoilOn),
                EventKind::CoilOff => Some(measure::EventKind::CoilOff),
                EventKind::Begun(number) if number == begun => {
                    began = Some((event.at, self.flanks));
                    None
                }
                EventKind::Begun(number) if Some(number) == upset => {
                    upset_at = began.map(|(_, first)| self.flanks - first);
                    None
                }
                EventKind::Stopped | EventKind::HostSilent => {
                    return Err(DriverError::Stopped { place: self.link.place().to_owned() });
                }
                _ => None,
            };
            events.extend(kind.map(|kind| measure::Event { at_ticks: event.at, kind }));
            if let Some((from_ticks, first)) = began
                && ends(event.kind)
            {
                return Ok(Stretch {
                    events,
                    from_ticks,
                    to_ticks: event.at,
                    first_pulse: first % self.pulses,
                    upset: upset_at.map(|flanks| i64::try_from(flanks).unwrap_or(i64::MAX)),
                });
            }
        }
    }
}

fn angle(crank_degrees: f64) -> wire::CrankAngle {
    wire::CrankAngle(i32::try_from(signed(crank_degrees * f64::from(wire::CrankAngle::PER_DEGREE))).unwrap_or(i32::MAX))
}

fn speed(crank_rpm: f64) -> wire::CrankSpeed {
    wire::CrankSpeed(whole(crank_rpm * f64::from(wire::CrankSpeed::PER_RPM)))
}

fn acceleration(crank_rpm_per_s: f64) -> wire::Acceleration {
    wire::Acceleration(whole(crank_rpm_per_s * f64::from(wire::Acceleration::PER_RPM_PER_SECOND)))
}

#[expect(clippy::cast_possible_truncation, reason = "a float beyond the range ends at its end")]
fn signed(value: f64) -> i64 {
    value.round() as i64
}

fn whole(value: f64) -> u32 {
    u32::try_from(signed(value)).unwrap_or(if value > 0.0 { u32::MAX } else { 0 })
}

fn whole_ticks(value: f64) -> u64 {
    u64::try_from(signed(value.floor())).unwrap_or(0)
}
