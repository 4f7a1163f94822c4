//! Which edges to believe, and the period they give.
//!
//! With the last measured period T, the next edge is *good* between `lo` and `hi`, the shortest and longest interval that the
//! engine's greatest acceleration allows; see `Timetable::window`.

use crate::timetable::{Timetable, Window, scaled};

/// What an edge was taken for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
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

/// Whether an edge in the echo of every spark is one.
///
/// A true edge can fall there each time, where the period that is believed is a multiple of the true one: it would be ignored
/// for ever. Without a spark there is no echo, so one spark is withheld, once, to hear.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
enum Echo {
    NoDoubt,
    /// Edges and echoes make an even rhythm.
    Doubted,
    /// The pulse of the last edge gets no spark.
    Listening,
    /// There was no edge where no spark was. The next echo begins a new run.
    Proven,
    /// The echo's run lasts; with it ends what was proven.
    Lasting,
}

/// Whether the window belongs to the period. It takes a chip as long as the spark's own delay, so an edge's order is given first.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
enum Looked {
    Yes,
    NotYet,
    /// Nor yet, and the period is half of an interval over a lost edge.
    NotYetAfterLost,
}

#[derive(Clone, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[expect(clippy::struct_excessive_bools, reason = "each is a plain fact of its own")]
pub(super) struct Rhythm {
    /// The last edge that was believed.
    last: u32,
    /// The last measured period; 0 before there is one.
    period: u32,
    /// The period before it; 0 where that is not known.
    before: u32,
    /// Of the last measured period, once `look` has worked it out.
    window: Window,
    looked: Looked,
    /// An edge refused since the last that was believed.
    refused: Option<u32>,
    /// How many edges came too early since the last that was believed. A spark's echo is none.
    early: u8,
    /// Whether the last edge of all was taken for an echo although the next true edge could come there.
    echo_was_due: bool,
    /// The last interval that was too long; 0 where the last one was not.
    too_long: u32,
    /// The last edge of all, refused ones and echoes too, and the raw interval that ends there.
    raw_last: u32,
    raw: u32,
    /// How many raw intervals up to it were alike, each to the one before, and how many refused edges ended them.
    run: u8,
    run_refused: u8,
    echo: Echo,
    /// Whether there was an edge since the last stop.
    turning: bool,
    /// Whether two periods agreed, with no edge refused between.
    settled: bool,
    /// How many periods agreed, with no edge between and none missing.
    sure: u8,
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
        // What a window and `doubtful` say counts from the second period on. All zero, this takes no memory of a chip for a pattern.
        window: Window { lo: 0, hi: 0, slowest_q16: 0, could_stop: false },
        looked: Looked::Yes,
        refused: None,
        early: 0,
        echo_was_due: false,
        too_long: 0,
        raw_last: 0,
        raw: 0,
        run: 0,
        run_refused: 0,
        echo: Echo::NoDoubt,
        turning: false,
        settled: false,
        sure: 0,
        doubtful: false,
    };

    pub const fn period(&self) -> Option<u32> {
        if self.period > 0 { Some(self.period) } else { None }
    }

    /// The last measured period; 0 before there is one.
    pub const fn measured(&self) -> u32 {
        self.period
    }

    pub const fn heard_at(&self) -> Option<u32> {
        if self.turning { Some(self.last) } else { None }
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
        self.settled
            && !self.doubtful
            && !self.window.could_stop
            && !matches!(self.echo, Echo::Doubted | Echo::Listening)
            && self.is_due(now)
    }

    /// Whether the spark of the last edge is to be withheld, to hear whether there is an edge in its echo.
    pub const fn listens(&mut self) -> bool {
        if matches!(self.echo, Echo::Doubted) {
            self.echo = Echo::Listening;
        }
        matches!(self.echo, Echo::Listening)
    }

    /// Whether the pulse of the last edge is not yet over, as far as one can tell.
    pub const fn is_due(&self, now: u32) -> bool {
        now.wrapping_sub(self.last) <= self.window.hi
    }

    /// Whether the crank has stopped: no edge for longer than a period of 30 crank rpm. Says so once.
    pub const fn stop(&mut self, now: u32, table: &Timetable) -> bool {
        let stopped = self.turning && now.wrapping_sub(self.last) > table.times.stopped;
        if stopped {
            *self = Self::NONE;
        }
        stopped
    }

    /// Works out the window of the last measured period. To be called before anything is asked about an edge to come.
    pub const fn look(&mut self, table: &Timetable) {
        self.window = match self.looked {
            Looked::Yes => return,
            Looked::NotYet => table.window(self.period),
            Looked::NotYetAfterLost => table.window_after_lost(self.period),
        };
        self.looked = Looked::Yes;
    }

    pub const fn hear(&mut self, at: u32, burning: bool, table: &Timetable) -> Heard {
        self.look(table);
        let interval = at.wrapping_sub(self.last);
        if !self.turning || interval > table.times.stopped {
            *self = Self::NONE;
            self.turning = true;
            self.last = at;
            self.raw_last = at;
            return Heard::Started;
        }
        if burning && interval < self.period - self.period / 8 {
            // An echo in mid-period must not look like a rhythm of twice the speed, nor hide a true one: it counts for the
            // run, but not as refused.
            let proven = matches!(self.echo, Echo::Proven);
            self.note(at, false);
            // A steady engine's echo before that leaves a rest of the period that is unlike it.
            self.echo_was_due = self.period > 0 && interval >= self.window.lo && interval >= self.period / 8 * 5;
            if proven {
                self.echo = Echo::Lasting;
            } else if self.run >= 3 && matches!(self.echo, Echo::NoDoubt) {
                self.echo = Echo::Doubted;
            }
            return Heard::Ignored;
        }
        if self.period == 0 {
            if interval < table.times.too_fast {
                return Heard::Ignored;
            }
            self.note(at, false);
            self.believe(at, interval);
            return Heard::FirstPeriod;
        }
        let raw = at.wrapping_sub(self.raw_last);
        if self.echo_was_due && alike(raw, self.raw) {
            // Either that was an edge, and the engine gathers speed, or it was an echo, and the engine slows down: two periods
            // to choose from, and a spark would be early by one of them.
            self.note(at, false);
            self.begin_anew(at, raw)
        } else if interval < self.window.lo || self.amid_noise() {
            self.early(at, table)
        } else if interval <= self.window.hi {
            self.note(at, false);
            if matches!(self.echo, Echo::Listening) {
                // Of another period than the doubted one nothing is proven.
                let undisturbed = self.refused.is_none() && alike(interval, self.period);
                self.echo = if undisturbed { Echo::Proven } else { Echo::NoDoubt };
            }
            // At the start an edge between says that the first interval may have been a multiple of the period.
            self.settled = self.settled || self.refused.is_none();
            // An interval so unlike the last one may lie over a lost edge.
            self.sure =
                if alike(interval, self.period) { self.sure.saturating_add((self.early == 0) as u8) } else { 0 };
            self.believe(at, interval);
            if self.settled { Heard::Good } else { Heard::OrdersNothing }
        } else {
            self.late(at, interval, table)
        }
    }

    /// Whether two edges or more came too early since the last that was believed: one that follows them in the window may be noise
    /// as well as they, and believing the first of each window would carry the rhythm away, a window's width at each pulse.
    const fn amid_noise(&self) -> bool {
        self.early >= 2
    }

    /// An edge before the window, or amid noise.
    const fn early(&mut self, at: u32, table: &Timetable) -> Heard {
        let raw = at.wrapping_sub(self.raw_last);
        if let Some(interval) = self.true_interval(at, raw, table) {
            return self.take_place(at, interval);
        }
        // Perhaps the true edge of a slowing engine, and the last one was false: the edge to come is then later than that one says.
        let shortened = self.period < self.before - self.before / 64;
        if shortened && at.wrapping_sub(self.last) < self.period / 4 {
            self.doubtful = true;
        }
        if raw < table.times.too_fast {
            self.early = self.early.saturating_add(1);
            self.note(at, false);
            // No rhythm has anything between its edges.
            self.run = 0;
            self.run_refused = 0;
            return Heard::Ignored;
        }
        // The noise may be over: two edges a good interval apart, with nothing between. Where the first of them was false, the second
        // need not be true, nor the interval a period; the next true edge, which then comes at once, will say so.
        if self.amid_noise() && self.settled && self.fits(raw) {
            self.note(at, false);
            self.last = at;
            self.before = 0;
            self.refused = None;
            self.early = 1;
            self.doubtful = true;
            return Heard::Good;
        }
        self.early = self.early.saturating_add(1);
        self.note(at, true);
        self.refused = Some(at);
        // A rhythm of its own: the period that was believed is a multiple of the true one, or it was believed before the noise.
        let lasts = self.run_refused >= 2 && self.engine_can_have(raw, at, table);
        if self.run >= 3 && (lasts || matches!(self.echo, Echo::Listening)) {
            self.echo = Echo::NoDoubt;
            return self.begin_anew(at, raw);
        }
        Heard::Refused
    }

    /// Takes an interval for the period, whatever was believed before. It has to be confirmed before it times a spark.
    const fn begin_anew(&mut self, at: u32, interval: u32) -> Heard {
        self.believe(at, interval);
        self.before = 0;
        self.settled = false;
        self.sure = 0;
        Heard::OrdersNothing
    }

    /// Believes an edge in place of the false one before it.
    const fn take_place(&mut self, at: u32, interval: u32) -> Heard {
        self.note(at, false);
        let before = self.before;
        self.believe(at, interval);
        self.before = before;
        self.doubtful = true;
        Heard::TakesPlace
    }

    /// The interval that an edge outside the window ends if the edge before it was false: it lies where the period before that one had
    /// put it, nearer than to the false one, and the raw intervals are uneven.
    const fn true_interval(&self, at: u32, raw: u32, table: &Timetable) -> Option<u32> {
        if self.before <= self.period || (self.run >= 2 && alike(raw, self.raw)) {
            return None;
        }
        let origin = self.last.wrapping_sub(self.period);
        let interval = at.wrapping_sub(origin);
        let miss = interval.abs_diff(self.before);
        let near = miss <= self.before / 32 && miss <= (self.before - self.period) / 2;
        // Longer than that the engine stands, and no period says when to spark.
        if near && interval <= table.times.stopped { Some(interval) } else { None }
    }

    /// An edge after the window.
    const fn late(&mut self, at: u32, interval: u32, table: &Timetable) -> Heard {
        if self.refused.is_none()
            && let Some(interval) = self.true_interval(at, at.wrapping_sub(self.raw_last), table)
        {
            return self.take_place(at, interval);
        }
        self.sure = 0;
        if matches!(self.echo, Echo::Listening) {
            self.echo = Echo::NoDoubt;
        }
        let since_refused = match self.refused {
            Some(refused) => at.wrapping_sub(refused),
            None => 0,
        };
        self.note(at, false);
        if self.fits(since_refused) {
            self.believe(at, since_refused);
            self.settled = true;
            return Heard::Good;
        }
        let repeated = self.too_long > 0 && alike(interval, self.too_long);
        let half = interval / 2;
        if repeated {
            // An edge on the way says that both may be a multiple of the period, or noise.
            self.settled = self.early == 0;
            self.believe(at, interval);
            self.doubtful = true;
            return if self.settled { Heard::Good } else { Heard::OrdersNothing };
        }
        // Of a second long interval in a row that is unlike the first, nobody knows what is missing.
        let one_is_missing = self.settled && self.too_long == 0 && !self.window.could_stop && self.fits(half);
        if one_is_missing {
            self.believe(at, half);
            self.looked = Looked::NotYetAfterLost;
        } else {
            self.last = at;
            self.refused = None;
            self.early = 0;
            self.before = 0;
        }
        self.too_long = interval;
        self.doubtful = true;
        if one_is_missing { Heard::AfterLost } else { Heard::OrdersNothing }
    }

    /// Whether the engine can have the rhythm that has run up to `at`: one that is faster by a third or more has to last as long as the
    /// engine takes to become so fast. Noise, and noise between true edges, can be even for a while. Five intervals of it will do where
    /// the time since an edge was last believed is as long. Nothing of that where what was believed is itself not sure.
    ///
    /// With x, the change of speed in a period as a share of the speed, a time E can change it by `x E/raw`, where `1 - raw/T` is needed.
    const fn engine_can_have(&self, raw: u32, at: u32, table: &Timetable) -> bool {
        if self.sure < 3 || raw >= self.period - self.period / 4 || self.run == u8::MAX {
            return true;
        }
        let Some(x) = table.change(raw) else { return true };
        let (run, since_believed) = (self.run as u64 * raw as u64, at.wrapping_sub(self.last) as u64);
        let lasted = if self.run >= 5 && since_believed > run { since_believed } else { run };
        // Too long for 64 bits is long enough.
        let gained = (lasted * x as u64).saturating_mul(self.period as u64);
        gained >= ((self.period - raw) as u64 * raw as u64).saturating_mul(1 << 14)
    }

    const fn fits(&self, interval: u32) -> bool {
        interval >= self.window.lo && interval <= self.window.hi && interval > 0
    }

    const fn believe(&mut self, at: u32, interval: u32) {
        self.last = at;
        self.before = self.period;
        self.period = interval;
        self.looked = Looked::NotYet;
        self.refused = None;
        self.early = 0;
        self.too_long = 0;
        self.doubtful = false;
    }

    const fn note(&mut self, at: u32, refused: bool) {
        let raw = at.wrapping_sub(self.raw_last);
        if !alike(raw, self.raw) {
            self.run = 0;
            self.run_refused = 0;
            if !matches!(self.echo, Echo::Listening) {
                self.echo = Echo::NoDoubt;
            }
        }
        self.run = self.run.saturating_add(1);
        self.run_refused = self.run_refused.saturating_add(refused as u8);
        self.raw = raw;
        self.raw_last = at;
        self.echo_was_due = false;
    }
}
