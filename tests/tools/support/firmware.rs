//! The timer around a sequencer, on a clock that does not wrap, and the laws of any stream held at every answer.

use bobweight::quantity::{Depression, Voltage};
use bobweight::{Answer, Flank, Phase, Sequencer, Timetable};

use crate::plain::Plain;

/// One dwell as the coil's pin had it, in ticks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Dwelt {
    /// Coil on.
    pub on: u64,
    /// Coil off: the spark.
    pub off: u64,
}

/// What happens to an ignition.
#[derive(Clone, Copy, Debug)]
pub enum Happening {
    /// An edge of the pickup, handled so many ticks after it came.
    Edge {
        /// Which flank.
        flank: Flank,
        /// How late it is handled.
        handled_after: u32,
    },
    /// A sample of the vacuum sensor.
    Sample(Option<Depression>, bool),
    /// A sample of the battery.
    Battery(Voltage),
    /// The hold jumper.
    Hold(bool),
    /// Nothing but a poll.
    Poll,
}

/// A sequencer with the timer that a firmware would give it.
pub struct Timer<'t> {
    /// The sequencer under test.
    pub sequencer: Sequencer<'t>,
    /// Every finished dwell.
    pub dwells: Vec<Dwelt>,
    /// Every answer with its time, for comparing runs.
    pub answers: Vec<(u64, Answer)>,
    table: &'t Timetable,
    plain: &'t Plain,
    order: Option<Dwelt>,
    clock_starts_at: u32,
    now: u64,
    polled: u64,
    edges: u64,
    largest: u64,
    latency: u64,
    stopped: u64,
}

impl<'t> Timer<'t> {
    /// A timer whose 32-bit clock reads `clock_starts_at` at tick 0.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // Times of tests are small and positive.
    pub fn new(plain: &'t Plain, table: &'t Timetable, clock_starts_at: u32) -> Self {
        let ticks = |seconds: f64| (seconds * plain.tick_rate + 1e-6).floor() as u64;
        Self {
            sequencer: Sequencer::new(table),
            dwells: Vec::new(),
            answers: Vec::new(),
            table,
            plain,
            order: None,
            clock_starts_at,
            now: 0,
            polled: 0,
            edges: 0,
            largest: ticks(plain.largest_dwell),
            // As the core rounds it: up.
            latency: (plain.latency * plain.tick_rate - 1e-6).ceil() as u64,
            stopped: ticks(plain.period(30.0)),
        }
    }

    /// The same clock and pin with a controller that starts anew at a time, and knows nothing.
    #[must_use]
    pub fn started_at(plain: &'t Plain, table: &'t Timetable, clock_starts_at: u32, now: u64) -> Self {
        Self { now, polled: now, ..Self::new(plain, table, clock_starts_at) }
    }

    /// Takes the power away at a time, which is not before now: a coil that is on sparks at once.
    pub fn cut(&mut self, at: u64) -> Option<Dwelt> {
        self.run_to(at);
        let order = self.order.take().filter(|order| order.on < at);
        order.map(|order| Dwelt { off: at, ..order })
    }

    /// The time, in ticks.
    pub fn now(&self) -> u64 {
        self.now
    }

    #[allow(clippy::cast_possible_truncation)] // The clock wraps on purpose.
    fn clock(&self, time: u64) -> u32 {
        self.clock_starts_at.wrapping_add(time as u32)
    }

    /// The unwrapped time of an answer's tick.
    fn unwrapped(&self, tick: u32) -> u64 {
        let ahead = tick.wrapping_sub(self.clock(self.now)).cast_signed();
        self.now.saturating_add_signed(i64::from(ahead))
    }

    /// When the last edge that was believed came.
    fn last_edge(&self) -> u64 {
        self.unwrapped(self.sequencer.last_edge().expect("an order has an edge"))
    }

    /// Lets time pass up to a moment, polling after every coil-off and every 2^29 ticks.
    pub fn run_to(&mut self, until: u64) {
        while self.now < until {
            let next = match self.order {
                Some(order) if order.off <= until => order.off.max(self.now),
                _ => until,
            };
            self.now = next.min(self.polled + (1 << 29));
            if self.finish() || self.now == self.polled + (1 << 29) {
                self.poll();
            }
        }
        self.finish();
    }

    /// Books a dwell whose time is over.
    fn finish(&mut self) -> bool {
        let Some(order) = self.order.filter(|order| order.off <= self.now) else { return false };
        assert!(order.off - order.on <= self.largest, "the coil was on for longer than the largest dwell: {order:?}");
        self.dwells.push(order);
        self.order = None;
        true
    }

