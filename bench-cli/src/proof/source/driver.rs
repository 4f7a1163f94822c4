//! Drives a stimulator from one motion to the next and records what comes back.

use std::io::{Read, Write};
use std::time::Duration;

use bobweight_wire as wire;
use bobweight_wire::{
    Disturbance, EventKind, HostMessage, Intake, PickupPattern, Ramp, Refusal, RunLength, TimingEdge, Upset,
};
use thiserror::Error;

use crate::link::{Event, Link, LinkError};
use crate::proof::measure;

/// Why a record could not be made.
#[derive(Debug, Error)]
pub enum DriverError {
    /// The link failed.
    #[error(transparent)]
    Link(#[from] LinkError),
    /// The stimulator stopped, though nobody asked for it.
    #[error(
        "{place}: the stimulator stopped by itself; look at its power and its serial line, then run the bench again"
    )]
    Stopped {
        /// The link's name.
        place: String,
    },
    /// The motion that was asked for has not ended long after it should have.
    #[error(
        "{place}: the motion that was asked for takes {lasts_s:.1} s, and {} s later the stimulator had not said that it was over; unplug \
         the stimulator, plug it in and run the bench again",
        MARGIN_S
    )]
    Overdue {
        /// The link's name.
        place: String,
        /// How long it takes from the request to its end.
        lasts_s: f64,
    },
}

/// What an ordered motion may take beyond its own time, seconds: the stimulator rests by itself two seconds after the host's last
/// word, its news are half a second old at most, and twice that leaves room for clocks, cable and a busy computer. Common
/// practice, no source.
const MARGIN_S: f64 = 5.0;
/// A motion takes effect two flanks ahead at most, and the pulse at hand has to end.
const PULSES_AHEAD: f64 = 3.0;

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
pub struct Driver<S: Read + Write> {
    link: Link<S>,
    pulses: usize,
    /// Timing flanks since the pattern was set, lost ones too.
    flanks: usize,
    /// The steady speed; none while it stands or cranks.
    speed: Option<wire::CrankSpeed>,
    /// The speed or the mean of cranking at which it turns; none while it stands.
    mean: Option<wire::CrankSpeed>,
    rate: wire::Acceleration,
}

impl<S: Read + Write> Driver<S> {
    /// The link, for a test that reads its time.
    #[cfg(test)]
    pub fn link(&self) -> &Link<S> {
        &self.link
    }

