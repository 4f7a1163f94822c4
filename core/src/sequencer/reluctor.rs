//! A reluctor behind its conditioner: sparks at the zero crossing while cranking, timed by the crossing before while running.
//!
//! The crossing holds its crank angle, the static advance. The other flank of a pulse comes before it, where a threshold is passed,
//! and moves with the height of the signal, so with the speed. With the static advance as the least there is, no spark needs to
//! come after its own crossing, and no cranking spark may come before it:
//!
//! - A crossing orders the running spark of the *next* pulse: the way is one whole pulse less what the spark is earlier than the
//!   crossing.
//! - At its own crossing at the latest a spark comes: a dwell that runs ends there at once, or when three quarters of it are
//!   over; three quarters of a dwell are more than half of its energy. A dwell that was still to begin begins there: this is
//!   sooner than was ordered, and without it a pulse of an engine that gathers speed would have none.
//! - While cranking no period times a spark. Dwell begins by the moving flank, so that it is over at the crossing if that comes
//!   as long after the flank as in the last pulse: the crank is in the same part of its compression. It does so only where the
//!   moving flank's earliest angle is within the greatest cranking limit, and a crossing that takes 7/4 as long still comes
//!   within the largest dwell. Otherwise dwell begins at the crossing, and the spark comes one dwell later.
//! - A cranking crossing makes a spark only as the end of a whole pulse: both flanks, not too near to each other.
//! - A false crossing shortens a period, and a short period would end cranking, with a spark anywhere. So where the engine could
//!   stop before its next crossing, a period is believed only between two whole pulses; otherwise the next spark is made at its own
//!   crossing, as while cranking.
//! - The phase that a crossing finds is that of the spark at the crossing; the phase that it leaves is that of the next spark.

use super::rhythm::Heard;
use super::{Answer, Sequencer, later_by, latest};
use crate::advance::Phase;
use crate::timetable::scaled;

/// What is known of a reluctor's pulses besides the rhythm of their crossings.
#[derive(Clone, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub(super) struct Flanks {
    /// The last moving flank.
    moving: u32,
    /// Whether there was one since the last crossing.
    risen: bool,
    /// From the moving flank to the crossing of the last pulse that was whole; 0 where it was not.
    between: u32,
    /// Whether the last crossing has still to order the spark of the next pulse, once the coil is off.
    owes_spark: bool,
    /// Whether the dwell that runs waits for its crossing.
    waits_for_crossing: bool,
}

impl Flanks {
    pub const NONE: Self = Self { moving: 0, risen: false, between: 0, owes_spark: false, waits_for_crossing: false };

    /// Whether the dwell that has ended waited for its crossing in vain. Says so once.
    pub const fn forced_at_end(&mut self) -> bool {
        let forced = self.waits_for_crossing;
        self.waits_for_crossing = false;
        forced
    }
}

