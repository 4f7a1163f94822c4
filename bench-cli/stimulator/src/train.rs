//! The train of flanks that a moving crank makes.

use bobweight_wire::{CrankAngle, Disturbance, EventKind, Halt, PickupPattern, Refusal, Upset};

use crate::motion::{Motion, PulsePlaces, time};
use crate::order::{Flank, FlankOrder, Passage};
use crate::recoil::Recoil;
use crate::units::{DEGREE, TWO_TURNS, divide, place};

/// Places of a pulse's flanks, counted from its nominal timing flank.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Pulse {
    pub(crate) places: PulsePlaces,
    pulses: u8,
    /// Where the pickup becomes idle again.
    pub(crate) second: u32,
    /// Whether that is a flank to report.
    pub(crate) has_second: bool,
}

impl Pulse {
    /// Before the first pattern.
    const NONE: Self =
        Self { places: PulsePlaces { pulse: 0, top_dead_centre: 0 }, pulses: 0, second: 0, has_second: false };

    #[inline(never)]
    pub(crate) fn new(pattern: &PickupPattern) -> Result<Self, Refusal> {
        let pulse = match pattern.pulses_in_two_turns {
            n @ 1..=12 => u32::try_from(divide(u64::from(TWO_TURNS), u32::from(n)).0).map_err(|_| Refusal::Pulses)?,
            _ => return Err(Refusal::Pulses),
        };
        let length = i32::try_from(pulse).map_err(|_| Refusal::Pulses)?;
        let within = |mut after: i32| {
            while after < 0 {
                after += length;
            }
            while after >= length {
                after -= length;
            }
            after.unsigned_abs()
        };
        let range = -CrankAngle::TWO_TURNS.0 / 2..=CrankAngle::TWO_TURNS.0;
        if !range.contains(&pattern.timing.0) || pattern.second.is_some_and(|s| !range.contains(&s.0)) {
            return Err(Refusal::FlankAngle);
        }
        let second = match pattern.second {
            Some(second) => within(place(pattern.timing) - place(second)),
            None => pulse >> 1,
        };
        if second < DEGREE || pulse - second < DEGREE {
            return Err(Refusal::FlanksTooNear);
        }
        let top_dead_centre = within(place(pattern.timing));
        let pulses = pattern.pulses_in_two_turns;
        Ok(Self {
            places: PulsePlaces { pulse, top_dead_centre },
            pulses,
            second,
            has_second: pattern.second.is_some(),
        })
    }

    /// Pulses in two crank turns.
    pub(crate) fn in_two_turns(&self) -> u32 {
        u32::from(self.pulses)
    }

    /// The shortest distance between two flanks.
    pub(crate) fn shortest(&self) -> u32 {
        self.second.min(self.places.pulse - self.second)
    }

    /// The flank at which the pickup becomes idle.
    pub(crate) fn idle_flank(&self) -> Flank {
        if self.has_second { Flank::Second } else { Flank::Return }
    }

    /// Its event, where it is one.
    pub(crate) fn idle_event(&self, kind: EventKind) -> Option<EventKind> {
        self.has_second.then_some(kind)
    }

    /// Whether an upset keeps clear of the flanks by a crank degree.
    pub(crate) fn allows(&self, disturbance: Disturbance) -> Result<(), Refusal> {
        let clear = match disturbance {
            Disturbance::Lose => true,
            // Moved either way, a pulse comes nearer to one neighbour by as much.
            Disturbance::Shift(early) => {
                early.0.abs_diff(0) <= CrankAngle::TWO_TURNS.0.unsigned_abs()
                    && place(early).unsigned_abs() + DEGREE <= self.places.pulse - self.second
            }
            Disturbance::Add(after) => {
                (CrankAngle(0)..=CrankAngle::TWO_TURNS).contains(&after)
                    && u32::try_from(place(after)).is_ok_and(|start| {
                        let fits = |low: u32, high: u32| start >= low + DEGREE && start + 2 * DEGREE <= high;
                        fits(0, self.second) || fits(self.second, self.places.pulse)
                    })
            }
        };
        if clear { Ok(()) } else { Err(Refusal::Upset) }
    }
}

