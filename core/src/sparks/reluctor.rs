//! What the zero crossing of a reluctor does to its sparks.
//!
//! A running spark is timed by the crossing of the pulse before, so the laws of a spark timed by its edge hold for a whole pulse less what it
//! is earlier than its own crossing. That crossing then brings forward what is late for it: a dwell that runs ends there, or
//! when three quarters of it are over; one that was still to begin begins there. A cranking spark comes at its own crossing or up to one dwell
//! after it.
//!
//! What is sooner than that, while the starter turns: a dwell that began by the moving flank, and whose crossing does not come, ends after the
//! largest dwell. It does not end before it began, so the spark is no earlier than the moving flank.
//!
//! What an engine that dies makes is early by the law of a whole pulse: up to nearly a pulse, where the greatest acceleration could stop it before its next
//! crossing.

use super::cells::{Cell, Ordered, Widest};
use super::coil::Left;
use super::running::{Measured, ONE, share, turned};
use super::swing::turned_while_cranking;
use super::{Angles, Rule, SparkList};
use crate::quantity::{CrankSpeed, Duration};

/// The change of speed in a period up to which a crossing that comes in time is heard, 5/4: the next one comes after 0.514 of the
/// period then, and 3/8 is refused.
const CROSSING_IS_HEARD: i64 = 5 << 14;

/// The least share of a dwell that a crossing leaves it.
const fn three_quarters(dwell: u32) -> u32 {
    dwell - dwell / 4
}

