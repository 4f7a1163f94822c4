//! The core's ignition on a reluctor: each spark with what made it, and its true angle.

use bobweight::{Answer, Counters, Flank, Phase, Timetable};
use bobweight_crank as crank;
use bobweight_crank::{Ignition, Motion, Spark};

use crate::firmware::{Happening, Timer};
use crate::plain::{Plain, voltage};

/// What a spark was made by. Times in seconds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Made {
    /// A crossing that timed it, with the period that was used and the phase that decided the advance.
    ByCrossingBefore {
        /// When that crossing came.
        crossing: f64,
        /// The period.
        period: f64,
        /// The phase.
        phase: Phase,
    },
    /// A dwell before the crossing that was to time it, and did not.
    WithoutCrossing,
    /// A dwell from this crossing on.
    FromCrossing(f64),
    /// A dwell from this moving flank on.
    ByMovingFlank(f64),
}

/// One spark. Times in seconds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MadeSpark {
    /// Coil on.
    pub on: f64,
    /// Coil off.
    pub off: f64,
    /// What made it.
    pub by: Made,
    /// The crossing that brought it forward.
    pub ended_at: Option<f64>,
}

/// What came of a ride.
#[derive(Clone, Debug)]
pub struct Ridden {
    /// Every spark, in order of time.
    pub sparks: Vec<MadeSpark>,
    /// The counters at the end.
    pub counters: Counters,
    /// When the first crossing was doubted, in seconds; infinite if none was.
    pub good_until: f64,
    /// The phase at each crossing that was believed, with its time.
    pub phases: Vec<(f64, Phase)>,
}

/// A pickup for settings: the wave whose moving flank has the range that they state.
#[must_use]
pub fn pickup_of(plain: &Plain, threshold_rpm: f64) -> crank::Reluctor {
    let (earliest, _) = plain.moving_flank.expect("the settings are of a reluctor");
    crank::Reluctor {
        pulses: u32::from(plain.pulses),
        crossing: plain.pickup_angle,
        wave: earliest - plain.pickup_angle,
        threshold: threshold_rpm,
        uneven: Vec::new(),
    }
}

struct Booked {
    sparks: Vec<MadeSpark>,
    seen: usize,
    meant: Option<(Made, Option<f64>)>,
}

impl Booked {
    #[allow(clippy::cast_precision_loss)] // Below 2^32 ticks.
    fn dwells(&mut self, timer: &Timer<'_>, rate: f64, until: u64) {
        while let Some(dwell) = timer.dwells.get(self.sparks.len()).filter(|dwell| dwell.off <= until) {
            let (by, ended_at) = self.meant.take().expect("a dwell was ordered");
            self.sparks.push(MadeSpark { on: dwell.on as f64 / rate, off: dwell.off as f64 / rate, by, ended_at });
        }
    }

