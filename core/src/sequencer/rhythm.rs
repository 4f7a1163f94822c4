//! Which edges to believe, and the period they give.
//!
//! With the last measured period T, the next edge is *good* between `lo` and `hi`, the shortest and longest interval that the
//! engine's greatest acceleration allows; see `Timetable::window`.

use crate::timetable::{Timetable, Window, scaled};

/// What an edge was taken for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Heard {
    /// No edge of the pickup: a spark's echo, or faster than the engine can turn.
    Ignored,
    /// Too early to be true. What was ordered stands.
    Refused,
    /// The first edge after a stop.
    Started,
    /// The edge that ends the first interval.
    FirstPeriod,
    /// Where it was expected.
    Good,
    /// Good, with one edge missing before it.
    AfterLost,
    /// True edge of the pulse for which a false one was taken.
    TakesPlace,
    /// An edge whose period is not sure.
    OrdersNothing,
}

#[derive(Clone, Debug)]
pub(super) struct Rhythm {
    /// The last edge that was believed.
    last: u32,
    /// The last measured period; 0 before there is one.
    period: u32,
    /// The period before it; 0 where that is not known.
    before: u32,
    window: Window,
    /// An edge refused since the last that was believed.
    refused: Option<u32>,
    /// The last interval that was too long; 0 where the last one was not.
    too_long: u32,
    /// The last edge of all that were looked at, refused ones too, and the two raw intervals that end there.
    raw_last: u32,
    raw: [u32; 2],
    raw_refused: [bool; 2],
    /// Whether there was an edge since the last stop.
    turning: bool,
    /// Whether two periods agreed.
    settled: bool,
    /// Whether the next edge is too doubtful for a dwell before it.
    doubtful: bool,
}

/// Whether two intervals differ by no more than a quarter of the longer one.
const fn alike(a: u32, b: u32) -> bool {
    let longer = if a > b { a } else { b };
    a.abs_diff(b) <= longer / 4
}

impl Rhythm {
    pub const NONE: Self = Self {
        last: 0,
        period: 0,
        before: 0,
        window: Window { lo: 0, hi: 0, slowest_q16: 0, could_stop: true },
        refused: None,
        too_long: 0,
        raw_last: 0,
        raw: [0; 2],
        raw_refused: [false; 2],
        turning: false,
        settled: false,
        doubtful: true,
    };

    pub const fn period(&self) -> Option<u32> {
        if self.period > 0 { Some(self.period) } else { None }
    }

    /// The last measured period; 0 before there is one.
    pub const fn measured(&self) -> u32 {
        self.period
    }

    pub const fn last_edge(&self) -> u32 {
        self.last
    }

    /// When the slowest next edge comes, and how much longer than T that interval is, in 1/65 536.
    pub const fn slowest_edge(&self) -> (u32, i32) {
        let (longest, _) = scaled(self.period, self.window.slowest_q16);
        (self.last.wrapping_add(longest as u32), self.window.slowest_q16)
    }

    /// Whether a dwell may begin before the next edge: that edge is sure to come, and is not overdue.
    pub const fn lets_dwell_precede_edge(&self, now: u32) -> bool {
        self.settled && !self.doubtful && !self.window.could_stop && now.wrapping_sub(self.last) <= self.window.hi
    }

    /// Whether the crank has stopped: no edge for longer than a period of 30 crank rpm. Says so once.
    pub const fn stop(&mut self, now: u32, table: &Timetable) -> bool {
        let stopped = self.turning && now.wrapping_sub(self.last) > table.times.stopped;
        if stopped {
            *self = Self::NONE;
        }
        stopped
    }

    pub const fn hear(&mut self, at: u32, burning: bool, table: &Timetable) -> Heard {
        let interval = at.wrapping_sub(self.last);
        if !self.turning || interval > table.times.stopped {
            *self = Self::NONE;
            self.turning = true;
            self.last = at;
            self.raw_last = at;
            return Heard::Started;
        }
        if burning && interval < self.period - self.period / 8 {
            return Heard::Ignored;
        }
        if self.period == 0 {
            if interval < table.times.too_fast {
                return Heard::Ignored;
            }
            self.note(at, false);
            self.believe(at, interval, table);
            return Heard::FirstPeriod;
        }
        if interval < self.window.lo {
            self.early(at, table)
        } else if interval <= self.window.hi {
            self.note(at, false);
            self.believe(at, interval, table);
            self.settled = true;
            Heard::Good
        } else {
            self.late(at, interval, table)
        }
    }

    /// An edge before the window.
    const fn early(&mut self, at: u32, table: &Timetable) -> Heard {
        let raw = at.wrapping_sub(self.raw_last);
        if let Some(interval) = self.true_interval(at, raw) {
            self.note(at, false);
            let before = self.before;
            self.believe(at, interval, table);
            self.before = before;
            self.doubtful = true;
            return Heard::TakesPlace;
        }
        if raw < table.times.too_fast {
            return Heard::Ignored;
        }
        let [newer, older] = self.raw;
        let [newer_refused, older_refused] = self.raw_refused;
        self.note(at, true);
        self.refused = Some(at);
        // With this one, two of the last three edges were refused, and their intervals are a rhythm of its own.
        if (newer_refused || older_refused) && alike(raw, newer) && alike(newer, older) && alike(raw, older) {
            self.believe(at, raw, table);
            self.before = 0;
            self.doubtful = true;
            return Heard::OrdersNothing;
        }
        Heard::Refused
    }

    /// The interval that an early edge ends if the edge before it was false: it lies where the period before that one had
    /// put it, nearer than to the false one, and the raw intervals are uneven.
    const fn true_interval(&self, at: u32, raw: u32) -> Option<u32> {
        if self.before <= self.period || alike(raw, self.raw[0]) {
            return None;
        }
        let origin = self.last.wrapping_sub(self.period);
        let interval = at.wrapping_sub(origin);
        let miss = interval.abs_diff(self.before);
        if miss <= self.before / 32 && miss <= (self.before - self.period) / 2 { Some(interval) } else { None }
    }

    /// An edge after the window.
    const fn late(&mut self, at: u32, interval: u32, table: &Timetable) -> Heard {
        let since_refused = match self.refused {
            Some(refused) => at.wrapping_sub(refused),
            None => 0,
        };
        self.note(at, false);
        if self.fits(since_refused) {
            self.believe(at, since_refused, table);
            self.settled = true;
            return Heard::Good;
        }
        let repeated = self.too_long > 0 && alike(interval, self.too_long);
        let half = interval / 2;
        if repeated {
            self.believe(at, interval, table);
            self.settled = true;
            self.doubtful = true;
            return Heard::Good;
        }
        let one_is_missing = self.settled && !self.window.could_stop && self.fits(half);
        if one_is_missing {
            self.believe(at, half, table);
        } else {
            self.last = at;
            self.refused = None;
            self.before = 0;
        }
        self.too_long = interval;
        self.doubtful = true;
        if one_is_missing { Heard::AfterLost } else { Heard::OrdersNothing }
    }

    const fn fits(&self, interval: u32) -> bool {
        interval >= self.window.lo && interval <= self.window.hi && interval > 0
    }

    const fn believe(&mut self, at: u32, interval: u32, table: &Timetable) {
        self.last = at;
        self.before = self.period;
        self.period = interval;
        self.window = table.window(interval);
        self.refused = None;
        self.too_long = 0;
        self.doubtful = false;
    }

    const fn note(&mut self, at: u32, refused: bool) {
        self.raw = [at.wrapping_sub(self.raw_last), self.raw[0]];
        self.raw_refused = [refused, self.raw_refused[0]];
        self.raw_last = at;
    }
}
