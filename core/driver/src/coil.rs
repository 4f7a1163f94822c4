//! The coil on a compare unit: on and off come from it, at their tick, whatever the program does then.
//!
//! **Turning a charged coil off is a spark.** So an off time is known before a dwell begins, and the unit is armed to
//! clear the pin before anything else is done in a dwell. Of the two moments one is armed at a time:
//!
//! 1. waiting: the unit sets the pin at `on`;
//! 2. at that match the interrupt arms it to clear the pin at `off`;
//! 3. after each write, the counter is read once more: a moment that has passed is made up for at once. An off time written two
//!    ticks too late would hold the coil on for a whole wrap.

use crate::timer::{CompareTimer, Level};
use crate::watch::{Watch, count};
use bobweight::{SHORTEST_DWELL, Timetable};

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum State {
    /// Not opened yet: no order is taken.
    Closed,
    /// Disconnected until the power goes.
    Fault,
    Off,
    Waiting,
    /// The unit sets the pin at `on`.
    Armed,
    On,
    /// On, and the unit clears the pin at `off`.
    Ending,
}

/// One dwell at a time.
#[derive(Debug)]
pub(crate) struct Coil {
    state: State,
    on: u32,
    off: u32,
    largest: u32,
    latency: u32,
    /// Whether a dwell has ended, or was left out, since this was last asked.
    pub finished: bool,
}

/// The figures of a timer that its constants give.
trait Figures: CompareTimer {
    /// A compare register is written only for a moment nearer than this: within one wrap, and further than it is until the next look, half
    /// a wrap away.
    const NEAR: i32 = match Self::COMPARE_BITS {
        16..=30 => (1 << Self::COMPARE_BITS) / 16 * 15,
        31 | 32 => i32::MAX,
        _ => panic!("a compare register has 16 to 32 bits"),
    };

    /// Nearer than this the pin is not armed to be set.
    const MARGIN: i32 = {
        assert!(Self::WRITE_TIME + Self::MATCH_TIME < 1 << 12, "a compare register is written within 4 096 ticks");
        (Self::WRITE_TIME + Self::MATCH_TIME).cast_signed()
    };

    /// Less dwell does not happen.
    const SHORTEST: i32 = SHORTEST_DWELL.ticks_up(Self::TICK_RATE).cast_signed();
}

impl<T: CompareTimer> Figures for T {}

/// How far a moment lies ahead; 0 or less where it has come.
fn ahead(moment: u32, timer: &mut impl CompareTimer) -> i32 {
    moment.wrapping_sub(timer.now()).cast_signed()
}

impl Coil {
    pub const CLOSED: Self = Self { state: State::Closed, on: 0, off: 0, largest: 0, latency: 0, finished: false };

    pub fn open(&mut self, table: &Timetable) {
        self.largest = table.largest_dwell();
        self.latency = table.latency();
        self.state = State::Off;
    }

    pub fn fault(&mut self, timer: &mut impl CompareTimer) {
        timer.disconnect();
        self.state = State::Fault;
    }

    /// The timetable's, in ticks.
    pub fn latency(&self) -> u32 {
        self.latency
    }

    pub fn has_fault(&self) -> bool {
        self.state == State::Fault
    }

    /// Whether the coil draws current, or may from one tick to the next.
    pub fn is_on(&self) -> bool {
        matches!(self.state, State::Armed | State::On | State::Ending)
    }

    /// Does what is due.
    // Not repeated in each of its callers: flash is short.
    #[inline(never)]
    pub fn service<T: CompareTimer>(&mut self, timer: &mut T, watch: &mut Watch) {
        match self.state {
            State::Off | State::Closed | State::Fault => {}
            State::Waiting => self.arm(timer),
            State::Armed => {
                if ahead(self.on, timer) <= 0 {
                    self.begun(timer, watch);
                }
            }
            State::On => self.end(timer, watch),
            State::Ending => self.end_if_due(timer, watch),
        }
    }

    pub fn order<T: CompareTimer>(&mut self, on: u32, off: u32, timer: &mut T) {
        if self.can_be_stopped(timer) {
            self.on = on;
            self.off = off;
            self.state = State::Waiting;
        } else {
            // The order that this one replaces has begun in the meantime: what is left of it is when it ends.
            self.move_off(off, timer);
        }
    }