    /// Takes the answers since the last time; the first of them belongs to `edge`, if one is given.
    #[allow(clippy::cast_precision_loss)]
    fn answers(&mut self, timer: &Timer<'_>, rate: f64, edge: Option<(Flank, u64)>, phase_before: Phase) {
        let mut edge = edge;
        for &(now, answer) in &timer.answers[self.seen..] {
            self.dwells(
                timer,
                rate,
                if matches!(answer, Answer::MoveOff { .. }) { now.saturating_sub(1) } else { now },
            );
            let flank = edge.take();
            let period = timer.sequencer.period().unwrap_or(0);
            let seconds = |ticks: u64| ticks as f64 / rate;
            // Tests begin at tick 0 and end before the clock wraps.
            let timed_by = |last: u32, phase| Made::ByCrossingBefore {
                crossing: f64::from(last) / rate,
                period: f64::from(period) / rate,
                phase,
            };
            let last = timer.sequencer.last_edge();
            match (answer, flank) {
                (Answer::Nothing, _) => {}
                (Answer::Cancel, _) => self.meant = None,
                (Answer::Order { .. }, Some((Flank::Second, at))) => {
                    self.meant = Some((Made::ByMovingFlank(seconds(at)), None));
                }
                (Answer::Order { off, .. }, flank) => {
                    let last = last.expect("an order has a crossing");
                    let phase = timer.sequencer.phase();
                    let timed = timer.timed_off(u64::from(last), phase);
                    self.meant = Some((
                        if u64::from(off) == timed && matches!(phase, Phase::Running | Phase::Held) {
                            timed_by(last, phase)
                        } else if u64::from(off) > u64::from(last) + u64::from(period) + 1 {
                            Made::WithoutCrossing
                        } else {
                            let (_, at) = flank.expect("a poll orders running sparks alone");
                            Made::FromCrossing(seconds(at))
                        },
                        None,
                    ));
                }
                (Answer::MoveOff { .. }, flank) => {
                    let (_, at) = flank.expect("an edge moves an off time");
                    let (by, _) = self.meant.expect("what is moved was ordered");
                    self.meant = Some(match by {
                        Made::WithoutCrossing => (timed_by(last.expect("there is one"), phase_before), None),
                        _ => (by, Some(seconds(at))),
                    });
                }
            }
        }
        self.seen = timer.answers.len();
        self.dwells(timer, rate, timer.now());
    }
}

/// Gives every edge to a new ignition, then lets it finish.
#[must_use]
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, clippy::cast_precision_loss)] // Below 2^32 ticks.
pub fn ride(plain: &Plain, table: &Timetable, edges: &[crank::Edge], volts: f64, handled_after: u32) -> Ridden {
    let rate = plain.tick_rate;
    let mut timer = Timer::new(plain, table, 0);
    timer.happen(0, Happening::Battery(voltage(volts)));
    let mut booked = Booked { sparks: Vec::new(), seen: 0, meant: None };
    let (mut good_until, mut phases) = (f64::INFINITY, Vec::new());
    for edge in edges {
        let at = (edge.time * rate).floor() as u64;
        timer.run_to(at + u64::from(handled_after));
        let (before, phase_before) = (*timer.sequencer.counters(), timer.sequencer.phase());
        booked.answers(&timer, rate, None, phase_before);
        let flank = match edge.flank {
            crank::Flank::Timing => Flank::Timing,
            crank::Flank::Second => Flank::Second,
        };
        timer.happen(at, Happening::Edge { flank, handled_after });
        booked.answers(&timer, rate, Some((flank, at)), phase_before);
        let counters = timer.sequencer.counters();
        let doubts = |c: &Counters| (c.refused, c.replaced, c.lost);
        let believed = timer.sequencer.last_edge() == Some(at as u32);
        if flank == Flank::Timing && (doubts(counters) != doubts(&before) || !believed) {
            good_until = good_until.min(edge.time);
        }
        if flank == Flank::Timing && believed {
            phases.push((edge.time, timer.sequencer.phase()));
        }
    }
    timer.run_to(timer.now() + (2.0 * rate) as u64);
    booked.answers(&timer, rate, None, timer.sequencer.phase());
    Ridden { sparks: booked.sparks, counters: *timer.sequencer.counters(), good_until, phases }
}

impl MadeSpark {
    /// The pulse whose crossing is nearest, and the true angle before its top dead centre, crank degrees.
    #[must_use]
    pub fn angle(&self, plain: &Plain, motion: &Motion) -> (i64, f64) {
        let spark = Spark::read(motion, u32::from(plain.pulses), self.off + plain.lag, plain.pickup_angle);
        (spark.pulse, spark.btdc)
    }

    /// The advance that the formulas ask for at the period that was used, crank degrees; `None` where no period was.
    #[must_use]
    pub fn ordered(&self, plain: &Plain) -> Option<f64> {
        let Made::ByCrossingBefore { period, phase, .. } = self.by else { return None };
        Some(match phase {
            Phase::Held => plain.held,
            _ => Ignition::running_advance(&plain.truth(), plain.period(1.0) / period, 0.0).1,
        })
    }
}