/// A motion that waits for its timing flank.
#[derive(Debug, Clone, Copy)]
pub(crate) enum NextMotion {
    Turn(Motion),
    Halt(Halt),
}

/// The crank and what it is about to do, worked out ahead of time.
#[derive(Debug)]
pub(crate) struct Train {
    pub(crate) pulse: Pulse,
    /// Exact time of the last flank worked out, with 32 bits of fraction of a tick.
    at: u64,
    /// Its place, counted from the nominal timing flank of its pulse.
    here: i32,
    motion: Option<Motion>,
    recoil: Option<Recoil>,
    pub(crate) next_motion: Option<(u8, NextMotion)>,
    pub(crate) upset: Option<(u8, Upset)>,
    /// How late this pulse's flanks come.
    late: i32,
    lost: bool,
    /// The next end of a level that was added to this pulse, and whether it is the second.
    added: Option<(i32, bool)>,
    /// What a steady crank took last from a timing flank, and from a second one: nearly always what it takes again.
    steady: [Steady; 2],
}

/// A time at a steady speed, worked out once: small boards divide slowly.
#[derive(Debug, Clone, Copy)]
struct Steady {
    speed: u32,
    distance: u32,
    time: u64,
}

impl Steady {
    fn time(&mut self, tick_rate: u32, distance: u32, speed: u32) -> u64 {
        if self.speed != speed || self.distance != distance {
            *self = Self { speed, distance, time: time(tick_rate, distance, speed, speed) };
        }
        self.time
    }
}

impl Train {
    pub(crate) const fn new() -> Self {
        Self {
            pulse: Pulse::NONE,
            at: 0,
            here: 0,
            motion: None,
            recoil: None,
            next_motion: None,
            upset: None,
            late: 0,
            lost: false,
            added: None,
            steady: [Steady { speed: 0, distance: 0, time: 0 }; 2],
        }
    }

    /// Whether a pattern has been set.
    pub(crate) fn has_pattern(&self) -> bool {
        self.pulse.pulses > 0
    }

    /// Whether the crank moves or is about to.
    pub(crate) fn turning(&self) -> bool {
        self.motion.is_some() || self.recoil.is_some()
    }

    /// Whether a new motion would find a flank to begin at.
    pub(crate) fn takes_motion(&self) -> bool {
        self.motion.is_some() && self.next_motion.is_none()
    }

    pub(crate) fn cranking(&self) -> bool {
        matches!(self.motion, Some(Motion::Crank(_)))
    }

    /// Whether this pulse or one to come is upset.
    pub(crate) fn upset_waits(&self) -> bool {
        self.upset.is_some() || self.lost || self.late != 0 || self.added.is_some()
    }

    /// Speed at the last flank worked out, squared.
    pub(crate) fn squared(&self) -> u64 {
        self.motion.map_or(0, |motion| motion.squared_at(self.here, self.pulse.places))
    }

    /// Speed at a nominal timing flank while cranking, squared.
    pub(crate) fn squared_at_flank(&self) -> u64 {
        self.motion.map_or(0, |motion| motion.squared_at(0, self.pulse.places))
    }

    /// Starts out of standstill from the last flank's place, which the pickup's level tells.
    #[inline(never)]
    pub(crate) fn start(&mut self, at: u32, active: bool, motion: Motion) {
        self.stop();
        self.at = u64::from(at) << 32;
        self.motion = Some(motion);
        self.here = if active { 0 } else { signed(self.pulse.second) };
    }

    /// Stands still. Part by part: a whole new train would lie on a small board's stack.
    #[inline(never)]
    pub(crate) fn stop(&mut self) {
        self.motion = None;
        self.recoil = None;
        self.next_motion = None;
        self.upset = None;
        self.late = 0;
        self.lost = false;
        self.added = None;
    }

