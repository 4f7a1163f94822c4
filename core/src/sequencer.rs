//! Edge by edge: what to order of the coil. The only place that holds state.
//!
//! **Turning a charged coil off is a spark, whatever the program calls it.** Every rule here follows from that.
//!
//! The caller gives each edge of the pickup with its time, polls after every coil-off and at least every 2^30 ticks, and moves
//! what is answered into its timer. Times are wrapping ticks; `now` is never before an edge that it comes with. At most one
//! order waits, and no dwell begins without an off time already set.
//!
//! - A dwell that fits between its edge and its spark begins after the edge. Otherwise it begins before it, except while
//!   cranking, with an off time that suits the slowest edge that the greatest deceleration allows; the edge brings it forward.
//!   So a spark without its edge is late, never early.
//! - The delay uses the last measured period, without prediction. No predictor from periods that is right at steady speed
//!   lowers the bound of an early spark: a speed that zigzags can give equal periods. This errs late while the throttle opens.
//! - While cranking, a pickup with a second flank near the cranking advance needs no period: the timing flank arms it, dwell
//!   begins at the second flank and the spark comes one dwell later, never before that flank. A dwell too long to be over, its
//!   spark burnt, at the next flank is shortened.
//! - Points bounce: within the time that the pickup states after a flank, of either kind, no other is looked at.
//! - Only the edge that times a spark moves the off time of its dwell, and never beyond the largest dwell. Of a reluctor the
//!   spark's own crossing brings it forward too: see `reluctor.rs`.

mod coil;
mod counters;
mod reluctor;
mod rhythm;

pub use counters::Counters;

use crate::advance::Phase;
use crate::pickup::Flank;
use crate::quantity::{Advance, Depression, Voltage};
use crate::timetable::{Timetable, scaled};
use coil::Coil;
use reluctor::Flanks;
use rhythm::{Heard, Rhythm};

/// What to do with the coil.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[must_use]
pub enum Answer {
    /// What was ordered stands.
    Nothing,
    /// Turn the coil on and off at these ticks. Takes the place of an order that waits. An `on` that is past means at once.
    Order {
        /// When to turn it on.
        on: u32,
        /// When to turn it off: the spark.
        off: u32,
    },
    /// The dwell that runs ends at this tick instead. A tick that is past means at once.
    MoveOff {
        /// When to turn it off: the spark.
        off: u32,
    },
    /// The order that waits is void.
    Cancel,
}

/// Turns edges into orders with a timetable.
#[derive(Clone, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Sequencer<'t> {
    table: &'t Timetable,
    rhythm: Rhythm,
    coil: Coil,
    phase: Phase,
    /// The phase before the last edge: of a false one nothing is left but its spark.
    phase_before: Phase,
    /// Whether a running engine is to be held, from its next dwell on.
    hold: bool,
    /// The dwell of the spark that the next second flank makes; `None` where it makes none. Worked out before, for dwell begins at once.
    armed: Option<u32>,
    /// The pulses of a reluctor.
    flanks: Flanks,
    /// The last flank that was looked at, of points that may bounce after it; where that is long ago, some time that is long ago.
    touched: u32,
    dwell: u32,
    /// With its trim.
    vacuum: Advance,
    /// The same as a share of the period, so that no edge needs a division.
    vacuum_q16: i32,
    /// When the vacuum advance was last settled; `None` before the first sample and after so long that the clock may wrap.
    vacuum_since: Option<u32>,
    counters: Counters,
}

/// A dwell is begun before its edge only where the slowest next spark is less than 2^31 ticks away, whatever the sheet.
const LONGEST_PERIOD_OF_EARLY_DWELL: u32 = 1 << 28;

/// How much later `a` is than `b` on a clock that wraps; negative where it is earlier.
const fn later_by(a: u32, b: u32) -> i32 {
    a.wrapping_sub(b) as i32
}

/// The later of two times.
const fn latest(a: u32, b: u32) -> u32 {
    if later_by(a, b) >= 0 { a } else { b }
}