    pub fn cancel<T: CompareTimer>(&mut self, timer: &mut T) {
        if self.can_be_stopped(timer) {
            self.state = State::Off;
        }
    }

    /// Whether no dwell runs, or is about to. One that waits is disarmed.
    fn can_be_stopped<T: CompareTimer>(&mut self, timer: &mut T) -> bool {
        match self.state {
            State::Off | State::Waiting => true,
            // Nearer than that the pin could be set while it is disarmed, and the coil would stay on.
            State::Armed if ahead(self.on, timer) > T::MARGIN => {
                timer.force_off();
                true
            }
            _ => false,
        }
    }

    pub fn move_off<T: CompareTimer>(&mut self, off: u32, timer: &mut T) {
        // A moment that is past means at once, and is not late by that.
        self.off = if ahead(off, timer) < 0 { timer.now() } else { off };
        match self.state {
            State::On | State::Ending => self.state = State::On,
            // Too short to begin it, if that can still be prevented.
            State::Armed if self.off.wrapping_sub(self.on).cast_signed() < T::SHORTEST => {
                if self.can_be_stopped(timer) {
                    self.state = State::Waiting;
                }
            }
            State::Waiting | State::Armed | State::Off | State::Closed | State::Fault => {}
        }
    }

    /// Arms the unit to set the pin, where `on` is near.
    fn arm<T: CompareTimer>(&mut self, timer: &mut T) {
        let on = ahead(self.on, timer);
        if on > T::NEAR {
            return;
        }
        if on < T::MARGIN {
            // On at once means as soon as the unit can do it; off stays where it is.
            self.on = timer.now().wrapping_add(T::MARGIN.cast_unsigned());
        }
        if self.off.wrapping_sub(self.on).cast_signed() < T::SHORTEST {
            self.state = State::Off;
            self.finished = true;
            return;
        }
        timer.arm(Level::High, self.on);
        self.state = State::Armed;
    }

    /// The pin is set, or will be within some ticks.
    fn begun<T: CompareTimer>(&mut self, timer: &mut T, watch: &mut Watch) {
        while ahead(self.on, timer) > -T::MATCH_TIME.cast_signed() {}
        self.state = State::On;
        self.end(timer, watch);
        let (on, length) = (self.on, self.off.wrapping_sub(self.on));
        // One that was moved to a shorter end while it was about to begin ends as soon as can be.
        let allowed = if length.cast_signed() < T::SHORTEST { self.latency } else { self.latency.min(length) };
        watch.matched(timer.now().wrapping_sub(on), allowed);
    }

    /// Arms the unit to clear the pin, where `off` is near. Until then a match sets it once more, which changes nothing.
    fn end<T: CompareTimer>(&mut self, timer: &mut T, watch: &mut Watch) {
        // The largest dwell first: whatever comes, the coil does not stay on for longer.
        let last = self.on.wrapping_add(self.largest);
        if self.off.wrapping_sub(last).cast_signed() > 0 {
            self.off = last;
        }
        if ahead(self.off, timer) > T::NEAR {
            return;
        }
        timer.arm(Level::Low, self.off);
        self.state = State::Ending;
        self.end_if_due(timer, watch);
    }

    fn end_if_due<T: CompareTimer>(&mut self, timer: &mut T, watch: &mut Watch) {
        if ahead(self.off, timer) > T::MATCH_TIME.cast_signed() {
            return;
        }
        // So near the match may have been written too late: it is waited for, and made up for.
        while ahead(self.off, timer) > 0 {}
        timer.force_off();
        if self.finished {
            count(&mut watch.missed_polls);
        }
        if timer.now().wrapping_sub(self.off) > self.latency {
            count(&mut watch.late_offs);
        }
        self.finished = true;
        self.state = State::Off;
        // So much later than the largest dwell: the program is not what was tested.
        let over = timer.now().wrapping_sub(self.on.wrapping_add(self.largest)).cast_signed();
        if over > self.latency.cast_signed() {
            self.fault(timer);
        }
    }
}