    /// The next flank; `active` is the pickup's level after the last one worked out.
    pub(crate) fn next(&mut self, tick_rate: u32, active: bool) -> Option<Passage> {
        if let Some(recoil) = &mut self.recoil {
            let passage = recoil.next(tick_rate, &self.pulse, &mut self.at);
            if passage.kind == Some(EventKind::Stopped) {
                self.recoil = None;
            }
            return Some(passage);
        }
        // Worked on where it lies: a copy takes a small board as long as the sums.
        let motion = self.motion.as_mut()?;
        let early = match &self.upset {
            Some((_, Upset { after_pulses: 0, disturbance: Disturbance::Shift(early) })) => place(*early),
            _ => 0,
        };
        let pulse_end = signed(self.pulse.places.pulse) - early;
        let second = signed(self.pulse.second) + self.late;
        let mut to = if self.here < second { second } else { pulse_end };
        if let Some((added, _)) = self.added {
            to = to.min(added);
        }
        let distance = u32::try_from(to - self.here).unwrap_or(0);
        let (time, ramp_ended) = if let Motion::Steady { speed } = motion {
            let [from_timing, from_second] = &mut self.steady;
            let known = if self.here < second { from_timing } else { from_second };
            (known.time(tick_rate, distance, *speed), false)
        } else {
            motion.advance(tick_rate, self.here, distance, self.pulse.places)
        };
        self.at = self.at.wrapping_add(time);
        self.here = to;
        let mut passage = Passage {
            order: FlankOrder { at: nearest_tick(self.at), flank: None },
            kind: None,
            ramp_ended,
            motion: None,
            upset: None,
        };
        match self.added {
            Some((added, ends)) if added == to => {
                self.added = if ends { None } else { Some((added + signed(DEGREE), true)) };
                (passage.order.flank, passage.kind) = if active {
                    (Some(self.pulse.idle_flank()), self.pulse.idle_event(EventKind::StraySecond))
                } else {
                    (Some(Flank::Timing), Some(EventKind::StrayTiming))
                };
            }
            _ if to == second => {
                if !self.lost {
                    passage.order.flank = Some(self.pulse.idle_flank());
                    let kind = if self.late == 0 { EventKind::Second } else { EventKind::MovedSecond };
                    passage.kind = self.pulse.idle_event(kind);
                }
            }
            _ => self.begin_pulse(early, &mut passage),
        }
        Some(passage)
    }

    #[inline(never)]
    fn begin_pulse(&mut self, early: i32, passage: &mut Passage) {
        self.here = -early;
        self.late = -early;
        self.lost = false;
        passage.order.flank = Some(Flank::Timing);
        passage.kind = Some(EventKind::Timing);
        match &mut self.upset {
            Some((sequence, Upset { after_pulses: 0, disturbance })) => {
                passage.upset = Some(*sequence);
                match *disturbance {
                    Disturbance::Lose => {
                        self.lost = true;
                        passage.order.flank = None;
                        passage.kind = Some(EventKind::LostTiming);
                    }
                    Disturbance::Add(after) => self.added = Some((place(after), false)),
                    Disturbance::Shift(_) => passage.kind = Some(EventKind::MovedTiming),
                }
                self.upset = None;
            }
            Some((_, waiting)) => waiting.after_pulses -= 1,
            None => {}
        }
        if let Some((sequence, next)) = self.next_motion.take() {
            passage.motion = Some(sequence);
            match next {
                NextMotion::Turn(motion) => self.motion = Some(motion),
                NextMotion::Halt(halt) => {
                    self.recoil = Some(Recoil::new(halt, self.squared(), self.here));
                    self.motion = None;
                }
            }
        }
    }
}

/// The tick nearest to an exact time.
pub(crate) fn nearest_tick(at: u64) -> u32 {
    // The upper half of 64 bits fits.
    u32::try_from(at.wrapping_add(1 << 31) >> 32).unwrap_or(0)
}

/// A place within two turns, which a signed number holds.
pub(crate) fn signed(place: u32) -> i32 {
    i32::try_from(place).unwrap_or(i32::MAX)
}