    /// Sets the pickup. `rate` is the acceleration between speeds, crank rpm per s.
    ///
    /// # Errors
    /// Where the stimulator refuses the pickup or the link fails.
    pub fn open(
        mut link: Link<S>,
        pickup: measure::Pickup,
        second_flank: Option<f64>,
        timing_edge: TimingEdge,
        rate: f64,
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
            pulses: pickup.pulses_in_two_turns.max(1),
            flanks: 0,
            speed: None,
            mean: None,
            rate: acceleration(rate),
        })
    }

    /// Sets depression and throttle; gives the depression in kPa as it is really put out.
    ///
    /// # Errors
    /// Where the stimulator refuses or the link fails.
    pub fn intake(&mut self, depression_kpa: f64, throttle_closed: bool) -> Result<f64, DriverError> {
        let step = f64::from(self.link.abilities().depression_step.max(1));
        let steps = (depression_kpa * f64::from(wire::Depression::PER_KPA) / step).round() * step;
        let depression = wire::Depression(whole(steps).try_into().unwrap_or(u16::MAX));
        self.request(HostMessage::Intake(Intake { depression, throttle_closed }))?;
        Ok(f64::from(depression.0) / f64::from(wire::Depression::PER_KPA))
    }

    /// Cranks at a mean speed in crank rpm whose greatest is `swing` times its least within each pulse.
    ///
    /// # Errors
    /// Where the stimulator refuses or the link fails.
    pub fn crank(&mut self, mean_crank_rpm: f64, swing: f64) -> Result<(), DriverError> {
        let ratio = whole(swing * f64::from(wire::SpeedRatio::PER_ONE)).try_into().unwrap_or(u16::MAX);
        let pattern = wire::CrankPattern { mean: speed(mean_crank_rpm), ratio: wire::SpeedRatio(ratio) };
        let begun = self.request(HostMessage::Crank(pattern))?;
        self.speed = None;
        let lasts_s = self.begins_within(pattern.mean);
        self.record(begun, lasts_s, |_| true).map(drop)
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
                let begun = self.request(HostMessage::Speed(to))?;
                self.speed = Some(to);
                let lasts_s = self.begins_within(to);
                self.record(begun, lasts_s, |_| true)?;
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
        let begun = self.request(HostMessage::Ramp(Ramp { from, to, rate: self.rate }))?;
        self.speed = Some(to);
        // The ramp ends when the speed is reached; the event follows at the next flank.
        let seconds = f64::from(from.0.abs_diff(to.0)) / f64::from(self.rate.0);
        let lasts_s = self.begins_within(from) + seconds + self.pulse_s(to);
        self.mean = Some(to);
        let mut stretch = self.record(begun, lasts_s, |kind| kind == EventKind::RampEnded)?;
        let length = whole_ticks(seconds / self.link.tick_seconds());
        stretch.to_ticks = stretch.to_ticks.min(stretch.from_ticks + length);
        Ok(stretch)
    }

    /// Records this many whole cycles of two crank turns.
    ///
    /// # Errors
    /// Where the stimulator refuses or the link fails.
    pub fn cycles(&mut self, cycles: usize) -> Result<Stretch, DriverError> {
        let (begun, lasts_s) = self.run(cycles)?;
        self.record(begun, lasts_s, |kind| kind == EventKind::Finished)
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
        let (begun, lasts_s) = self.run(cycles)?;
        let upset = self.request(HostMessage::Upset(Upset { after_pulses, disturbance }))?;
        let stretch = self.record_upset(begun, Some(upset), lasts_s, |kind| kind == EventKind::Finished)?;
        if stretch.upset.is_none() {
            self.cycles(usize::from(after_pulses).div_ceil(self.pulses) + cycles)?;
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

    /// Asks for something. A stimulator that has no pickup any more has restarted.
    fn request(&mut self, message: HostMessage) -> Result<u8, DriverError> {
        let asked = self.link.request(message);
        let forgotten = matches!(asked, Err(LinkError::Refused { refusal: Refusal::NoPattern, .. }));
        Ok(if forgotten { Err(self.link.restarted()) } else { asked }?)
    }

    /// Asks for a run of so many cycles; gives the request's number and how long the run takes, seconds.
    fn run(&mut self, cycles: usize) -> Result<(u8, f64), DriverError> {
        let cycles = u32::try_from(cycles).unwrap_or(u32::MAX);
        let begun = self.request(HostMessage::Run(RunLength::Cycles(cycles)))?;
        let Some(mean) = self.mean else { return Ok((begun, 0.0)) };
        let pulses = PULSES_AHEAD + f64::from(cycles) * count(self.pulses);
        Ok((begun, pulses * self.pulse_s(mean)))
    }

    /// How long a motion at this speed takes to begin, seconds; it turns at that speed from then on.
    fn begins_within(&mut self, to: wire::CrankSpeed) -> f64 {
        let slowest = self.mean.replace(to).map_or(to, |before| before.min(to));
        PULSES_AHEAD * self.pulse_s(slowest)
    }

    /// How long a pulse takes, seconds.
    fn pulse_s(&self, speed: wire::CrankSpeed) -> f64 {
        120.0 * f64::from(wire::CrankSpeed::PER_RPM) / f64::from(speed.0.max(1)) / count(self.pulses)
    }

    fn record(&mut self, begun: u8, lasts_s: f64, ends: impl Fn(EventKind) -> bool) -> Result<Stretch, DriverError> {
        self.record_upset(begun, None, lasts_s, ends)
    }

    /// The next event of a motion that takes so long, `passed` ticks after its first. Time is the stimulator's as far as its events
    /// tell it, and this machine's from the last of them on.
    fn next_event(&mut self, lasts_s: f64, passed: u64) -> Result<Event, DriverError> {
        let left_s = lasts_s + MARGIN_S - seconds(passed, self.link.tick_seconds());
        let event = match Duration::try_from_secs_f64(left_s) {
            Ok(left) => self.link.next_event_within(left)?,
            Err(_) => None,
        };
        event.ok_or_else(|| DriverError::Overdue { place: self.link.place().to_owned(), lasts_s })
    }

    /// Records from the flank at which message `begun` takes effect until the event that ends it, which must come in the time that
    /// the motion takes, and [`MARGIN_S`].
    fn record_upset(
        &mut self,
        begun: u8,
        upset: Option<u8>,
        lasts_s: f64,
        ends: impl Fn(EventKind) -> bool,
    ) -> Result<Stretch, DriverError> {
        let mut events = Vec::new();
        let mut began: Option<(u64, usize)> = None;
        let mut upset_at = None;
        let (mut first_at, mut passed) = (None, 0);
        loop {
            let event = self.next_event(lasts_s, passed)?;
            passed = event.at.saturating_sub(*first_at.get_or_insert(event.at));
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

/// A few pulses as a float.
fn count(pulses: usize) -> f64 {
    f64::from(u32::try_from(pulses).unwrap_or(u32::MAX))
}

#[expect(clippy::cast_precision_loss, reason = "minutes in ticks lie far below 2^53")]
fn seconds(ticks: u64, tick_s: f64) -> f64 {
    ticks as f64 * tick_s
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