impl SparkList<'_> {
    /// Where a reluctor's own crossing lies; `None` of any other pickup.
    pub(super) fn crossing(&self) -> Option<i64> {
        let p = self.pickup.settings();
        if self.pickup.times_next_pulse() { Some(i64::from(p.angle.bits())) } else { None }
    }

    /// What bounds the sparks of a running engine whose speed may rise.
    pub(super) fn changing_rule(&self) -> Rule {
        let heard = self.change_q16(self.model.settings().speeds.cranking_below) <= CROSSING_IS_HEARD;
        if self.crossing().is_some() && heard { Rule::OwnCrossing } else { Rule::LastPeriod }
    }

    /// The latest spark at its own crossing or from it on, of an engine whose last period lies in this cell and whose speed may rise over so many
    /// pulses up to that crossing; `None` where there is no such crossing, or it may not be heard. A dwell from it is over in half of a period.
    #[inline(never)]
    pub(super) fn latest_by_crossing(&self, cell: &Cell, rising_pulses: i64, dwell_ns: i64) -> Option<i64> {
        let rises = rising_pulses > 0;
        let crossing = self.crossing().filter(|_| !rises || cell.change_q16 <= CROSSING_IS_HEARD)?;
        let (rise, x) = if rises {
            (i64::from(self.pickup.settings().greatest_acceleration.bits()), cell.change_q16)
        } else {
            (0, 0)
        };
        let speed = super::cranking::gathered(i64::from(cell.speeds[1].bits()), rise, rising_pulses * self.pulse());
        let of_dwell = self.turned_in_dwell(speed, rise, dwell_ns + i64::from(self.firmware.latency.bits()));
        let [_, half] = turned(ONE / 2, x, Measured::Period);
        let of_half = ((self.pulse() * half) >> 16) + 1 + self.turned_in_dwell(speed, rise, 0);
        let slack = self.spread() + self.rounding(CrankSpeed::saturating_from_bits(speed as u32));
        Some(crossing - slack - of_dwell.min(of_half))
    }

    /// The same of a running spark: the mean speed of the last period was reached within it, and its crossing comes within the next.
    #[inline(never)]
    pub(super) fn latest_by_own_crossing(&self, cell: &Cell, rises: bool) -> Option<i64> {
        let dwell = self.longest_dwell_ns(self.around.battery.running);
        self.latest_by_crossing(cell, if rises { 2 } else { 0 }, dwell)
    }

    /// The latest spark from a crossing whose pulse is in doubt: in a cell where the engine could stop, that is sparked as while cranking.
    pub(super) fn latest_while_in_doubt(&self, cell: &Cell) -> i64 {
        if cell.windows[0].could_stop { self.latest_by_own_crossing(cell, true).unwrap_or(i64::MAX) } else { i64::MAX }
    }

    /// The fastest at which an engine is sparked as while cranking.
    pub(super) fn speed_while_in_doubt(&self) -> i64 {
        i64::from(self.model.settings().speeds.running_from.bits())
    }

    /// A dwell by the moving flank whose crossing does not come: it lasts as long as the largest.
    #[inline(never)]
    pub(super) fn without_crossing(&self, speed: i64, rise: i64) -> Option<Widest> {
        let crossing = self.crossing()?;
        let at = CrankSpeed::saturating_from_bits(speed as u32);
        let slack = self.spread() + self.rounding(at);
        let largest = i64::from(self.dwell.settings().largest.bits());
        let latest = crossing - slack - self.turned_in_dwell(speed, rise, largest);
        Some(self.alone(self.earliest_while_cranking() + slack, latest, at))
    }

    /// Turned by the starter, with one flank that is none.
    ///
    /// A crossing between the flanks of a pulse ends it too soon: no spark is before the moving flank then. A false moving flank begins a dwell that
    /// may be over before its crossing comes; but it begins one only where that crossing would come after seven eighths of the last period or
    /// more, and none that would be over sooner than it.
    #[inline(never)]
    pub(super) fn false_flank_while_cranking(&self) -> Angles {
        let speed = self.starters_fastest();
        let at = CrankSpeed::saturating_from_bits(speed as u32);
        let crossing = self.pickup.settings().angle.bits();
        let moving = self.pickup.settings().moving_flank.map_or(crossing, |moving| moving.earliest.bits());
        let [turned, _] = turned_while_cranking((7 << 29) - 1, self.around.starter.swing);
        let by_false = if self.table.times.dwell_by_moving_flank {
            i64::from(crossing) + self.pulse() - ((self.pulse() * turned) >> 32)
        } else {
            i64::MIN
        };
        // The crossing, and the period between two of them.
        let earliest = by_false.max(i64::from(moving)) + 3 * self.spread() + self.rounding(at);
        let widest = self.cranking_widest(self.around.battery.cranking);
        let widest = widest.and(self.alone(earliest, i64::from(crossing), at));
        self.without_crossing(speed, 0).map_or(widest, |forced| widest.and(forced)).angles()
    }

    /// No dwell begins sooner while cranking: the moving flank, or the crossing where that makes none.
    fn earliest_while_cranking(&self) -> i64 {
        let p = self.pickup.settings();
        let by_flank = p.moving_flank.filter(|_| self.table.times.dwell_by_moving_flank);
        i64::from(by_flank.map_or(p.angle, |moving| moving.earliest).bits())
    }

    /// What is left of a dwell, a reluctor's crossing having ended it.
    #[inline(never)]
    pub(super) fn least_dwell(&self, dwell: Duration, left: Left) -> Duration {
        if self.crossing().is_none() || left == Left::Nothing {
            return dwell;
        }
        let ticks = dwell.ticks(self.firmware.tick_rate);
        let least = if left == Left::Cranking { three_quarters(ticks) } else { self.left_while_running(ticks, left) };
        Duration::saturating_from_bits(u32::try_from(self.nanoseconds(least)).unwrap_or(u32::MAX)).min(dwell)
    }

    #[inline(never)]
    fn left_while_running(&self, dwell: u32, left: Left) -> u32 {
        let times = &self.table.times;
        let speeds = &self.model.settings().speeds;
        let changing = left == Left::Changing;
        let mut least = dwell;
        self.each_cell(speeds.cranking_below, speeds.no_spark_above, Ordered::Running, &mut |cell| {
            let [soonest, latest] = [cell.advance[1], cell.advance[0]].map(|advance| self.delay_q16(advance));
            let change = if changing { cell.change_q16.min(ONE) } else { 0 };
            // How much sooner than its period says the crossing may come.
            let sooner = share(cell.periods[0], self.uneven_q16(latest) + change) + 4;
            // By the period that the crossing ends.
            let period = if changing { share(cell.periods[1], cell.soonest_q16) } else { cell.periods[1] };
            let cranking = (period / 2).saturating_sub(times.burn).min(share(period, i64::from(times.duty_q16)));
            let cranking = dwell.min(cranking);
            // The spark before, where it came one dwell after the crossing, has burnt.
            let after_last = share(cell.periods[1], soonest).saturating_sub(times.lag + times.burn);
            let room = if changing { after_last.saturating_sub(cranking) } else { after_last };
            let begun = dwell.min(room.max(times.shortest_dwell));
            least = least.min(three_quarters(begun.min(cranking)).max(begun.saturating_sub(sooner)));
        });
        least
    }
}
