//! The timer with its coil and the edges that wait.

use crate::coil::Coil;
use crate::timer::CompareTimer;
use crate::watch::{Watch, count};
use bobweight::quantity::TickRate;
use bobweight::{Answer, Flank, Timetable};
use core::fmt;
use heapless::Deque;

/// An edge of the pickup and its time.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Edge {
    /// Which flank.
    pub flank: Flank,
    /// When, in ticks.
    pub at: u32,
}

/// What interrupts and the main loop share: the coil on its compare unit, and `ROOM` edges that wait for the main loop.
///
/// Each method is to be called where no other can come between; [`Access`](crate::Access) says how. None takes long, and none
/// computes anything of the ignition: that is [`Ignition`](crate::Ignition)'s, in the main loop.
///
/// It takes no order before [`open`](Self::open), but keeps the pin low and the edges.
#[derive(Debug)]
pub struct CoilDriver<T, const ROOM: usize = 4> {
    timer: T,
    coil: Coil,
    edges: Deque<Edge, ROOM>,
    last: u32,
    watch: Watch,
}

/// Why a driver does not take a timetable.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum OpenError {
    /// The timetable was made for another tick rate than the timer's: every angle would be wrong.
    TickRate {
        /// The timetable's.
        timetable: TickRate,
        /// The timer's.
        timer: TickRate,
    },
    /// Writing the compare register alone takes longer than the latency that the timetable was made for; both in ticks.
    Latency {
        /// The timetable's.
        timetable: u32,
        /// The timer's least.
        timer: u32,
    },
    /// The coil was disconnected for good: see [`CoilDriver::fault`].
    Fault,
}

impl fmt::Display for OpenError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::TickRate { timetable, timer } => write!(
                f,
                "the timetable is for {} ticks a second and the timer counts {}: make the timetable for this timer",
                timetable.bits(),
                timer.bits()
            ),
            Self::Latency { timetable, timer } => write!(
                f,
                "the timetable's latency is {timetable} ticks and writing the compare register takes {timer}: state a greater latency"
            ),
            Self::Fault => f.write_str("the coil was turned off for good: turn the power off and on"),
        }
    }
}

impl core::error::Error for OpenError {}

impl<T: CompareTimer, const ROOM: usize> CoilDriver<T, ROOM> {
    /// A driver that is not open. The timer runs already, and the pin is low.
    #[must_use]
    pub const fn new(timer: T) -> Self {
        Self { timer, coil: Coil::CLOSED, edges: Deque::new(), last: 0, watch: Watch::NOTHING }
    }

    /// Takes orders from now on, of this timetable and no other.
    pub fn open(&mut self, table: &Timetable) -> Result<(), OpenError> {
        let least = T::WRITE_TIME + T::MATCH_TIME;
        if self.coil.has_fault() {
            return Err(OpenError::Fault);
        }
        if table.tick_rate() != T::TICK_RATE {
            return Err(OpenError::TickRate { timetable: table.tick_rate(), timer: T::TICK_RATE });
        }
        if table.latency() < least {
            return Err(OpenError::Latency { timetable: table.latency(), timer: least });
        }
        self.timer.force_off();
        self.last = self.timer.now();
        self.coil.open(table);
        Ok(())
    }

    /// Turns the coil off for good: no order is taken any more.
    pub fn fault(&mut self) {
        self.coil.fault(&mut self.timer);
    }

    /// Whether the coil was turned off for good, by [`fault`](Self::fault) or because it was found on for longer than the largest dwell
    /// by more than the latency.
    pub fn has_fault(&self) -> bool {
        self.coil.has_fault()
    }

    /// Whether the coil draws current, or is armed to.
    pub fn is_on(&self) -> bool {
        self.coil.is_on()
    }

    /// Does what is due: for the compare unit's interrupt, and at least every half wrap of the compare register, for instance from a
    /// second compare unit or the overflow.
    pub fn service(&mut self) {
        self.coil.service(&mut self.timer, &mut self.watch);
    }

    /// For the capture interrupt: keeps the edge that was captured last. Whether there is room for another; with none, switch the
    /// capture interrupt off until [`has_edge`](Self::has_edge) says no: edges so dense are noise.
    pub fn captured(&mut self, flank: Flank) -> bool {
        let at = self.timer.captured();
        if self.edges.push_back(Edge { flank, at }).is_err() {
            count(&mut self.watch.lost_edges);
        }
        !self.edges.is_full()
    }

    /// Whether an edge waits.
    pub fn has_edge(&self) -> bool {
        !self.edges.is_empty()
    }

    /// Whether there is something for [`Ignition::run`](crate::Ignition::run). To be asked, with nothing able to come between, before a sleep.
    pub fn has_work(&self) -> bool {
        self.has_edge() || self.is_finished()
    }

    /// The oldest edge that waits, and the time now, which is not before it.
    pub fn next_edge(&mut self) -> Option<(Edge, u32)> {
        let edge = self.edges.pop_front()?;
        let mut now = self.now();
        let after = now.wrapping_sub(edge.at);
        if after.cast_signed() < 0 {
            count(&mut self.watch.backwards);
            now = edge.at;
            self.last = now;
        } else if after > self.coil.latency() {
            count(&mut self.watch.late_edges);
        }
        Some((edge, now))
    }

    /// The time now, never before the one that was asked for last.
    pub fn now(&mut self) -> u32 {
        let now = self.timer.now();
        if now.wrapping_sub(self.last).cast_signed() < 0 {
            count(&mut self.watch.backwards);
            return self.last;
        }
        self.last = now;
        now
    }

    /// Takes what the sequencer answered to what happened at `since`: the edge, or the moment of the poll.
    // Not repeated in each of its callers: flash is short.
    #[inline(never)]
    pub fn take(&mut self, answer: Answer, since: u32) {
        self.service();
        match answer {
            Answer::Nothing => return,
            Answer::Order { on, off } => self.coil.order(on, off, &mut self.timer),
            Answer::MoveOff { off } => self.coil.move_off(off, &mut self.timer),
            Answer::Cancel => self.coil.cancel(&mut self.timer),
        }
        self.service();
        self.watch.answered(self.timer.now().wrapping_sub(since), self.coil.latency());
    }

    /// Whether a dwell has ended, or was left out, since this was last asked: the sequencer is to be polled then.
    pub fn finished(&mut self) -> bool {
        core::mem::replace(&mut self.coil.finished, false)
    }

    /// Whether there is something for [`finished`](Self::finished) to say.
    pub fn is_finished(&self) -> bool {
        self.coil.finished
    }

    /// What was noticed of the program around the driver.
    pub fn watch(&self) -> &Watch {
        &self.watch
    }

    /// The timer.
    pub fn timer(&mut self) -> &mut T {
        &mut self.timer
    }
}
