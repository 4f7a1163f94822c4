//! The coil as the stimulator sees it: the ignition's orders, spoilt by its imperfections.

use std::collections::VecDeque;

use bobweight_stimulator::CoilEdge;
use rand::{Rng, RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};

use super::Imperfections;

/// The coil's edges on their way to the stimulator. Times are true, in ticks of the stimulator.
#[derive(Debug)]
pub(super) struct Coil {
    imperfections: Imperfections,
    random: ChaCha8Rng,
    lag: f64,
    /// Edges that have been ordered and follow later.
    following: VecDeque<(f64, CoilEdge)>,
    last: f64,
    /// Scatter of the spark of the dwell that runs, in crank degrees early.
    scatter: f64,
    lost: bool,
    /// Whether the dwell that runs has sparked ahead of its order.
    sparked: bool,
}

impl Coil {
    pub(super) fn new(imperfections: Imperfections, tick_rate: f64, seed: u64) -> Self {
        Self {
            imperfections,
            random: ChaCha8Rng::seed_from_u64(seed),
            lag: imperfections.lag_us * 1e-6 * tick_rate,
            following: VecDeque::new(),
            last: 0.0,
            scatter: 0.0,
            lost: false,
            sparked: false,
        }
    }

    /// A number that every seed has its own of.
    pub(super) fn random(&mut self) -> u64 {
        self.random.next_u64()
    }

    /// When the next edge comes that follows an order already carried out.
    pub(super) fn following(&self) -> Option<f64> {
        self.following.front().map(|(at, _)| *at)
    }

    /// Takes that edge.
    pub(super) fn take_following(&mut self) -> Option<(f64, CoilEdge)> {
        self.following.pop_front()
    }

    /// When a spark ordered for `ordered` comes, if that is before its order: scatter knows no order.
    pub(super) fn ahead(&self, ordered: f64, pulse: u8, degree: f64) -> Option<f64> {
        let at = self.spark(ordered, pulse, degree);
        (at < ordered && !self.sparked && !self.lost).then_some(at)
    }

    /// The spark has come ahead of its order.
    pub(super) fn spark_ahead(&mut self, at: f64) {
        self.sparked = true;
        self.last = at;
    }

    /// The ignition has switched its pin; `degree` is a crank degree in ticks.
    pub(super) fn ordered(&mut self, edge: CoilEdge, at: f64, pulse: u8, degree: f64) {
        match edge {
            CoilEdge::On => {
                self.lost = self.imperfections.lose > 0.0 && self.random.random_bool(self.imperfections.lose);
                let normal: f64 = StandardNormal.sample(&mut self.random);
                self.scatter = normal * self.imperfections.scatter_degrees;
                self.sparked = false;
                self.follow(at + self.lag, edge);
            }
            CoilEdge::Off => {
                if !self.sparked {
                    self.follow(self.spark(at, pulse, degree), edge);
                }
            }
        }
    }

    fn spark(&self, ordered: f64, pulse: u8, degree: f64) -> f64 {
        let uneven = self.imperfections.uneven.filter(|uneven| uneven.pulse == pulse);
        let early = self.scatter + uneven.map_or(0.0, |uneven| uneven.early_degrees);
        // A dwell of no length would be no edge.
        (ordered + self.lag - early * degree).max(self.last + 1.0)
    }

    fn follow(&mut self, at: f64, edge: CoilEdge) {
        if !self.lost {
            let at = at.max(self.last);
            self.last = at;
            self.following.push_back((at, edge));
        }
    }
}