    /// Asks the sequencer whether there is anything to do.
    pub fn poll(&mut self) {
        self.polled = self.now;
        let answer = self.sequencer.poll(self.clock(self.now));
        if let Answer::Order { on, off } = answer {
            if self.plain.moving_flank.is_some() && !self.is_early(off) {
                let edge = self.last_edge();
                assert_eq!(
                    self.timed_off(edge, self.sequencer.phase()),
                    self.unwrapped(off),
                    "an order that no rule gives"
                );
                self.hold_slow_while_held();
                self.hold_timed_spark(edge, self.unwrapped(off), self.sequencer.phase());
            } else {
                self.hold_early_order(self.unwrapped(on), self.unwrapped(off));
            }
        }
        self.take(answer);
    }

    /// The edge of a reluctor: a running order is at its angle, any other begins no sooner than its own flank, and what is moved is
    /// moved forward, not to before the crossing.
    fn reluctor_edge(&mut self, flank: Flank, at: u64) {
        let (forced, phase_before) = (self.unruly(), self.sequencer.phase());
        let answer = self.sequencer.edge(flank, self.clock(at), self.clock(self.now));
        let phase = self.sequencer.phase();
        self.edges += u64::from(flank == Flank::Timing);
        match answer {
            Answer::Order { on, off } if flank == Flank::Second => {
                assert_eq!(phase, Phase::Cranking, "a dwell by the moving flank");
                assert!(
                    self.plain.moving_flank.unwrap().0 <= self.plain.greatest_cranking,
                    "a dwell by the moving flank"
                );
                assert!(
                    self.unwrapped(on) >= at && u64::from(off.wrapping_sub(on)) <= self.largest,
                    "{answer:?} at {at}"
                );
            }
            Answer::Order { on, off } if self.is_early(off) => {
                self.hold_early_order(self.unwrapped(on), self.unwrapped(off));
            }
            Answer::Order { on, off } => {
                let (on, off, running) = (self.unwrapped(on), self.unwrapped(off), [Phase::Running, Phase::Held]);
                if running.contains(&phase) && off == self.timed_off(at, phase) {
                    self.hold_slow_while_held();
                    self.hold_timed_spark(at, off, phase);
                } else {
                    // A spark from the crossing: of a pulse that was cranked, or whose own dwell was still to begin.
                    let brought = self.order.is_none_or(|order| off <= order.off);
                    assert!(on >= at && brought, "{answer:?} at {at}, {:?}", self.order);
                }
            }
            Answer::MoveOff { off } if forced == self.unruly() => {
                let (off, order) = (self.unwrapped(off), self.order.expect("what is moved runs"));
                let ended = off >= at && off < order.off;
                assert!(ended || off == self.timed_off(at, phase_before), "{answer:?} at {at}, {order:?}");
            }
            _ => {}
        }
        self.take(answer);
        self.hold_one_spark_a_pulse();
        if matches!(answer, Answer::MoveOff { .. }) && self.order.is_none() {
            // The coil is off already, so the firmware polls.
            self.poll();
        }
    }

    /// The off time that an edge gives the running spark that it times.
    #[must_use]
    pub fn timed_off(&self, edge: u64, phase: Phase) -> u64 {
        let period = self.sequencer.period().unwrap_or(0);
        edge + u64::from(self.table.delay(phase, period, self.sequencer.vacuum()))
    }

    /// Lets something happen at a time, which is not before now.
    pub fn happen(&mut self, at: u64, what: Happening) {
        match what {
            Happening::Edge { flank, handled_after } => {
                self.run_to(at + u64::from(handled_after));
                self.edge(flank, at);
            }
            Happening::Sample(sample, closed) => {
                self.run_to(at);
                self.sequencer.depression(sample, closed, self.clock(self.now));
            }
            Happening::Battery(voltage) => {
                self.run_to(at);
                self.sequencer.battery(voltage);
            }
            Happening::Hold(hold) => {
                self.run_to(at);
                self.sequencer.hold(hold);
            }
            Happening::Poll => {
                self.run_to(at);
                self.poll();
            }
        }
    }

    fn edge(&mut self, flank: Flank, at: u64) {
        if self.plain.moving_flank.is_some() {
            return self.reluctor_edge(flank, at);
        }
        let (forced, phase_before) = (self.unruly(), self.sequencer.phase());
        let answer = self.sequencer.edge(flank, self.clock(at), self.clock(self.now));
        if flank == Flank::Timing {
            self.edges += 1;
            match answer {
                Answer::Order { on, off } if self.is_early(off) => {
                    self.hold_early_order(self.unwrapped(on), self.unwrapped(off));
                }
                Answer::Order { off, .. } => {
                    self.hold_slow_while_held();
                    self.hold_timed_spark(at, self.unwrapped(off), self.sequencer.phase());
                }
                // A change of phase acts from the next dwell on.
                Answer::MoveOff { off } if forced == self.unruly() => {
                    self.hold_timed_spark(at, self.unwrapped(off), phase_before);
                }
                _ => {}
            }
        }
        self.take(answer);
        self.hold_one_spark_a_pulse();
    }

