//! Surveys of distributors that are not what a fit supposes: round corners, springs, other scatters, leaks, gauges that are out. No
//! real distributor is behind them.

#![expect(clippy::cast_precision_loss, reason = "a survey has a few dozen readings")]

use super::best_ramps::best_ramps;
use super::flyweight::Flyweight;
use super::invented::{Distributor, interpolate};
use bobweight_tool::distributor::{ColumnNames, Hose, Reading, Readings, SpeedWas};
use bobweight_tool::quantity::Accuracy;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, Normal};

/// What is not as a fit supposes it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Hostile {
    /// Nothing.
    Sharp,
    /// Each corner spread over 300 crank rpm to either side.
    Rounded,
    /// Weights and springs in equilibrium.
    Springs,
    /// A full S from start to end.
    FullS,
    /// So many crank degrees of scatter, not stated.
    Scatter(f64),
    /// Readings with the hose on scatter by 1.5 crank degrees more than those without.
    HoseOnScatter,
    /// The vacuum unit sees 5 to 25 % less than the gauge showed when it was pumped up, each time another; nobody looked whether it holds.
    Leaking,
    /// All angles drift, by up to 1.5 crank degrees either way from the first to the last.
    Drifting,
    /// The engine turns unevenly, so that a speed is read 2 % wrong (standard deviation), each time another way, as is stated.
    Uneven,
    /// The tachometer is out by up to 2 % and 20 crank rpm, as is stated.
    Tachometer,
    /// The vacuum gauge is out by up to 4 % and 0.5 kPa, as is stated.
    Gauge,
    /// Two hose-off readings are 4 to 10 crank degrees wrong.
    TwoMisread,
    /// Any shape, 0.3 to 2 crank degrees of scatter, not stated.
    Anything,
}

/// Shape of the curve without vacuum.
#[derive(Debug, Clone)]
enum Shape {
    Sharp,
    Rounded,
    Springs(Flyweight),
    FullS,
}

/// A survey with its truth.
#[derive(Debug, Clone)]
pub struct HostileSurvey {
    distributor: Distributor,
    shape: Shape,
    /// Standard deviation of a hose-off reading, crank degrees.
    pub scatter: f64,
    /// What was read.
    pub readings: Readings,
    /// Least and greatest part of the depression that a leak takes, where the unit leaks.
    lost: Option<(f64, f64)>,
    /// The true speeds and directions of the hose-off readings.
    pub placed: Vec<(f64, f64)>,
}

const ROUNDED_BY: f64 = 300.0;
/// What is stated of the meters that are out.
const TACHOMETER: Accuracy = Accuracy { share: 0.02, besides: 20.0 };
const GAUGE: Accuracy = Accuracy { share: 0.04, besides: 0.5 };

/// A meter that is out by some of what is stated, the same way every time: what is true is what it shows, a share of that more, and some besides.
struct Meter {
    share: f64,
    besides: f64,
}

impl Meter {
    fn of(stated: Option<Accuracy>, rng: &mut ChaCha8Rng) -> Self {
        stated.map_or(Self { share: 0.0, besides: 0.0 }, |Accuracy { share, besides }| Self {
            share: between(rng, -share, share),
            besides: between(rng, -besides, besides),
        })
    }

    fn shows(&self, truth: f64) -> f64 {
        ((truth - self.besides) / (1.0 + self.share)).max(0.0)
    }
}

fn between(rng: &mut ChaCha8Rng, low: f64, high: f64) -> f64 {
    low + (high - low) * rng.random::<f64>()
}

/// A speed that is read wrong by this part of it (standard deviation).
fn uneven(speed: f64, scatter: f64, rng: &mut ChaCha8Rng) -> f64 {
    if scatter > 0.0 { speed * (1.0 + Normal::new(0.0, scatter).expect("a scatter").sample(rng)) } else { speed }
}

fn tens(speed: f64) -> f64 {
    (speed / 10.0).round() * 10.0
}

impl HostileSurvey {
    /// The truth without vacuum, crank degrees at a steady speed.
    pub fn truth(&self, speed: f64) -> f64 {
        let Distributor { knots, levels, .. } = &self.distributor;
        let last = knots.len() - 1;
        match &self.shape {
            Shape::Sharp => interpolate(knots, levels, speed),
            Shape::Springs(weights) => levels[0] + weights.crank_degrees(speed),
            // The mean of the ramps over the speeds about this one.
            Shape::Rounded => {
                let about = (0..60).map(|at| speed + ROUNDED_BY * ((f64::from(at) + 0.5) / 30.0 - 1.0));
                about.map(|speed| interpolate(knots, levels, speed)).sum::<f64>() / 60.0
            }
            Shape::FullS => {
                let share = ((speed - knots[0]) / (knots[last] - knots[0])).clamp(0.0, 1.0);
                levels[0] + (levels[last] - levels[0]) * share * share * (3.0 - 2.0 * share)
            }
        }
    }

