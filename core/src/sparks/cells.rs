//! The range of speeds in cells so small that bounds taken at their ends are near.

use super::{Angles, SparkList};
use crate::curve::CentrifugalCurve;
use crate::divide::floored;
use crate::quantity::{CrankAngle, CrankSpeed};
use crate::timetable::Window;

/// How many cells lie between two corners of a curve.
const CELLS: u32 = 1 << CELLS_AS_POWER;
const CELLS_AS_POWER: u32 = 5;

/// One cell of the range of speeds, with what holds of all of it. Angles in steps, shares of a period in 1/65 536.
#[derive(Clone, Copy)]
pub(super) struct Cell {
    /// Its slowest and its fastest speed.
    pub speeds: [CrankSpeed; 2],
    /// The least and the greatest advance ordered in it.
    pub advance: [i64; 2],
    /// The least and the greatest that old weights turn the rotor ahead in it.
    pub carried: [i64; 2],
    /// `a m T^2 / 120` at its slowest speed: the change of speed in a period, as a share of the speed.
    pub change_q16: i64,
    /// How soon an edge after the last one is believed, at most: a share of the period.
    pub soonest_q16: i64,
    /// What the window says at the slowest and at the fastest speed.
    pub windows: [Window; 2],
    /// The longest and the shortest period in it, in ticks.
    pub periods: [u32; 2],
}

/// What is ordered in a cell.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Ordered {
    Running,
    Held,
}

impl SparkList<'_> {
    /// Goes through the cells from one speed to another.
    #[inline(never)]
    pub(super) fn each_cell(&self, from: CrankSpeed, to: CrankSpeed, ordered: Ordered, take: &mut dyn FnMut(&Cell)) {
        let carried = self.around.cap.as_ref().and_then(|cap| cap.carried.as_ref());
        let to = to.bits().max(from.bits());
        let corners = Corners { curves: [Some(&self.model.settings().centrifugal), carried], to };
        let mut low = from.bits();
        loop {
            let corner = corners.after(low);
            let width = u64::from(corner - low);
            for i in 0..CELLS {
                let at = |i: u32| low + ((width * u64::from(i)) >> CELLS_AS_POWER) as u32;
                let (slow, fast) = (at(i), at(i + 1));
                if fast > slow || (width == 0 && i == 0) {
                    take(&self.cell(slow, fast, ordered));
                }
            }
            low = corner;
            if low >= to {
                return;
            }
        }
    }

    #[inline(never)]
    fn cell(&self, slow: u32, fast: u32, ordered: Ordered) -> Cell {
        let speeds = [slow, fast].map(CrankSpeed::saturating_from_bits);
        let periods = speeds.map(|speed| self.table.period_of(speed));
        let windows = periods.map(|period| self.table.window(period));
        Cell {
            speeds,
            advance: self.ordered(speeds, ordered),
            carried: self.carried(speeds),
            change_q16: self.change_q16(speeds[0]),
            soonest_q16: floored(i64::from(windows[0].lo) << 16, i64::from(periods[0].max(1))),
            windows,
            periods,
        }
    }

    /// The least and the greatest advance ordered between two speeds that no corner separates.
    fn ordered(&self, speeds: [CrankSpeed; 2], ordered: Ordered) -> [i64; 2] {
        let s = self.model.settings();
        let (least, greatest) = self.clamp();
        let clamped = |sum: i64| sum.min(greatest).max(least);
        if ordered == Ordered::Held {
            return [clamped(i64::from(s.held.bits())); 2];
        }
        let ends = speeds.map(|speed| i64::from(s.centrifugal.at(speed).bits()) + i64::from(s.initial.bits()));
        let (vacuum_least, vacuum_greatest) = self.model.added_range();
        [
            clamped(ends[0].min(ends[1]) + i64::from(vacuum_least)),
            clamped(ends[0].max(ends[1]) + i64::from(vacuum_greatest)),
        ]
    }

    fn carried(&self, speeds: [CrankSpeed; 2]) -> [i64; 2] {
        let Some(carried) = self.around.cap.as_ref().and_then(|cap| cap.carried.as_ref()) else { return [0, 0] };
        let ends = speeds.map(|speed| i64::from(carried.at(speed).bits()));
        [ends[0].min(ends[1]), ends[0].max(ends[1])]
    }

    /// `x = a m T^2 / 120 = 120 a / (m N^2)` in 1/65 536, rounded up.
    pub(super) fn change_q16(&self, speed: CrankSpeed) -> i64 {
        let p = self.pickup.settings();
        let squared = i64::from(speed.bits().max(1)).pow(2);
        let wanted = 120 * i64::from(p.greatest_acceleration.bits());
        // Speeds are in 1/256: 1e7 x 2^32 are under 2^57.
        floored(wanted << 32, squared * i64::from(p.pulses_in_two_turns)) + 1
    }
}