impl Sequencer<'_> {
    /// A zero crossing.
    // Not copied into the firmware's loop, whose other pickups would carry its stack.
    #[inline(never)]
    pub(super) const fn crossing(&mut self, at: u32, now: u32) -> Answer {
        let burning = self.coil.burning(at, self.table.times.burn);
        let (phase_before, crossing_before) = (self.phase, self.rhythm.last_edge());
        let pulse_before_was_whole = self.flanks.between > 0;
        let heard = self.rhythm.hear(at, burning, self.table);
        self.counters.count(heard);
        match heard {
            Heard::Ignored | Heard::Refused => return Answer::Nothing,
            Heard::Started => {
                self.phase = Phase::Stopped;
                self.flanks = Flanks::NONE;
                self.coil.next_pulse();
                return self.cancel(now);
            }
            Heard::TakesPlace => self.phase = self.phase_before,
            Heard::OrdersNothing | Heard::FirstPeriod | Heard::Good | Heard::AfterLost => {}
        }
        let whole = self.end_of_pulse(at);
        let period = self.rhythm.measured();
        let sure = whole && pulse_before_was_whole && at.wrapping_sub(crossing_before) == period;
        if !matches!(heard, Heard::OrdersNothing) {
            self.change_phase();
            let cranked = matches!(phase_before, Phase::Cranking | Phase::Stopped);
            let runs = !matches!(self.phase, Phase::Cranking | Phase::Stopped);
            if runs && !sure && (cranked || self.table.could_stop(period)) {
                self.phase = Phase::Cranking;
            }
        }
        let cranking = matches!(phase_before, Phase::Cranking) || matches!(self.phase, Phase::Cranking);
        let mut lacks_spark = false;
        if !matches!(heard, Heard::TakesPlace) {
            lacks_spark = self.coil.lacks_spark();
            self.coil.next_pulse();
        }
        let times_next = matches!(heard, Heard::Good | Heard::AfterLost | Heard::TakesPlace);
        let listens = times_next && self.rhythm.listens();
        self.flanks.owes_spark = times_next && !listens;
        if self.coil.has_past_order() {
            // Noise beside the moving flank is no crossing: it ends no dwell that waits for one.
            let own = whole || !self.flanks.waits_for_crossing;
            if !own {
                self.counters.half_pulse();
            }
            if self.coil.begun(now, self.table.times.latency) {
                return if own { self.end_dwell(at, now) } else { Answer::Nothing };
            }
            self.flanks.waits_for_crossing = false;
            if own && !listens {
                return self.spark_from_crossing(at, now);
            }
        } else if lacks_spark && cranking {
            if whole && !listens && self.coil.is_idle() {
                return self.spark_from_crossing(at, now);
            }
            if !whole {
                self.counters.half_pulse();
            }
        }
        if !self.flanks.owes_spark {
            if listens {
                self.coil.withhold();
            }
            return self.cancel(now);
        }
        self.flanks.owes_spark = false;
        self.time_spark(at, now, phase_before)
    }

    /// The moving flank: while cranking it can begin the dwell whose end the crossing is.
    #[inline(never)]
    pub(super) const fn moving_flank(&mut self, at: u32, now: u32) -> Answer {
        let times = &self.table.times;
        // While cranking a spark comes at the crossing, and what follows it is its echo. A running spark can come just before its
        // pulse's moving flank.
        if self.coil.burning(at, times.burn) && matches!(self.phase, Phase::Cranking | Phase::Stopped) {
            return Answer::Nothing;
        }
        if self.flanks.risen && matches!(self.phase, Phase::Cranking | Phase::Stopped) {
            self.counters.half_pulse();
            self.flanks.between = 0;
        }
        self.flanks.moving = at;
        self.flanks.risen = true;
        let between = self.flanks.between;
        let period = self.rhythm.measured();
        if !times.dwell_by_moving_flank
            || !matches!(self.phase, Phase::Cranking)
            || between == 0
            || !self.coil.is_idle()
            || self.coil.pulse_has_spark()
        {
            return Answer::Nothing;
        }
        self.rhythm.look(self.table);
        let expected = at.wrapping_add(between);
        if !self.rhythm.is_due(expected) {
            return Answer::Nothing;
        }
        // A flank so much sooner than the last pulse's is none of the pickup's, or the engine gathers speed: the crossing will tell.
        if expected.wrapping_sub(self.rhythm.last_edge()) < period - period / 8 {
            return Answer::Nothing;
        }
        let on = at.wrapping_add(between.saturating_sub(self.cranking_dwell()));
        let off = on.wrapping_add(times.largest_dwell);
        if later_by(expected.wrapping_add(between / 4 * 3), off) > 0 {
            return Answer::Nothing;
        }
        let answer = self.order(on, off, expected, now);
        self.flanks.waits_for_crossing = matches!(answer, Answer::Order { .. });
        answer
    }

    /// Orders the running spark that the last crossing owes, once the coil is free for it.
    pub(super) const fn owed_spark(&mut self, now: u32) -> Answer {
        if !self.flanks.owes_spark || !self.coil.is_idle() {
            return Answer::Nothing;
        }
        self.flanks.owes_spark = false;
        self.rhythm.look(self.table);
        if !matches!(self.phase, Phase::Running | Phase::Held) || !self.rhythm.is_due(now) {
            return Answer::Nothing;
        }
        self.order_timed(self.rhythm.last_edge(), now)
    }

    /// Takes the crossing for the end of its pulse; says whether that was whole.
    const fn end_of_pulse(&mut self, at: u32) -> bool {
        let between = at.wrapping_sub(self.flanks.moving);
        // From rest the crank reaches up to twice its mean speed within a pulse, and past a compression up to 1.8 times: at least a
        // quarter of the way's share is never passed sooner.
        let (least, _) = scaled(self.rhythm.measured(), self.table.times.between_flanks_q16 as i32);
        let whole = self.flanks.risen && between >= least as u32;
        self.flanks.between = if whole { between } else { 0 };
        self.flanks.risen = false;
        whole
    }

    /// Ends a dwell that runs at the crossing of its pulse.
    const fn end_dwell(&mut self, at: u32, now: u32) -> Answer {
        self.flanks.waits_for_crossing = false;
        let dwell = self.cranking_dwell();
        let useful = self.coil.on().wrapping_add(dwell - dwell / 4);
        let off = latest(latest(at, useful), now);
        // Never later than it was.
        if later_by(self.coil.off(), off) > 0 { self.move_off(off, now) } else { Answer::Nothing }
    }

    /// Begins at the crossing the dwell that its pulse lacks.
    const fn spark_from_crossing(&mut self, at: u32, now: u32) -> Answer {
        self.flanks.waits_for_crossing = false;
        let period = self.rhythm.measured();
        if matches!(self.phase, Phase::Overspeed | Phase::Stopped) || now.wrapping_sub(at) > period / 4 {
            return self.cancel(now);
        }
        let mut dwell = self.cranking_dwell();
        // In place of an order, not longer than that: sooner over, whatever the battery did since.
        if self.coil.has_past_order() {
            let ordered = self.coil.off().wrapping_sub(self.coil.on());
            dwell = if ordered < dwell { ordered } else { dwell };
        }
        let off = at.wrapping_add(dwell);
        let answer = self.order(at, off, off, now);
        self.coil.is_for_past();
        answer
    }

    /// The dwell of a spark at the crossing, and what the others that end there are measured by: over, its spark burnt, in half of a period.
    #[inline(never)]
    const fn cranking_dwell(&self) -> u32 {
        let period = self.rhythm.measured();
        let room = (period / 2).saturating_sub(self.table.times.burn);
        let dwell = self.dwell_at(period);
        if dwell < room { dwell } else { room }
    }
}
