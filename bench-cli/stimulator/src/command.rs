//! What a message may ask, and when it is refused.

use bobweight_wire::{
    Acceleration, CrankAngle, CrankPattern, CrankSpeed, Depression, Disturbance, Halt, Intake, PickupPattern, Ramp,
    Refusal, RunLength, SpeedRatio, Upset,
};

use crate::motion::{Motion, time};
use crate::stimulator::{Run, Stimulator, turns};
use crate::swing::Swing;
use crate::train::{NextMotion, Pulse};
use crate::units::{DEGREE, place, rate, root, speed};

impl Stimulator {
    #[inline(never)]
    pub(crate) fn set_pattern(&mut self, pattern: &PickupPattern) -> Result<(), Refusal> {
        if self.turning() {
            return Err(Refusal::Turning);
        }
        self.take_pattern(Pulse::new(pattern)?);
        self.timing_edge = pattern.timing_edge;
        self.set_idle();
        Ok(())
    }

    #[inline(never)]
    pub(crate) fn set_speed(&mut self, sequence: u8, wanted: CrankSpeed, now: u32) -> Result<(), Refusal> {
        if !turns(wanted) {
            return Err(Refusal::Speed);
        }
        let speed = speed(wanted);
        self.pulse_in_time(speed, self.settings.abilities.shortest_pulse)?;
        self.change_motion(sequence, speed, speed, Motion::Steady { speed }, now)
    }

    #[inline(never)]
    pub(crate) fn set_ramp(&mut self, sequence: u8, ramp: Ramp, now: u32) -> Result<(), Refusal> {
        if !turns(ramp.from) || !turns(ramp.to) {
            return Err(Refusal::Speed);
        }
        if !(Acceleration::LEAST..=Acceleration::GREATEST).contains(&ramp.rate) {
            return Err(Refusal::Rate);
        }
        let (from, to) = (speed(ramp.from), speed(ramp.to));
        self.pulse_in_time(from.max(to), self.settings.abilities.shortest_pulse_in_ramp)?;
        self.change_motion(sequence, from, from.max(to), Motion::ramp(from, to, rate(ramp.rate)), now)
    }

    #[inline(never)]
    pub(crate) fn set_cranking(&mut self, sequence: u8, pattern: CrankPattern, now: u32) -> Result<(), Refusal> {
        if !(CrankSpeed::LEAST..=CrankSpeed::GREATEST_CRANKING).contains(&pattern.mean) {
            return Err(Refusal::Speed);
        }
        if !(SpeedRatio::EVEN..=SpeedRatio::GREATEST).contains(&pattern.ratio) {
            return Err(Refusal::Ratio);
        }
        let pulse = self.train()?.pulse.places.pulse;
        let mean = speed(pattern.mean);
        self.pulse_in_time(mean, self.settings.abilities.shortest_pulse_cranking)?;
        let swing = Swing::new(mean, pattern.ratio, pulse).ok_or(Refusal::Speed)?;
        self.change_motion(sequence, mean, swing.greatest(), Motion::Crank(swing), now)
    }

    /// A change of motion at the next timing flank. Out of standstill the crank comes to that flank at the `first` speed.
    fn change_motion(
        &mut self,
        sequence: u8,
        first: u32,
        greatest: u32,
        motion: Motion,
        now: u32,
    ) -> Result<(), Refusal> {
        // Time for the caller to put the first flank where it belongs.
        let start = now.wrapping_add(self.settings.tick_rate_hz >> 7);
        let turning = self.turning();
        let shortest = self.train()?.pulse.shortest();
        self.in_time(shortest, greatest)?;
        let active = self.active;
        let train = self.train_mut()?;
        if turning && !train.takes_motion() {
            return Err(Refusal::MotionWaits);
        }
        if !turning {
            train.start(start, active, Motion::Steady { speed: first });
        }
        train.next_motion = Some((sequence, NextMotion::Turn(motion)));
        Ok(())
    }