impl<'t> Sequencer<'t> {
    /// A sequencer that has seen no edge, with no vacuum advance and the dwell of the highest battery voltage.
    #[must_use]
    pub const fn new(table: &'t Timetable) -> Self {
        Self {
            table,
            rhythm: Rhythm::NONE,
            coil: Coil::OFF,
            phase: Phase::Stopped,
            phase_before: Phase::Stopped,
            hold: false,
            armed: None,
            flanks: Flanks::NONE,
            touched: 0,
            dwell: table.dwell_of_unknown_battery(),
            vacuum: crate::advance::NONE,
            vacuum_q16: 0,
            vacuum_since: None,
            counters: Counters::NONE,
        }
    }

    /// What the engine does.
    #[must_use]
    pub const fn phase(&self) -> Phase {
        self.phase
    }

    /// The last measured period in ticks; `None` before there is one.
    #[must_use]
    pub const fn period(&self) -> Option<u32> {
        self.rhythm.period()
    }

    /// When the last edge that was believed came; `None` before there was one.
    #[must_use]
    pub const fn last_edge(&self) -> Option<u32> {
        self.rhythm.heard_at()
    }

    /// What vacuum advance and trim give to the next spark.
    #[must_use]
    pub const fn vacuum(&self) -> Advance {
        self.vacuum
    }

    /// What went otherwise than planned, counted since power-up.
    #[must_use]
    pub const fn counters(&self) -> &Counters {
        &self.counters
    }

    /// Holds the advance from the next dwell on, or lets it go. Held, there is no spark above
    /// [`NO_HELD_SPARK_ABOVE`](crate::NO_HELD_SPARK_ABOVE).
    pub const fn hold(&mut self, hold: bool) {
        self.hold = hold;
    }

    /// Takes the battery's voltage for the next dwell.
    pub const fn battery(&mut self, voltage: Voltage) {
        self.dwell = self.table.dwell(voltage);
    }

    /// Takes a sample of the vacuum sensor; `None` is a failed or absent one. Without a trim input this is all that is added to the curve.
    ///
    /// Vacuum advance is added no faster than the greatest rate and taken away at once.
    pub const fn depression(&mut self, sample: Option<Depression>, throttle_closed: bool, now: u32) {
        self.add(self.table.vacuum_advance(sample, throttle_closed), now);
    }

    /// The same, with what the firmware's own input asks for: a switch for another fuel, a cold engine. It is kept to the model's
    /// [`Trim`](crate::Trim); `None` is an input that has failed, and is given the least. Before the first sample there is no trim.
    ///
    /// Both together are added no faster than the greatest rate of the vacuum advance, or 30 crank degrees a second where there is none,
    /// and taken away at once.
    pub const fn depression_trimmed(
        &mut self,
        sample: Option<Depression>,
        throttle_closed: bool,
        trim: Option<Advance>,
        now: u32,
    ) {
        let vacuum = self.table.vacuum_advance(sample, throttle_closed);
        self.add(Advance::saturating_from_bits(vacuum.bits() + self.table.trim.given(trim).bits()), now);
    }

    const fn add(&mut self, wanted: Advance, now: u32) {
        let more = wanted.bits() - self.vacuum.bits();
        let Some(since) = self.vacuum_since else {
            self.vacuum_since = Some(now);
            if more < 0 {
                self.set_vacuum(wanted);
            }
            return;
        };
        if more <= 0 {
            self.set_vacuum(wanted);
            self.vacuum_since = Some(now);
            return;
        }
        let times = &self.table.times;
        let elapsed = now.wrapping_sub(since);
        let elapsed = if elapsed > times.second { times.second } else { elapsed };
        // A second at 200 MHz and the greatest rate at 1 kHz: the product is under 2^60.
        let allowed = (elapsed as u64 * times.vacuum_rate as u64) >> 16;
        // Samples too near to each other to earn one step wait for the next, or nothing would ever be added.
        if allowed > 0 {
            let added = if allowed < more as u64 { allowed as i32 } else { more };
            self.set_vacuum(Advance::saturating_from_bits(self.vacuum.bits() + added));
            self.vacuum_since = Some(now);
        }
    }