    /// Depression where the vacuum advance starts and is all in, kPa, and the whole of it: of a unit that holds its own. While one leaks, the gauge
    /// shows more than it has, each time by another part; then they are those of the best ramp through what it gives on average at what the gauge
    /// shows, evenly weighted over the depressions read.
    ///
    /// # Panics
    /// Where no reading has the hose on.
    pub fn vacuum_as_shown(&self) -> (f64, f64, f64) {
        /// The best ramps are sought in steps that suit crank rpm.
        const RPM_PER_KPA: f64 = 50.0;
        let (start, full, greatest) = self.distributor.vacuum;
        let Some((least, most)) = self.lost else { return (start, full, greatest) };
        let shown = self.readings.readings.iter().filter_map(|reading| reading.depression_kpa);
        let range = shown.fold((f64::INFINITY, 0.0_f64), |(low, high), kpa| (low.min(kpa), high.max(kpa)));
        let on_average = |x: f64| {
            let lost = (0..40).map(|at| least + (most - least) * (f64::from(at) + 0.5) / 40.0);
            let gives = |lost: f64| interpolate(&[start, full], &[0.0, greatest], x / RPM_PER_KPA * (1.0 - lost));
            lost.map(gives).sum::<f64>() / 40.0
        };
        let best = best_ramps(on_average, (range.0 * RPM_PER_KPA, range.1 * RPM_PER_KPA), 1);
        (best.knots[0] / RPM_PER_KPA, best.knots[1] / RPM_PER_KPA, best.levels[1] - best.levels[0])
    }

    /// The survey of `kind` with this seed, 18 to 60 readings with the hose off and 10 to 16 with it on.
    ///
    /// # Panics
    /// Never: scatters are not negative.
    pub fn invent(kind: Hostile, seed: u64) -> Self {
        let rng = &mut ChaCha8Rng::seed_from_u64(seed);
        let mut distributor = Distributor::invent(1 + usize::from(seed.is_multiple_of(2)), rng);
        let shapes = [Hostile::Sharp, Hostile::Rounded, Hostile::Springs, Hostile::FullS];
        let shape = match if kind == Hostile::Anything { shapes[rng.random_range(0..4)] } else { kind } {
            Hostile::Rounded => Shape::Rounded,
            Hostile::FullS => Shape::FullS,
            Hostile::Springs => Shape::Springs(springs(&mut distributor, seed, rng)),
            _ => Shape::Sharp,
        };
        let scatter = match kind {
            Hostile::Scatter(scatter) => scatter,
            Hostile::Anything => between(rng, 0.3, 2.0),
            _ => 0.5,
        };
        let lost = (kind == Hostile::Leaking).then_some((0.05, 0.25));
        let mut survey = Self { distributor, shape, scatter, readings: nothing_yet(seed), lost, placed: Vec::new() };
        survey.readings.speed_scatter = if kind == Hostile::Uneven { 0.02 } else { 0.0 };
        survey.readings.tachometer_accuracy = (kind == Hostile::Tachometer).then_some(TACHOMETER);
        let tachometer = Meter::of(survey.readings.tachometer_accuracy, rng);
        survey.read_hose_off(kind, &tachometer, rng);
        survey.read_hose_on(kind, &tachometer, rng);
        survey
    }

