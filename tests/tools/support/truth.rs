//! The independent ignition on the built-in bench, in place of the core's.

use bobweight_crank::{Flank, Ignition, Order};
use bobweight_stimulator::CoilEdge;
use bobweight_tool::proof::{IgnitionUnderTest, Switch};
use bobweight_wire::{Depression, Intake};

use crate::plain::Plain;

/// The second ignition from the formulas alone, with a timer of whole ticks.
pub struct TruthIgnition {
    ignition: Ignition,
    rate: f64,
    /// The clock's last reading, and its time in ticks since the beginning.
    last: Option<u32>,
    ticks: u64,
    waiting: Option<(u32, u32)>,
    running_off: Option<u32>,
}

impl TruthIgnition {
    /// An ignition of these settings at a battery voltage.
    pub fn new(settings: &Plain, volts: f64) -> Self {
        let mut ignition = Ignition::new(settings.truth());
        ignition.battery(volts);
        Self { ignition, rate: settings.tick_rate, last: None, ticks: 0, waiting: None, running_off: None }
    }

    #[allow(clippy::cast_precision_loss)] // A run has far fewer than 2^52 ticks.
    fn seconds(&mut self, now: u32) -> f64 {
        let elapsed = self.last.replace(now).map_or(0, |last| now.wrapping_sub(last));
        self.ticks += u64::from(elapsed);
        self.ticks as f64 / self.rate
    }

    /// Moves an order into the timer, rounded to whole ticks.
    #[allow(clippy::cast_possible_truncation)] // Orders lie within seconds of now.
    fn take(&mut self, order: Option<Order>, at: u32, time: f64) {
        let Some(order) = order else { return };
        let tick = |seconds: f64| at.wrapping_add_signed(((seconds - time) * self.rate).round() as i32);
        self.waiting = Some((tick(order.on), tick(order.off)));
    }
}

impl IgnitionUnderTest for TruthIgnition {
    fn tick_rate(&self) -> f64 {
        self.rate
    }

    fn timing_flank(&mut self, at: u32, _now: u32) {
        let time = self.seconds(at);
        let order = self.ignition.edge(Flank::Timing, time);
        self.take(order, at, time);
    }

    fn second_flank(&mut self, at: u32, _now: u32) {
        let time = self.seconds(at);
        let order = self.ignition.edge(Flank::Second, time);
        self.take(order, at, time);
    }

    fn intake(&mut self, intake: Intake, now: u32) {
        let time = self.seconds(now);
        let kpa = f64::from(intake.depression.0) / f64::from(Depression::PER_KPA);
        self.ignition.depression(Some(kpa), intake.throttle_closed, time);
    }

    fn poll(&mut self, now: u32) {
        self.seconds(now);
    }

    fn next_switch(&self) -> Option<Switch> {
        match (self.running_off, self.waiting) {
            (Some(off), _) => Some(Switch { edge: CoilEdge::Off, at: off }),
            (None, Some((on, _))) => Some(Switch { edge: CoilEdge::On, at: on }),
            (None, None) => None,
        }
    }

    fn switched(&mut self) {
        if self.running_off.take().is_none() {
            self.running_off = self.waiting.take().map(|(_, off)| off);
        }
    }
}