    const fn set_vacuum(&mut self, vacuum: Advance) {
        if vacuum.bits() != self.vacuum.bits() {
            self.vacuum = vacuum;
            self.vacuum_q16 = self.table.share_of_period(vacuum);
        }
    }

    /// Whether a flank counts while the engine does what it does: a vane's second flank times sparks while cranking alone, and a firmware need
    /// not lose time with it otherwise. A reluctor's tells whole pulses, and points bounce after either.
    #[must_use]
    pub const fn minds(&self, flank: Flank) -> bool {
        let times = &self.table.times;
        matches!(flank, Flank::Timing)
            || matches!(self.phase, Phase::Cranking)
            || times.times_next_pulse
            || times.bounce > 0
    }

    /// Takes an edge of the pickup that came at `at` and is handled at `now`.
    pub const fn edge(&mut self, flank: Flank, at: u32, now: u32) -> Answer {
        self.settle(now);
        if self.bounces(at) {
            return Answer::Nothing;
        }
        let reluctor = self.table.times.times_next_pulse;
        if matches!(flank, Flank::Second) {
            return if reluctor { self.moving_flank(at, now) } else { self.second_flank(at, now) };
        }
        let answer = if reluctor { self.crossing(at, now) } else { self.timing_flank(at, now) };
        if matches!(answer, Answer::Order { .. } | Answer::MoveOff { .. }) {
            return answer;
        }
        self.rhythm.look(self.table);
        // A pulse without a spark has no coil-off, so no poll after it: the next pulse's early dwell is ordered here.
        match self.dwell_before_edge(now) {
            Answer::Nothing => answer,
            early => early,
        }
    }

    /// Lets time pass: ends a stopped engine's orders, and orders the dwell that begins before its edge.
    ///
    /// Call it after every coil-off and at least every 2^30 ticks, so that a long stop cannot look short when the clock wraps.
    pub const fn poll(&mut self, now: u32) -> Answer {
        self.settle(now);
        if now.wrapping_sub(self.touched) > 1 << 29 {
            self.touched = now.wrapping_sub(1 << 28);
        }
        if let Some(since) = self.vacuum_since
            && now.wrapping_sub(since) > 1 << 30
        {
            self.vacuum_since = None;
        }
        if self.rhythm.stop(now, self.table) {
            self.phase = Phase::Stopped;
            self.armed = None;
            self.flanks = Flanks::NONE;
            return self.cancel(now);
        }
        self.rhythm.look(self.table);
        match self.owed_spark(now) {
            Answer::Nothing => self.dwell_before_edge(now),
            owed => owed,
        }
    }

    /// Whether points bounce at a time. Where they do not, they may from then on.
    const fn bounces(&mut self, at: u32) -> bool {
        let bounce = self.table.times.bounce;
        if bounce == 0 {
            return false;
        }
        let does = at.wrapping_sub(self.touched) < bounce;
        if !does {
            self.touched = at;
        }
        does
    }

    /// Books what has come to its end in the meantime.
    const fn settle(&mut self, now: u32) {
        if self.coil.settle(now) && self.flanks.forced_at_end() {
            self.counters.forced();
        }
    }

    const fn timing_flank(&mut self, at: u32, now: u32) -> Answer {
        let burning = self.coil.burning(at, self.table.times.burn);
        let phase_of_running_dwell = self.phase();
        let heard = self.rhythm.hear(at, burning, self.table);
        self.counters.count(heard);
        match heard {
            Heard::Ignored | Heard::Refused => Answer::Nothing,
            Heard::Started => {
                // Whatever was ordered before a stop that nobody polled through is another engine's.
                self.phase = Phase::Stopped;
                self.armed = None;
                self.coil.next_pulse();
                self.cancel(now)
            }
            Heard::FirstPeriod => {
                self.change_phase();
                self.armed = self.dwell_from_second_flank();
                self.coil.next_pulse();
                self.cancel(now)
            }
            Heard::OrdersNothing => {
                self.armed = None;
                self.coil.next_pulse();
                self.cancel(now)
            }
            Heard::Good | Heard::AfterLost => {
                self.change_phase();
                self.coil.next_pulse();
                self.time_spark(at, now, phase_of_running_dwell)
            }
            Heard::TakesPlace => {
                self.phase = self.phase_before;
                self.change_phase();
                self.time_spark(at, now, phase_of_running_dwell)
            }
        }
    }

