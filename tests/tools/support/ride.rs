//! The core's ignition on the independent crank: each spark with the edge that timed it, and its true angle.

use bobweight::{Answer, Counters, Phase, Timetable};
use bobweight_crank as crank;
use bobweight_crank::{Ignition, Motion, Spark, bounds};

use crate::firmware::{Happening, Timer};
use crate::plain::{Plain, depression, voltage};

/// The edge that timed a spark, and what was known then. Times in seconds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TimedBy {
    /// Which of the edges.
    pub edge: usize,
    /// The period that was used.
    pub period: f64,
    /// What decided the advance.
    pub phase: Phase,
    /// The vacuum advance given, crank degrees.
    pub vacuum: f64,
    /// Whether an edge was missing before this one.
    pub after_lost: bool,
    /// Whether the largest dwell or the present forbade the wanted time.
    pub unruly: bool,
}

/// One spark. Times in seconds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fired {
    /// Coil on.
    pub on: f64,
    /// Coil off.
    pub off: f64,
    /// The pulse that the ignition made it for; a false edge is taken for that of the next pulse.
    pub pulse: i64,
    /// The edge that timed it; `None` where it came without its edge.
    pub timed_by: Option<TimedBy>,
}

/// How an ignition is turned.
#[derive(Clone, Copy)]
pub struct Ride<'a> {
    /// The settings.
    pub plain: &'a Plain,
    /// Their timetable.
    pub table: &'a Timetable,
    /// How many ticks after it came each edge is handled.
    pub handled_after: u32,
    /// What the vacuum sensor reads after each edge, kPa.
    pub depression: Option<f64>,
    /// The battery.
    pub volts: f64,
}

/// What came of it.
#[derive(Clone, Debug)]
pub struct Ridden {
    /// Every spark, in order of time.
    pub sparks: Vec<Fired>,
    /// The sequencer's counters at the end.
    pub counters: Counters,
    /// When the first edge was not taken for a good one, in seconds; infinite if none was.
    pub good_until: f64,
    /// What the last edge but so many was believed to be the period of, in seconds.
    pub period: f64,
}

/// The pulse and the edge of an order.
type Meant = (i64, Option<TimedBy>);

impl Ride<'_> {
    /// Gives every edge to a new ignition, then lets it finish its orders.
    #[must_use]
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, clippy::cast_precision_loss)] // Below 2^32 ticks.
    pub fn over(&self, edges: &[crank::Edge]) -> Ridden {
        let rate = self.plain.tick_rate;
        let mut timer = Timer::new(self.plain, self.table, 0);
        timer.happen(0, Happening::Battery(voltage(self.volts)));
        let mut sparks = Vec::new();
        let mut meant: Option<Meant> = None;
        let mut last_pulse = 0;
        let mut good_until = f64::INFINITY;
        let mut book = |timer: &Timer<'_>, meant: &mut Option<Meant>, last_pulse: i64| {
            for dwell in &timer.dwells[sparks.len()..] {
                // After the order that an edge made, those of a poll are for the next edge.
                let (pulse, timed_by) = meant.take().unwrap_or((last_pulse + 1, None));
                sparks.push(Fired { on: dwell.on as f64 / rate, off: dwell.off as f64 / rate, pulse, timed_by });
            }
        };
        for (place, edge) in edges.iter().enumerate() {
            let at = (edge.time * rate).floor() as u64;
            timer.run_to(at + u64::from(self.handled_after));
            book(&timer, &mut meant, last_pulse);
            let (before, phase_before) = (*timer.sequencer.counters(), timer.sequencer.phase());
            let flank = match edge.flank {
                crank::Flank::Timing => bobweight::Flank::Timing,
                crank::Flank::Second => bobweight::Flank::Second,
            };
            timer.happen(at, Happening::Edge { flank, handled_after: self.handled_after });
            let counters = *timer.sequencer.counters();
            let replaced = counters.replaced != before.replaced;
            if flank == bobweight::Flank::Timing {
                if timer.sequencer.last_edge() == Some(at as u32) {
                    last_pulse = edge.pulse.unwrap_or(if replaced { last_pulse } else { last_pulse + 1 });
                }
                let doubts = |c: &Counters| (c.refused, c.replaced, c.lost);
                if doubts(&counters) != doubts(&before) {
                    good_until = good_until.min(edge.time);
                }
            }
            let period = timer.sequencer.period().unwrap_or(0);
            let timed = |phase, unruly| {
                let timed_by = TimedBy {
                    edge: place,
                    period: f64::from(period) / rate,
                    phase,
                    vacuum: timer.sequencer.vacuum().get().to_num(),
                    after_lost: counters.lost != before.lost,
                    unruly,
                };
                Some((last_pulse, Some(timed_by)))
            };
            let unruly = counters.forced != before.forced || counters.off_now != before.off_now;
            match timer.answers.last().expect("an edge has an answer").1 {
                // An order for the pulse after this one has no edge yet.
                Answer::Order { off, .. }
                    if flank == bobweight::Flank::Timing && u64::from(off) >= at + u64::from(period) =>
                {
                    meant = None;
                }
                Answer::Order { .. } => meant = timed(timer.sequencer.phase(), false),
                Answer::MoveOff { .. } => meant = timed(phase_before, unruly),
                Answer::Nothing if unruly => meant = timed(phase_before, true),
                Answer::Nothing => {}
                Answer::Cancel => meant = None,
            }
            book(&timer, &mut meant, last_pulse);
            if let Some(kpa) = self.depression {
                timer.happen(timer.now(), Happening::Sample(Some(depression(kpa)), false));
            }
        }
        timer.run_to(timer.now() + rate as u64);
        book(&timer, &mut meant, last_pulse);
        Ridden {
            sparks,
            counters: *timer.sequencer.counters(),
            good_until,
            period: f64::from(timer.sequencer.period().unwrap_or(0)) / rate,
        }
    }
}

impl Fired {
    /// The true angle, crank degrees before the TDC of its own pulse.
    #[must_use]
    pub fn angle(&self, plain: &Plain, motion: &Motion) -> f64 {
        Spark::of_pulse(motion, u32::from(plain.pulses), self.off + plain.lag, self.pulse).btdc
    }
}

impl TimedBy {
    /// The advance that the formulas ask for at the period that was used, crank degrees.
    #[must_use]
    pub fn ordered(&self, plain: &Plain, truth: &crank::Settings) -> f64 {
        match self.phase {
            Phase::Cranking => plain.cranking,
            Phase::Held => plain.held.clamp(plain.least, plain.greatest),
            _ => {
                let rpm = plain.period(1.0) / self.period;
                Ignition::running_advance(truth, rpm, self.vacuum).1
            }
        }
    }

    /// How far the crank may be from it, crank degrees: the bound where the speed changes.
    #[must_use]
    pub fn bound(&self, plain: &Plain, ordered: f64) -> f64 {
        let of = if self.after_lost { bounds::after_lost_edge } else { bounds::timed_by_edge };
        of(u32::from(plain.pulses), plain.pickup_angle, ordered, self.period, plain.acceleration)
    }
}