    fn read_hose_off(&mut self, kind: Hostile, tachometer: &Meter, rng: &mut ChaCha8Rng) {
        let count = rng.random_range(18..=60_usize);
        let drift = if kind == Hostile::Drifting { between(rng, -1.5, 1.5) } else { 0.0 };
        let up_down = self.distributor.up_down;
        let knots = self.distributor.knots.clone();
        let (start, end) = (knots[0], knots[knots.len() - 1]);
        let (idle, top) = (start - between(rng, 300.0, 450.0), end + between(rng, 500.0, 800.0));
        let at_ends = (count / 6).max(3);
        let inside = count - 2 * at_ends;
        let mut speeds: Vec<f64> = (0..at_ends).map(|_| idle + between(rng, -50.0, 50.0)).collect();
        let step = (top - idle) / (inside as f64 + 1.0);
        speeds.extend((1..=inside).map(|at| idle + step * (at as f64 + between(rng, -0.25, 0.25))));
        speeds.extend((0..at_ends).map(|_| top + between(rng, 0.0, 100.0)));
        // Up over every other speed, and down over the rest.
        let up = (0..count).step_by(2);
        let down = (0..count).rev().filter(|at| at % 2 == 1);
        let order: Vec<(usize, f64)> = up.map(|at| (at, 1.0)).chain(down.map(|at| (at, -1.0))).collect();
        let noise = Normal::new(0.0, self.scatter).expect("a scatter");
        let wrong =
            if kind == Hostile::TwoMisread { rand::seq::index::sample(rng, count, 2).into_vec() } else { vec![] };
        for (turn, (at, direction)) in order.into_iter().enumerate() {
            let speed = tens(speeds[at]);
            let on_a_ramp = speed > start && speed < end;
            let sticks = if on_a_ramp { -direction / 2.0 * up_down } else { 0.0 };
            let drifted = drift * (turn as f64 / (count as f64 - 1.0) - 0.5);
            let size = between(rng, 4.0, 10.0) * if rng.random::<bool>() { 1.0 } else { -1.0 };
            let misread = if wrong.contains(&turn) { size } else { 0.0 };
            let angle = self.truth(speed) + sticks + drifted + misread + noise.sample(rng);
            self.placed.push((speed, direction));
            let speed_was = if direction > 0.0 { SpeedWas::Rising } else { SpeedWas::Falling };
            let shown = tachometer.shows(uneven(speed, self.readings.speed_scatter, rng));
            self.push(Hose::Off, speed_was, shown, angle, None);
        }
    }

    fn read_hose_on(&mut self, kind: Hostile, tachometer: &Meter, rng: &mut ChaCha8Rng) {
        let count = rng.random_range(10..=16_usize);
        let (start, full, greatest) = self.distributor.vacuum;
        let more = if kind == Hostile::HoseOnScatter { 1.5 } else { 0.0 };
        let noise = Normal::new(0.0, self.scatter + more).expect("a scatter");
        self.readings.gauge_accuracy = (kind == Hostile::Gauge).then_some(GAUGE);
        let gauge = Meter::of(self.readings.gauge_accuracy, rng);
        let ramp = count - 6;
        let held = between(rng, 1500.0, 2500.0);
        let mut depressions: Vec<f64> = (0..3).map(|_| start - between(rng, 3.0, 9.0)).collect();
        depressions.extend((0..ramp).map(|at| start + (full - start) * (at as f64 + 0.5) / ramp as f64));
        depressions.extend((0..3).map(|_| full * 1.2 + between(rng, 3.0, 12.0)));
        for depression in depressions {
            let speed = tens(held + between(rng, -30.0, 30.0));
            let lost = self.lost.map_or(0.0, |(least, most)| between(rng, least, most));
            let advance = interpolate(&[start, full], &[0.0, greatest], depression * (1.0 - lost));
            let angle = self.truth(speed) + advance + noise.sample(rng);
            let shown = tachometer.shows(uneven(speed, self.readings.speed_scatter, rng));
            self.push(Hose::On, SpeedWas::Steady, shown, angle, Some((gauge.shows(depression) * 10.0).round() / 10.0));
        }
    }

    fn push(&mut self, hose: Hose, speed_was: SpeedWas, crank_rpm: f64, angle: f64, depression_kpa: Option<f64>) {
        let line = self.readings.readings.len() + 2;
        let crank_degrees = (angle * 10.0).round() / 10.0;
        self.readings.readings.push(Reading { line, hose, speed_was, crank_rpm, crank_degrees, depression_kpa });
    }
}

/// The corners are where the weight lets go and where it meets its stop.
fn springs(distributor: &mut Distributor, seed: u64, rng: &mut ChaCha8Rng) -> Flyweight {
    let weights = Flyweight {
        start: between(rng, 900.0, 1400.0),
        stiffness: between(rng, 2.0, 4.0),
        second: seed.is_multiple_of(2).then(|| (between(rng, 0.35, 0.6), between(rng, 2.0, 3.0))),
        swing: between(rng, 0.2, 0.5),
        greatest: between(rng, 14.0, 28.0),
    };
    let initial = distributor.levels[0];
    distributor.knots = vec![weights.equilibrium(0.0), weights.equilibrium(1.0)];
    distributor.levels = vec![initial, initial + weights.greatest];
    weights
}

fn nothing_yet(seed: u64) -> Readings {
    Readings {
        name: format!("seed-{seed}.csv"),
        readings: Vec::new(),
        atmosphere_kpa: None,
        speed_scatter: 0.0,
        angle_scatter: None,
        tachometer_accuracy: None,
        gauge_accuracy: None,
        unit_holds: None,
        columns: ColumnNames { speed: "crank_rpm", angle: "crank_degrees", vacuum: Some("vacuum_kPa") },
    }
}