    /// Orders the spark of the pulse whose edge came at `at`.
    const fn time_spark(&mut self, at: u32, now: u32, phase_of_running_dwell: Phase) -> Answer {
        self.armed = None;
        let period = self.rhythm.measured();
        if self.coil.begun(now, self.table.times.latency) {
            if self.coil.is_past() {
                self.counters.still_running();
                return Answer::Nothing;
            }
            // A change of phase acts from the next dwell on.
            let delay = self.table.delay_of_share(phase_of_running_dwell, period, self.vacuum_q16);
            return self.move_off(at.wrapping_add(delay), now);
        }
        if self.coil.pulse_has_spark() {
            return self.cancel(now);
        }
        if self.table.times.times_next_pulse && matches!(self.phase, Phase::Cranking) {
            // Its crossing will make it.
            return self.cancel(now);
        }
        // To hear whether an edge hides in the echo of every spark, the spark at the second flank is withheld too.
        let listens = self.rhythm.listens();
        self.armed = if listens { None } else { self.dwell_from_second_flank() };
        if self.armed.is_some() {
            return self.cancel(now);
        }
        let handled_late = now.wrapping_sub(at) > period / 4;
        if handled_late || listens || matches!(self.phase, Phase::Overspeed | Phase::Stopped) {
            return self.cancel(now);
        }
        self.order_timed(at, now)
    }

    /// Orders a spark that an edge times, its dwell after that edge.
    const fn order_timed(&mut self, at: u32, now: u32) -> Answer {
        let period = self.rhythm.measured();
        let off = at.wrapping_add(self.table.delay_of_share(self.phase(), period, self.vacuum_q16));
        // Not before the order is sure to be in the timer: of a dwell that is cut short a slower answer would leave less than the
        // shortest, which the firmware leaves out, and so at each pulse, for the next one's early dwell waits for its end.
        let on = latest(off.wrapping_sub(self.dwell_at(period)), at.wrapping_add(self.table.times.latency));
        self.order(on, off, off, now)
    }

    const fn second_flank(&mut self, at: u32, now: u32) -> Answer {
        let Some(dwell) = self.armed else {
            return Answer::Nothing;
        };
        self.armed = None;
        self.rhythm.look(self.table);
        if !self.rhythm.is_due(now) {
            // The engine stopped between its flanks.
            return Answer::Nothing;
        }
        if self.coil.begun(now, self.table.times.latency) {
            self.counters.still_running();
            return Answer::Nothing;
        }
        let off = at.wrapping_add(dwell);
        self.order(at, off, off, now)
    }

    /// The dwell of a spark that follows its edge too closely, begun before that edge.
    const fn dwell_before_edge(&mut self, now: u32) -> Answer {
        let times = &self.table.times;
        let period = self.rhythm.measured();
        if !matches!(self.phase, Phase::Running | Phase::Held)
            || !self.coil.is_free()
            || !self.rhythm.lets_dwell_precede_edge(now)
            || period > LONGEST_PERIOD_OF_EARLY_DWELL
        {
            return Answer::Nothing;
        }
        let delay = self.table.delay_of_share(self.phase(), period, self.vacuum_q16);
        let (slowest, slowest_q16) = self.rhythm.slowest_edge();
        let predicted = self.rhythm.last_edge().wrapping_add(period).wrapping_add(delay);
        // The slowest spark lies at the ordered angle too: delay and lag together grow with the period.
        let (stretched, _) = scaled(delay.wrapping_add(times.lag), slowest_q16);
        let off = slowest.wrapping_add(stretched as u32).wrapping_add(1).wrapping_sub(times.lag);
        let on = latest(predicted.wrapping_sub(self.dwell_at(period)), off.wrapping_sub(times.largest_dwell));
        // The dwell fits after the edge; or waiting for the slowest edge leaves less of it than there is room for after this one.
        if self.is_after_next_edge(on) {
            return Answer::Nothing;
        }
        let answer = self.order(on, off, predicted, now);
        if matches!(answer, Answer::Order { .. }) {
            self.coil.is_for_next();
        }
        answer
    }

