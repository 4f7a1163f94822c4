//! Sparks of a running engine: at one speed, with a speed that changes, with an edge lost or false, and cut off in a dwell.

use super::cells::{Cell, Ordered, Widest};
use super::{Angles, SparkList};
use crate::divide::floored;
use crate::quantity::{CrankAngle, CrankSpeed};
use crate::timetable::Window;

/// One in shares of 1/65 536.
pub(super) const ONE: i64 = 1 << 16;
/// What the two forms of a model may differ by: 0.02 crank degrees, rounded up.
const FORMS_DIFFER: i64 = 1_311;

/// Seven tenths: the change of speed in a period twice as long as one whose next edge could be missed, with a margin.
const DYING: i64 = 45_875;

/// A fifth: from there on two pulses of an engine that gathers speed as fast as it can fit into the window of one. With `x` a fifth they take 1.59 of
/// the last period, of which the window lets 1.4 pass; with a quarter 1.52, and 1.55.
const TWO_PULSES_FIT: i64 = 13_107;

/// Which way the speed may change.
#[derive(Clone, Copy)]
pub(super) struct Run {
    falls: bool,
    rises: bool,
}

impl Run {
    pub(super) const fn steady() -> Self {
        Self { falls: false, rises: false }
    }

    pub(super) const fn falling() -> Self {
        Self { falls: true, rises: false }
    }

    pub(super) const fn rising() -> Self {
        Self { falls: false, rises: true }
    }

    const fn either() -> Self {
        Self { falls: true, rises: true }
    }
}

/// Over which intervals the last period was measured.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Measured {
    /// Up to the edge: its mean speed was reached half a period ago.
    Period,
    /// Half of an interval over a lost edge: its mean speed was reached a whole period ago.
    HalfInterval,
}

/// The least and the greatest share of a pulse that the crank turns in `u` periods after an edge, all in 1/65 536, with the change of speed in
/// a period `x` as a share of the speed.
///
/// With the acceleration A in crank degrees a second squared and `x = A T^2 / P`, the speed at the edge is within `x/2` (`x` after a lost edge) of
/// P/T, and never below none nor, where the crank came out of rest in that pulse, above `sqrt(2 x)`. From there it turns
/// `v u + x u^2 / 2` at most, and `v u - x u^2 / 2` at least, or `v^2 / 2 x` up to a standstill.
#[inline(never)]
pub(super) fn turned(u: i64, x: i64, measured: Measured) -> [i64; 2] {
    let x = x.min(64 * ONE);
    let off = if measured == Measured::Period { x / 2 } else { x };
    let out_of_rest = ((2 * x as u64) << 16).isqrt() as i64 + 1;
    let fastest = if off > ONE { (ONE + off).min(out_of_rest.max(2 * ONE)) } else { ONE + off };
    let slowest = (ONE - off).max(0);
    let square = (u * u) >> 16;
    let most = ((fastest * u + ONE - 1) >> 16) + ((x * square + 2 * ONE - 1) >> 17);
    let stands_after = if x > 0 { floored(slowest << 16, x) } else { i64::MAX };
    let least = if u <= stands_after {
        ((slowest * u) >> 16) - ((x * square + 2 * ONE - 1) >> 17)
    } else {
        floored(slowest * slowest / 2, x.max(1))
    };
    [least.max(0), most]
}

/// A share of a period in 1/65 536, in ticks and rounded down.
#[inline(never)]
pub(super) fn share(period: u32, q16: i64) -> u32 {
    u32::try_from((i64::from(period) * q16) >> 16).unwrap_or(if q16 < 0 { 0 } else { u32::MAX })
}

/// How much later than the predicted one the slowest spark is, in ticks.
pub(super) fn wait(period: u32, window: &Window, delay_q16: i64) -> u32 {
    share(period, ((i64::from(window.slowest_q16) - ONE) * (ONE + delay_q16)) >> 16)
}