    #[inline(never)]
    pub(crate) fn set_halt(&mut self, sequence: u8, halt: Halt) -> Result<(), Refusal> {
        let tick_rate = self.settings.tick_rate_hz;
        let train = self.train_mut()?;
        if !train.cranking() {
            return Err(Refusal::NotCranking);
        }
        if train.next_motion.is_some() {
            return Err(Refusal::MotionWaits);
        }
        if train.upset_waits() {
            return Err(Refusal::UpsetWaits);
        }
        let pulse = train.pulse.places.pulse;
        let within = |angle: CrankAngle, least: u32| {
            (CrankAngle(0)..=CrankAngle::TWO_TURNS).contains(&angle)
                && u32::try_from(place(angle)).is_ok_and(|p| (least..=pulse).contains(&p))
        };
        // A crank that takes a quarter of the clock's range to stand could not be told from one that stands.
        let slow = |distance: u32| time(tick_rate, distance, root(train.squared_at_flank()), 0) >> 32 >= 1 << 30;
        if !within(halt.after, DEGREE) || !within(halt.back, 0) || slow(place(halt.after).unsigned_abs()) {
            return Err(Refusal::Halt);
        }
        train.next_motion = Some((sequence, NextMotion::Halt(halt)));
        Ok(())
    }

    #[inline(never)]
    pub(crate) fn set_upset(&mut self, sequence: u8, upset: Upset) -> Result<(), Refusal> {
        let train = self.train()?;
        if !train.turning() {
            return Err(Refusal::NotTurning);
        }
        if train.next_motion.is_some() {
            return Err(Refusal::MotionWaits);
        }
        if train.upset_waits() {
            return Err(Refusal::UpsetWaits);
        }
        train.pulse.allows(upset.disturbance)?;
        if upset.disturbance != Disturbance::Lose {
            self.in_time(DEGREE, root(train.squared()))?;
        }
        self.train_mut()?.upset = Some((sequence, upset));
        Ok(())
    }

    #[inline(never)]
    pub(crate) fn set_run(&mut self, sequence: u8, length: RunLength) -> Result<(), Refusal> {
        let train = self.train()?;
        if !train.turning() {
            return Err(Refusal::NotTurning);
        }
        let left = match length {
            RunLength::Sparks(sparks) => sparks,
            RunLength::Cycles(cycles) => train.pulse.in_two_turns().checked_mul(cycles).ok_or(Refusal::Count)?,
        };
        if left == 0 {
            return Err(Refusal::Count);
        }
        self.run = Some(Run { sequence, length, left, begun: false });
        Ok(())
    }

    #[inline(never)]
    pub(crate) fn set_intake(&mut self, intake: Intake) -> Result<(), Refusal> {
        let abilities = self.settings.abilities;
        if intake.depression > Depression::GREATEST {
            return Err(Refusal::Depression);
        }
        // At rest such an output says what a board without it says: nothing.
        if (intake.depression.0 != 0 && abilities.depression_step == 0)
            || (!intake.throttle_closed && !abilities.throttle)
        {
            return Err(Refusal::NoSuchOutput);
        }
        self.intake = intake;
        Ok(())
    }

    fn in_time(&self, distance: u32, speed: u32) -> Result<(), Refusal> {
        self.not_below(distance, speed, self.settings.abilities.shortest_interval)
    }

    #[inline(never)]
    fn pulse_in_time(&self, speed: u32, shortest: u32) -> Result<(), Refusal> {
        self.not_below(self.train()?.pulse.places.pulse, speed, shortest)
    }

    #[inline(never)]
    fn not_below(&self, distance: u32, speed: u32, shortest: u32) -> Result<(), Refusal> {
        if time(self.settings.tick_rate_hz, distance, speed, speed) >> 32 < u64::from(shortest) {
            return Err(Refusal::TooFast);
        }
        Ok(())
    }
}
