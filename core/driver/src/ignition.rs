//! The main loop's part: edges to the sequencer, its orders to the coil.

use crate::access::Access;
use crate::driver::CoilDriver;
use crate::timer::CompareTimer;
use bobweight::{Answer, Sequencer, Timetable};

/// A sequencer that keeps the contract with its caller: every edge in its turn with a now that is not before it, a poll after each coil-off and
/// while the engine stands, and every order into the timer at once.
#[derive(Clone, Debug)]
pub struct Ignition<'t> {
    sequencer: Sequencer<'t>,
    has_turned: bool,
}

impl<'t> Ignition<'t> {
    /// An ignition at key-on.
    #[must_use]
    pub const fn new(table: &'t Timetable) -> Self {
        Self { sequencer: Sequencer::new(table), has_turned: false }
    }

    /// The sequencer, for its samples, its hold and its counters. Edges and polls are this type's.
    pub const fn sequencer(&mut self) -> &mut Sequencer<'t> {
        &mut self.sequencer
    }

    /// Whether an edge has come since key-on.
    #[must_use]
    pub const fn has_turned(&self) -> bool {
        self.has_turned
    }

    /// Takes the edges that wait, and what follows a coil-off; no more edges than can wait at once, for noise brings new ones faster than they are
    /// taken, and the main loop has a watchdog to feed. To be called after every interrupt of the timer.
    // Like its neighbours not inlined: each has a stack frame of its own, and they do not add up.
    #[inline(never)]
    pub fn run<T: CompareTimer, const ROOM: usize>(&mut self, driver: &mut impl Access<T, ROOM>) {
        for _ in 0..ROOM {
            let Some((edge, now)) = driver.with(CoilDriver::next_edge) else { break };
            self.has_turned = true;
            if self.sequencer.minds(edge.flank) {
                let answer = self.sequencer.edge(edge.flank, edge.at, now);
                order(driver, answer, edge.at);
            }
        }
        if driver.with(CoilDriver::finished) {
            self.poll(driver);
        }
    }

    /// Lets time pass. To be called every now and then where [`is_calm`](Self::is_calm), a hundred times a second or less: it ends the orders of an
    /// engine that has stopped. At least every 2^30 ticks.
    #[inline(never)]
    pub fn poll<T: CompareTimer, const ROOM: usize>(&mut self, driver: &mut impl Access<T, ROOM>) {
        let now = driver.with(CoilDriver::now);
        let answer = self.sequencer.poll(now);
        order(driver, answer, now);
    }

    /// Whether there is time for what can wait, a sample or a look at the clock, before the next edge that could be true; and where none comes
    /// any more. To be asked again, with interrupts off, before a sleep.
    pub fn is_calm<T: CompareTimer, const ROOM: usize>(&self, driver: &mut CoilDriver<T, ROOM>) -> bool {
        if driver.has_edge() {
            return false;
        }
        if matches!(self.sequencer.phase(), bobweight::Phase::Stopped) {
            return true;
        }
        match (self.sequencer.last_edge(), self.sequencer.period()) {
            (Some(last), Some(period)) => {
                let since = driver.now().wrapping_sub(last);
                since < period / 4 || since / 2 > period
            }
            _ => true,
        }
    }
}

/// What the core answers, to the coil.
#[inline(never)]
fn order<T: CompareTimer, const ROOM: usize>(driver: &mut impl Access<T, ROOM>, answer: Answer, since: u32) {
    if !matches!(answer, Answer::Nothing) {
        driver.with(|driver| driver.take(answer, since));
    }
}