impl SparkList<'_> {
    /// From one pulse to the next, in steps.
    pub(super) fn pulse(&self) -> i64 {
        i64::from(self.pickup.pulse())
    }

    /// Where the flank lies that times a running spark: of a reluctor the crossing of the pulse before.
    pub(super) fn flank(&self) -> i64 {
        let own = i64::from(self.pickup.settings().angle.bits());
        if self.pickup.times_next_pulse() { own + self.pulse() } else { own }
    }

    /// How far the pulses may lie from where they should.
    pub(super) fn spread(&self) -> i64 {
        i64::from(self.pickup.settings().pulse_spread.bits())
    }

    /// Where the rotor faces its tower; without a cap it matters not.
    pub(super) fn line_up(&self) -> i64 {
        self.around.cap.as_ref().map_or(0, |cap| i64::from(cap.line_up.bits()))
    }

    /// What two ticks are worth, and what the two forms of the model differ by.
    #[inline(never)]
    pub(super) fn rounding(&self, speed: CrankSpeed) -> i64 {
        let per_second = 6 * 256 * i64::from(speed.bits());
        floored(2 * per_second, i64::from(self.firmware.tick_rate.bits())) + 2 + FORMS_DIFFER
    }

    /// What an uneven pulse and rounding move a spark by, `u` periods after the edge that it is reckoned from.
    fn slack(&self, u: i64, cell: &Cell) -> i64 {
        // The edge itself, and the period between two such edges.
        self.spread() + ((2 * self.spread() * u) >> 16) + self.rounding(cell.speeds[1])
    }

    /// The share of a period from the timing flank to an advance.
    #[inline(never)]
    pub(super) fn delay_q16(&self, advance: i64) -> i64 {
        floored((self.flank() - advance).max(0) << 16, self.pulse())
    }

    /// The earliest spark `u` periods after an edge that lies at `from`.
    #[inline(never)]
    fn earliest(&self, from: i64, u: i64, cell: &Cell, x: i64, measured: Measured) -> i64 {
        let [least, _] = turned(u, x, measured);
        from - ((self.pulse() * least) >> 16) + self.slack(u, cell)
    }

    /// The latest likewise.
    #[inline(never)]
    fn latest(&self, from: i64, u: i64, cell: &Cell, x: i64, measured: Measured) -> i64 {
        let [_, most] = turned(u, x, measured);
        from - ((self.pulse() * most) >> 16) - 1 - self.slack(u, cell)
    }

    /// Where the edge before the spark's own lies, seen from the spark's cylinder.
    fn edge_before(&self) -> i64 {
        self.flank() + self.pulse()
    }

    /// The range of speeds at which sparks are ordered.
    fn speeds(&self) -> [CrankSpeed; 2] {
        let speeds = &self.model.settings().speeds;
        [speeds.cranking_below, speeds.no_spark_above]
    }

    /// The greatest advance of a running or held engine.
    fn greatest_running(&self) -> i64 {
        let [greatest, ..] = self.model.judge().0;
        i64::from(greatest.worst.sum.bits()).min(self.clamp().1)
    }

    /// Sparks timed by their own edge, in one cell.
    #[inline(never)]
    fn own_edge(&self, cell: &Cell, run: Run) -> [i64; 2] {
        let [least, greatest] = cell.advance;
        let (soon, late) = (self.delay_q16(greatest), self.delay_q16(least));
        let falling = if run.falls { cell.change_q16 } else { 0 };
        let rising = if run.rises { cell.change_q16 } else { 0 };
        let earliest = self.earliest(self.flank(), soon, cell, falling, Measured::Period);
        let latest = self.latest(self.flank(), late, cell, rising, Measured::Period);
        let latest = self.latest_by_own_crossing(cell, run.rises).map_or(latest, |at_crossing| latest.max(at_crossing));
        // A flank cannot be passed: no spark is before the edge that times it.
        [earliest.min(self.flank() + self.spread()), latest]
    }

    /// Running, at a speed that may change as `run` says.
    pub(super) fn running(&self, run: Run) -> Angles {
        let mut widest = self.running_widest(run);
        if run.falls {
            // On its way to a stop a running engine comes to cranking.
            widest = widest.and(self.falling_while_cranking());
        }
        widest.angles()
    }

    #[inline(never)]
    pub(super) fn running_widest(&self, run: Run) -> Widest {
        let (mut widest, line_up) = (Widest::NONE, self.line_up());
        let [from, to] = self.speeds();
        self.each_cell(from, to, Ordered::Running, &mut |cell| {
            let [earliest, latest] = self.own_edge(cell, run);
            widest.take(earliest, latest, cell, line_up);
        });
        if run.falls { widest.and(self.dying()) } else { widest }
    }

    /// An engine that dies with uneven pulses can be later than any window, which looks like a lost edge: half of the interval is then the
    /// period, with the advance of twice the speed.
    #[inline(never)]
    fn dying(&self) -> Widest {
        let (mut widest, line_up) = (Widest::NONE, self.line_up());
        let [from, to] = self.speeds();
        let half_of_it = CrankSpeed::saturating_from_bits(from.bits() / 2);
        let half = self.delay_q16(self.greatest_running()) / 2;
        self.each_cell(half_of_it, to, Ordered::Running, &mut |cell| {
            if cell.change_q16 >= DYING && self.spread() > 0 {
                let earliest = self.earliest(self.flank(), half, cell, cell.change_q16, Measured::Period);
                let earliest = earliest.min(self.flank() + self.spread());
                widest.take(earliest, earliest, cell, line_up);
            }
        });
        widest
    }

    /// With the advance held.
    #[inline(never)]
    pub(super) fn held(&self) -> Angles {
        let (mut widest, line_up) = (Widest::NONE, self.line_up());
        let speeds = &self.model.settings().speeds;
        let to = speeds.held().no_spark_above.max(speeds.cranking_below);
        self.each_cell(speeds.cranking_below, to, Ordered::Held, &mut |cell| {
            let [earliest, latest] = self.own_edge(cell, Run::either());
            widest.take(earliest, latest, cell, line_up);
        });
        widest.and(self.dying()).angles()
    }

    /// The least advance of a running engine.
    pub(super) fn least_running(&self) -> i64 {
        let [from, to] = self.speeds();
        let mut least = i64::MAX;
        self.each_cell(from, to, Ordered::Running, &mut |cell| least = least.min(cell.advance[0]));
        least
    }

    /// The latest spark of an advance whose period holds two pulses; `x` is the change of speed in that period.
    pub(super) fn late_by_two_pulses(&self, advance: i64, x: i64) -> i64 {
        let [_, most] = turned(self.delay_q16(advance), x, Measured::Period);
        self.flank() - 2 * ((self.pulse() * most) >> 16) - 2 - 3 * self.spread() - self.rounding(self.speeds()[1])
    }

    /// Whether the dwell of a spark in this cell can begin before its edge.
    #[inline(never)]
    pub(super) fn dwell_precedes(&self, cell: &Cell) -> bool {
        let longest = self.longest_dwell_ticks();
        let soonest = self.delay_q16(cell.advance[1]);
        let after_edge = share(cell.periods[1], soonest).saturating_sub(self.table.times.latency);
        let wait = wait(cell.periods[1], &cell.windows[1], soonest);
        let early = self.table.times.largest_dwell.saturating_sub(wait);
        !cell.windows[1].could_stop
            && longest > after_edge
            && early > after_edge
            && early >= self.table.times.shortest_dwell
    }

    /// With one edge lost: its spark, where its dwell had begun, and the sparks after the next edge.
    #[inline(never)]
    pub(super) fn lost_edge(&self) -> Angles {
        let (mut widest, line_up) = (self.running_widest(Run::either()), self.line_up());
        let [from, to] = self.speeds();
        let least_running = self.least_running();
        self.each_cell(from, to, Ordered::Running, &mut |cell| {
            let [least, greatest] = cell.advance;
            let (soon, late) = (self.delay_q16(greatest), self.delay_q16(least));
            let x = cell.change_q16;
            let earliest = self.earliest(self.flank(), soon, cell, x, Measured::HalfInterval);
            let mut latest = self.latest(self.flank(), late, cell, x, Measured::HalfInterval);
            if x >= TWO_PULSES_FIT {
                // The two pulses take at most 7/4 of the last period, and half of the change of that square falls to each.
                latest = latest.min(self.late_by_two_pulses(least_running, 49 * x / 32));
            }
            // Of a reluctor the spark's own crossing may be the lost one; otherwise that ends what an interval over two pulses makes late.
            let own_lost = self.latest(self.flank(), late, cell, x, Measured::Period);
            let dwell = self.longest_dwell_ns(self.around.battery.running);
            latest = self.latest_by_crossing(cell, 4, dwell).map_or(latest, |ended| latest.max(ended)).min(own_lost);
            if self.dwell_precedes(cell) {
                let slowest = i64::from(cell.windows[0].slowest_q16);
                let off = (((ONE + late) * slowest) >> 16) + 1;
                latest = latest.min(self.latest(self.edge_before(), off, cell, x, Measured::Period));
            }
            latest = latest.min(self.latest_while_in_doubt(cell));
            widest.take(earliest.min(self.flank() + self.spread()), latest, cell, line_up);
        });
        self.without_crossing(self.speed_while_in_doubt(), 0).map_or(widest, |forced| widest.and(forced)).angles()
    }

    /// With one false edge, believed as soon as the window lets it.
    #[inline(never)]
    pub(super) fn false_edge(&self) -> Angles {
        let (mut widest, line_up) = (self.running_widest(Run::either()), self.line_up());
        let [from, to] = self.speeds();
        // The shortened period looks like a higher speed, and may be given the advance of that.
        let soonest = self.delay_q16(self.greatest_running());
        self.each_cell(from, to, Ordered::Running, &mut |cell| {
            let x = cell.change_q16;
            let lo = cell.soonest_q16;
            let u = ((ONE + soonest) * lo) >> 16;
            let earliest = self.earliest(self.edge_before(), u, cell, x, Measured::Period);
            let late = self.delay_q16(cell.advance[0]);
            // `bounds`: at most 1.5 (1 + f) times as late as the edge before it was early.
            let moved = (3 * (ONE + late) * (ONE - lo).max(0)) >> 17;
            let [_, latest] = self.own_edge(cell, Run::either());
            let latest = (latest - ((self.pulse() * moved) >> 16)).min(self.latest_while_in_doubt(cell));
            widest.take(earliest, latest, cell, line_up);
        });
        self.without_crossing(self.speed_while_in_doubt(), 0).map_or(widest, |forced| widest.and(forced)).angles()
    }

    /// Power lost, or the controller started anew, while the coil is on: the spark comes anywhere in its dwell.
    #[inline(never)]
    pub(super) fn cut_dwell(&self) -> Angles {
        let line_up = self.line_up();
        let mut widest = self.running_widest(Run::either()).and(self.cut_while_cranking());
        let [from, to] = self.speeds();
        self.each_cell(from, to, Ordered::Running, &mut |cell| {
            let soon = self.delay_q16(cell.advance[1]);
            // The longest dwell is the greatest share of the period where that is shortest.
            let shortest = i64::from(cell.periods[1]).max(1);
            let on = (floored(i64::from(self.longest_dwell_ticks()) << 16, shortest) + 1)
                .min(i64::from(self.table.times.duty_q16));
            let x = cell.change_q16;
            let earliest = if self.dwell_precedes(cell) {
                self.earliest(self.edge_before(), (ONE + soon - on).max(0), cell, x, Measured::Period)
            } else {
                let earliest = self.earliest(self.flank(), (soon - on).max(0), cell, x, Measured::Period);
                earliest.min(self.flank() + self.spread())
            };
            let [_, latest] = self.own_edge(cell, Run::either());
            widest.take(earliest, latest, cell, line_up);
        });
        widest.angles()
    }

    /// Nothing says where: a whole pulse.
    pub(super) fn anywhere(&self) -> Angles {
        let half = self.pulse() as i32 / 2 + 1;
        let half = CrankAngle::saturating_from_bits(half);
        let latest = CrankAngle::saturating_from_bits(-half.bits());
        let [slow, fast] = self.speeds();
        Angles { earliest: half, earliest_at: slow, latest, latest_at: fast, rotor_before: half, rotor_past: half }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// `f (1 + f) / 2 x` of a pulse, the law of a spark timed by its edge (derived in `tests/truth/crank`), at either end of a steady change.
    #[test]
    fn a_steady_change_turns_what_the_law_says() {
        for f in [0, 6_554, 19_005, 32_768, 65_535] {
            for x in [0, 100, 6_554, 20_000, 40_960] {
                let [least, most] = turned(f, x, Measured::Period);
                let law = f * (ONE + f) / ONE * x / (2 * ONE);
                assert!((most - f - law).abs() <= 3 && (f - least - law).abs() <= 3, "{f} {x}: {least} {most}, {law}");
                let [least, most] = turned(f, x, Measured::HalfInterval);
                let law = f * (2 * ONE + f) / ONE * x / (2 * ONE);
                // Where it does not come to a standstill on its way.
                let stands = (ONE - x) * ONE < x * f;
                assert!(
                    (most - f - law).abs() <= 3 && (stands || (f - least - law).abs() <= 3),
                    "{f} {x}: {least} {most}, {law}"
                );
            }
        }
    }

    #[test]
    fn a_crank_that_can_stop_turns_no_less_than_nothing() {
        assert_eq!(turned(ONE, 3 * ONE, Measured::Period)[0], 0);
        // From half its speed, at a change of one: v^2 / 2 x is an eighth of a pulse.
        assert!((turned(ONE, ONE, Measured::Period)[0] - ONE / 8).abs() <= 2);
    }
}
