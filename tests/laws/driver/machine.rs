//! A microcontroller as far as a driver sees it: a counter, a compare unit that moves a pin at its tick and at each wrap, a capture unit, and
//! interrupts that come late.
//!
//! Every access of a register costs time, in which the counter goes on and matches happen, so each place of the driver is tried with a moment
//! that passes just there.

use bobweight::quantity::TickRate;
use bobweight::{Flank, must};
use bobweight_driver::{Access, CoilDriver, CompareTimer, Level, Wide};
use bobweight_tests::numbers::Numbers;

/// How many ticks an access of a register takes at most.
pub const DEAREST: u32 = 9;
/// How many edges can wait.
pub const ROOM: usize = 4;

/// The counter with its compare unit and pin.
#[derive(Debug)]
pub struct Counter<const BITS: u32> {
    time: u64,
    starts_at: u32,
    wide: Wide<BITS>,
    armed: Option<(Level, u32)>,
    captured: u64,
    matched: bool,
    pub pin: Level,
    /// When the pin moved, and what to.
    pub moves: Vec<(u64, Level)>,
    pub disconnected: bool,
    /// How far the capture unit's clock is ahead of the counter's.
    pub capture_ahead: u32,
    numbers: Numbers,
}

impl<const BITS: u32> Counter<BITS> {
    const MASK: u32 = u32::MAX >> (32 - BITS);

    fn new(starts_at: u32, seed: u64) -> Self {
        Self {
            time: 0,
            starts_at,
            wide: Wide::new(),
            armed: None,
            captured: 0,
            matched: false,
            pin: Level::Low,
            moves: Vec::new(),
            disconnected: false,
            capture_ahead: 0,
            numbers: Numbers::new(seed),
        }
    }

    #[allow(clippy::cast_possible_truncation)] // The counter wraps on purpose.
    fn counter_at(&self, time: u64) -> u32 {
        self.starts_at.wrapping_add(time as u32) & Self::MASK
    }

    /// A clock that is not one clock.
    pub fn jump_back(&mut self, ticks: u32) {
        self.starts_at = self.starts_at.wrapping_sub(ticks);
    }

    fn move_pin(&mut self, level: Level) {
        if self.pin != level {
            self.pin = level;
            self.moves.push((self.time, level));
        }
    }

    /// Lets time pass up to a moment; each match on the way moves the pin and raises the interrupt.
    fn pass_to(&mut self, until: u64) {
        while self.time < until {
            let Some((level, at)) = self.armed else {
                self.time = until;
                return;
            };
            let to_match = u64::from(at.wrapping_sub(self.counter_at(self.time)) & Self::MASK);
            let to_match = if to_match == 0 { 1 << BITS } else { to_match };
            if self.time + to_match > until {
                self.time = until;
                return;
            }
            self.time += to_match;
            self.matched = true;
            self.move_pin(level);
        }
    }

    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    fn spend(&mut self) {
        let ticks = (self.numbers.next_share() * f64::from(DEAREST + 1)) as u64;
        self.pass_to(self.time + ticks);
    }
}

impl<const BITS: u32> CompareTimer for Counter<BITS> {
    const TICK_RATE: TickRate = must!(TickRate::from_bits(2_000_000));
    const COMPARE_BITS: u32 = BITS;
    const WRITE_TIME: u32 = 2 * DEAREST;

    fn now(&mut self) -> u32 {
        self.spend();
        self.wide.now(self.counter_at(self.time))
    }

    fn captured(&mut self) -> u32 {
        self.spend();
        let (counter, then) = (self.counter_at(self.time), self.counter_at(self.captured));
        self.wide.at(counter, then).wrapping_add(self.capture_ahead)
    }

    fn arm(&mut self, level: Level, at: u32) {
        self.spend();
        assert!(!self.disconnected, "armed after it was disconnected");
        self.armed = Some((level, at & Self::MASK));
    }

    fn force_off(&mut self) {
        self.spend();
        self.armed = None;
        self.move_pin(Level::Low);
    }

    fn disconnect(&mut self) {
        self.force_off();
        self.disconnected = true;
    }
}

/// What holds interrupts up: up to so many ticks each.
#[derive(Clone, Copy, Debug)]
pub struct Delays {
    pub matches: u32,
    pub half_wraps: u32,
    pub captures: u32,
    /// Between two steps of the main loop.
    pub main_loop: u32,
}