    /// Whether an order is for the pulse after the last edge.
    fn is_early(&self, off: u32) -> bool {
        let period = self.sequencer.period().expect("an order has a period");
        // A reluctor's spark can lie at its own crossing, a period after the one that times it.
        let own = u64::from(self.plain.moving_flank.is_some());
        self.unwrapped(off) >= self.last_edge() + u64::from(period) + own
    }

    /// Sparks that these laws except and count.
    fn unruly(&self) -> (u16, u16) {
        let counters = self.sequencer.counters();
        (counters.forced, counters.off_now)
    }

    /// No more sparks than pulses, save the one that a dwell before an edge still owes.
    fn hold_one_spark_a_pulse(&self) {
        let sparks = self.dwells.len() as u64 + u64::from(self.order.is_some());
        let counters = self.sequencer.counters();
        let believed = self.edges - u64::from(counters.refused) - u64::from(counters.replaced);
        assert!(sparks <= believed + 1, "{sparks} sparks of {believed} edges");
    }

    /// An order's angle at the period that it used is inside the limits; never early by one tick.
    fn hold_timed_spark(&self, edge: u64, off: u64, phase: Phase) {
        let plain = self.plain;
        let Some(period) = self.sequencer.period() else { panic!("a timed spark without a period") };
        let (least, greatest) = match phase {
            Phase::Cranking => (-30.0, plain.greatest_cranking),
            _ => (plain.least, plain.greatest),
        };
        let degrees_per_tick = plain.spacing() / f64::from(period);
        #[allow(clippy::cast_precision_loss)] // A delay is far below 2^52 ticks.
        let delay = off as f64 - edge as f64;
        let angle = plain.timing_angle() - (delay + plain.lag * plain.tick_rate) * degrees_per_tick;
        assert!(angle <= greatest + 1e-9, "spark ordered at {angle} crank degrees, above {greatest}; period {period}");
        let slack = degrees_per_tick + 0.02;
        assert!(angle >= least - slack, "spark ordered at {angle} crank degrees, below {least}; period {period}");
    }

    /// No dwell begins that is held and faster than held sparks go.
    fn hold_slow_while_held(&self) {
        let top: f64 = bobweight::NO_HELD_SPARK_ABOVE.get().to_num();
        let shortest = self.plain.period(top) * self.plain.tick_rate;
        if let (Phase::Held, Some(period)) = (self.sequencer.phase(), self.sequencer.period()) {
            assert!(
                f64::from(period) >= shortest - 1e-6,
                "a held order at a period of {period} ticks, under {shortest}"
            );
        }
    }

    /// A dwell before its edge: should the edge not come, the spark is later than the predicted one.
    fn hold_early_order(&self, on: u64, off: u64) {
        let period = self.sequencer.period().expect("a dwell before its edge has a period");
        let phase = self.sequencer.phase();
        assert!(matches!(phase, Phase::Running | Phase::Held), "a dwell before its edge while {phase:?}");
        self.hold_slow_while_held();
        let delay = self.table.delay(phase, period, self.sequencer.vacuum());
        let predicted = self.last_edge() + u64::from(period) + u64::from(delay);
        assert!(off >= predicted, "a spark without its edge at {off}, before the predicted {predicted}");
        assert!(on < self.last_edge() + self.stopped, "a dwell begins after a stop");
    }

    /// Moves an answer into the timer, and holds what a firmware relies on.
    fn take(&mut self, answer: Answer) {
        self.answers.push((self.now, answer));
        let begun = self.order.is_some_and(|order| order.on <= self.now + self.latency);
        match answer {
            Answer::Nothing => {}
            Answer::Order { on, off } => {
                assert!(!begun, "an order for a coil that is on");
                let (on, off) = (self.unwrapped(on).max(self.now), self.unwrapped(off));
                assert!(off > on, "an order ends before it begins");
                assert!(off - on <= self.largest, "an order is longer than the largest dwell");
                assert!(
                    on <= self.last_edge() + self.stopped,
                    "a dwell begins after a stop: on {on} off {off} now {} last edge {} {:?}",
                    self.now,
                    self.last_edge(),
                    self.sequencer
                );
                self.order = Some(Dwelt { on, off });
            }
            Answer::MoveOff { off } => {
                assert!(begun, "an off time moved of a dwell that does not run");
                let off = self.unwrapped(off).max(self.now);
                self.order = self.order.map(|order| Dwelt { off: off.max(order.on), ..order });
            }
            Answer::Cancel => {
                assert!(self.order.is_some() && !begun, "nothing that waits to cancel");
                self.order = None;
            }
        }
        self.finish();
    }
}
