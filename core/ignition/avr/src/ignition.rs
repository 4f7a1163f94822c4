//! The ignition between its pins: edges and samples to the core, the core's orders to the coil.

use crate::register::{Quiet, quietly};
use crate::sensors::{Sample, throttle_closed};
use crate::settings::Settings;
use crate::{clock, coil, pickup, sensors};
use bobweight::{Answer, Manifold, Phase, Sequencer};

/// An ignition for one engine.
pub struct Ignition<'s> {
    sequencer: Sequencer<'s>,
    manifold: Option<Manifold<'s>>,
    has_turned: bool,
    sensor_failed: bool,
}

impl<'s> Ignition<'s> {
    /// An ignition at key-on. `held` stays so until key-off: a jumper that comes loose must not move the spark.
    pub fn new(settings: &'s Settings, held: bool) -> Self {
        let mut sequencer = Sequencer::new(&settings.timetable);
        sequencer.hold(held);
        Self {
            sequencer,
            manifold: settings.sensor.as_ref().map(Manifold::new),
            has_turned: false,
            sensor_failed: false,
        }
    }

    /// Whether the manifold's sensor has failed.
    pub fn sensor_failed(&self) -> bool {
        self.sensor_failed
    }

    /// Takes the edges that wait, and what follows a coil-off; no more edges than can wait at once, for noise brings new ones faster than they are
    /// taken, and the main loop has a watchdog to feed.
    ///
    /// Like its neighbours not inlined: each has a stack frame of its own, and they do not add up.
    #[inline(never)]
    pub fn run(&mut self) {
        for _ in 0..pickup::ROOM {
            let Some(edge) = quietly(pickup::next) else { break };
            self.has_turned = true;
            if !self.sequencer.minds(edge.flank) {
                // The next edge may be waiting already.
                continue;
            }
            let answer = self.sequencer.edge(edge.flank, edge.at, quietly(clock::now));
            order(answer);
        }
        if quietly(coil::finished) {
            self.poll();
        }
    }

    /// Lets time pass.
    #[inline(never)]
    pub fn poll(&mut self) {
        let answer = self.sequencer.poll(quietly(clock::now));
        order(answer);
    }

    /// Works out a sample that waits, if the next edge is not near: a curve takes longer than an edge may wait.
    #[inline(never)]
    pub fn work_out_sample(&mut self) {
        if !quietly(|quiet| self.is_calm(quiet)) {
            return;
        }
        match quietly(sensors::next) {
            None => {}
            Some(Sample::Battery(voltage)) => self.sequencer.battery(voltage),
            Some(Sample::Manifold(output)) => {
                let sample = match &mut self.manifold {
                    Some(manifold) => {
                        let sample = manifold.depression(output, self.has_turned).ok();
                        self.sensor_failed = sample.is_none();
                        sample
                    }
                    None => None,
                };
                self.sequencer.depression(sample, throttle_closed(), quietly(clock::now));
                sensors::measure(false);
            }
        }
    }

    /// Whether there is time for what can wait, a sample or a look at the clock, before the next edge that could be true; and where none comes
    /// any more.
    pub fn is_calm(&self, quiet: Quiet) -> bool {
        if pickup::has_edge(quiet) || matches!(self.sequencer.phase(), Phase::Stopped) {
            return !pickup::has_edge(quiet);
        }
        match (self.sequencer.last_edge(), self.sequencer.period()) {
            (Some(last), Some(period)) => {
                let since = clock::now(quiet).wrapping_sub(last);
                since < period / 4 || since / 2 > period
            }
            _ => true,
        }
    }
}

/// What the core answers, to the coil.
#[inline(never)]
fn order(answer: Answer) {
    if !matches!(answer, Answer::Nothing) {
        quietly(|quiet| coil::take(answer, quiet));
    }
}