/// The chip with its program.
pub struct Machine<const BITS: u32> {
    pub driver: CoilDriver<Counter<BITS>, ROOM>,
    delays: Delays,
    numbers: Numbers,
    /// Edges still to come, in order.
    edges: std::collections::VecDeque<(u64, Flank)>,
    /// When the interrupt of a match, a half wrap and a capture is served; `None` where none is raised.
    match_at: Option<u64>,
    half_wrap_at: u64,
    capture_at: Option<(u64, Flank)>,
}

impl<const BITS: u32> Machine<BITS> {
    pub fn new(delays: Delays, starts_at: u32, seed: u64) -> Self {
        Self {
            driver: CoilDriver::new(Counter::new(starts_at, seed)),
            delays,
            numbers: Numbers::new(seed ^ 0x5eed),
            edges: std::collections::VecDeque::new(),
            match_at: None,
            half_wrap_at: 1 << (BITS - 1),
            capture_at: None,
        }
    }

    pub fn now(&mut self) -> u64 {
        self.driver.timer().time
    }

    pub fn pin_moves(&mut self) -> Vec<(u64, Level)> {
        self.driver.timer().moves.clone()
    }

    /// Edges to come, each after those before it.
    pub fn will_see(&mut self, edges: impl IntoIterator<Item = (u64, Flank)>) {
        self.edges.extend(edges);
    }

    pub fn next_edge_at(&self) -> Option<u64> {
        self.edges.front().map(|(at, _)| *at)
    }

    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    fn delay(&mut self, most: u32) -> u64 {
        // Often the whole of it: the extremes are what is looked for.
        let share = self.numbers.between(-0.3, 1.3).clamp(0.0, 1.0);
        (share * f64::from(most)) as u64
    }

    /// Lets time pass with every interrupt in its turn.
    pub fn run_to(&mut self, until: u64) {
        loop {
            if self.driver.timer().matched {
                self.driver.timer().matched = false;
                if self.match_at.is_none() {
                    self.match_at = Some(self.now() + self.delay(self.delays.matches));
                }
            }
            let edge_at = self.next_edge_at().unwrap_or(u64::MAX);
            let next = self
                .match_at
                .unwrap_or(u64::MAX)
                .min(self.half_wrap_at)
                .min(self.capture_at.map_or(u64::MAX, |(at, _)| at))
                .min(edge_at);
            let now = self.now();
            if next.max(now) > until {
                break;
            }
            // A match on the way comes first.
            self.driver.timer().pass_to_next_match(next.max(now));
            if self.driver.timer().matched {
                continue;
            }
            if edge_at <= next {
                let (at, flank) = self.edges.pop_front().expect("it was looked at");
                self.driver.timer().captured = at;
                self.capture_at = Some((at + self.delay(self.delays.captures), flank));
            } else if self.capture_at.is_some_and(|(at, _)| at <= next) {
                let (_, flank) = self.capture_at.take().expect("it was looked at");
                self.driver.captured(flank);
            } else if self.match_at.is_some_and(|at| at <= next) {
                self.match_at = None;
                self.driver.service();
            } else {
                self.half_wrap_at = (self.half_wrap_at / (1 << (BITS - 1)) + 1) << (BITS - 1);
                let late = self.delay(self.delays.half_wraps);
                self.half_wrap_at += late;
                self.driver.service();
            }
        }
        let now = self.now();
        if until > now {
            self.driver.timer().pass_to_next_match(until);
            if self.driver.timer().matched {
                self.run_to(until);
            }
        }
    }
}

impl<const BITS: u32> Counter<BITS> {
    /// Lets time pass up to a moment, or to the next match.
    fn pass_to_next_match(&mut self, until: u64) {
        while self.time < until && !self.matched {
            let step = match self.armed {
                Some((_, at)) => {
                    let to_match = u64::from(at.wrapping_sub(self.counter_at(self.time)) & Self::MASK);
                    if to_match == 0 { 1 << BITS } else { to_match }
                }
                None => u64::MAX - self.time,
            };
            self.pass_to(until.min(self.time + step));
        }
    }
}

impl<const BITS: u32> Access<Counter<BITS>, ROOM> for Machine<BITS> {
    /// The main loop is held up before each critical section.
    fn with<R>(&mut self, work: impl FnOnce(&mut CoilDriver<Counter<BITS>, ROOM>) -> R) -> R {
        let until = self.now() + self.delay(self.delays.main_loop);
        self.run_to(until);
        work(&mut self.driver)
    }
}