/// The corners between two speeds, and the second of them.
struct Corners<'a> {
    curves: [Option<&'a CentrifugalCurve>; 2],
    to: u32,
}

impl Corners<'_> {
    /// The next corner after a speed.
    fn after(&self, speed: u32) -> u32 {
        let mut next = self.to;
        for curve in self.curves.iter().flatten() {
            for i in 0..curve.count() {
                let at = curve.breakpoint(i).0.bits();
                if at > speed && at < next {
                    next = at;
                }
            }
        }
        next
    }
}

/// The widest of many angles.
#[derive(Clone, Copy)]
pub(super) struct Widest {
    earliest: (i64, CrankSpeed),
    latest: (i64, CrankSpeed),
    before: i64,
    past: i64,
}

impl Widest {
    pub(super) const NONE: Self = Self {
        earliest: (i64::MIN, CrankSpeed::MIN),
        latest: (i64::MAX, CrankSpeed::MIN),
        before: i64::MIN,
        past: i64::MIN,
    };

    /// One range that belongs to no cell, at one speed, with the rotor turned ahead by so much.
    pub(super) fn of(earliest: i64, latest: i64, at: CrankSpeed, line_up: i64, carried: i64) -> Self {
        Self {
            earliest: (earliest, at),
            latest: (latest, at),
            before: earliest - line_up - carried,
            past: line_up - latest + carried,
        }
    }

    /// Takes the earliest and the latest spark of a cell. `line_up` is where the rotor faces its tower.
    pub(super) fn take(&mut self, earliest: i64, latest: i64, cell: &Cell, line_up: i64) {
        if earliest > self.earliest.0 {
            self.earliest = (earliest, cell.speeds[0]);
        }
        if latest < self.latest.0 {
            self.latest = (latest, cell.speeds[0]);
        }
        // Old weights turn the rotor ahead, so that it stands nearer to its tower, or further past it.
        self.before = self.before.max(earliest - line_up - cell.carried[0]);
        self.past = self.past.max(line_up - latest + cell.carried[1]);
    }

    /// The same of sparks at any speed between two.
    #[inline(never)]
    pub(super) fn and(mut self, other: Self) -> Self {
        if other.earliest.0 > self.earliest.0 {
            self.earliest = other.earliest;
        }
        if other.latest.0 < self.latest.0 {
            self.latest = other.latest;
        }
        self.before = self.before.max(other.before);
        self.past = self.past.max(other.past);
        self
    }

    /// From its earliest on a whole pulse: nothing bounds the latest.
    pub(super) fn a_whole_pulse(self, pulse: i64, line_up: i64) -> Self {
        let (earliest, at) = self.earliest;
        self.and(Self::of(earliest, earliest - pulse, at, line_up, 0))
    }

    #[inline(never)]
    pub(super) fn angles(&self) -> Angles {
        let (least, greatest) = (i64::from(CrankAngle::MIN.bits()), i64::from(CrankAngle::MAX.bits()));
        let angle = |bits: i64| CrankAngle::saturating_from_bits(bits.max(least).min(greatest) as i32);
        Angles {
            earliest: angle(self.earliest.0),
            earliest_at: self.earliest.1,
            latest: angle(self.latest.0),
            latest_at: self.latest.1,
            rotor_before: angle(self.before),
            rotor_past: angle(self.past),
        }
    }
}