    /// Whether a time is so long after the next edge that the edge's own order reaches the timer before it.
    #[inline(never)]
    const fn is_after_next_edge(&self, time: u32) -> bool {
        let edge = self.rhythm.last_edge().wrapping_add(self.rhythm.measured());
        later_by(time, edge.wrapping_add(self.table.times.latency)) >= 0
    }

    /// Orders a dwell that keeps clear of the last spark, or none where less than the shortest would remain before
    /// the spark that is `expected`.
    const fn order(&mut self, on: u32, off: u32, expected: u32, now: u32) -> Answer {
        let on = latest(self.coil.clear_of_burn(on, self.table.times.burn), now);
        if later_by(expected, on) < self.table.times.shortest_dwell as i32 {
            return self.cancel(now);
        }
        self.coil.order(on, off);
        Answer::Order { on, off }
    }

    const fn move_off(&mut self, wanted: u32, now: u32) -> Answer {
        let last = self.coil.on().wrapping_add(self.table.times.largest_dwell);
        let mut off = wanted;
        if later_by(off, last) > 0 {
            self.counters.forced();
            off = last;
        }
        if later_by(off, now) < 0 {
            self.counters.off_now();
            off = now;
        }
        if self.coil.move_off(off) { Answer::MoveOff { off } } else { Answer::Nothing }
    }

    /// Voids an order that waits. A dwell that has begun goes on: to end it now would be a spark.
    #[inline(never)]
    const fn cancel(&mut self, now: u32) -> Answer {
        if self.coil.cancel(now, self.table.times.latency) { Answer::Cancel } else { Answer::Nothing }
    }

    /// The dwell at a period: the battery's, within the largest duty.
    const fn dwell_at(&self, period: u32) -> u32 {
        let (longest, _) = scaled(period, self.table.times.duty_q16);
        let longest = longest as u32;
        if self.dwell < longest { self.dwell } else { longest }
    }

    const fn dwell_from_second_flank(&self) -> Option<u32> {
        let times = &self.table.times;
        if times.after_second_flank_q16 == 0 || !matches!(self.phase, Phase::Cranking) {
            return None;
        }
        // It ends, and its spark has burnt, before the next flank: an edge that found it running would get no spark of its own.
        let period = self.rhythm.measured();
        let (room, _) = scaled(period, times.after_second_flank_q16);
        let room = (room as u32).saturating_sub(times.burn);
        let dwell = self.dwell_at(period);
        Some(if dwell < room { dwell } else { room })
    }

    const fn change_phase(&mut self) {
        self.phase_before = self.phase;
        let times = &self.table.times;
        let period = self.rhythm.measured();
        let (no_spark_below, spark_again_above) = if self.hold {
            (times.no_held_spark_below, times.held_spark_again_above)
        } else {
            (times.no_spark_below, times.spark_again_above)
        };
        self.phase = match self.phase {
            Phase::Overspeed if period <= spark_again_above => Phase::Overspeed,
            _ if period < no_spark_below => Phase::Overspeed,
            Phase::Stopped | Phase::Cranking if period > times.running_to => Phase::Cranking,
            _ if period > times.cranking_above => Phase::Cranking,
            _ if self.hold => Phase::Held,
            _ => Phase::Running,
        };
    }
}
