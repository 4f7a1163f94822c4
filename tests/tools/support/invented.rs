//! Invented distributors and surveys of them, for what must be shown over many seeds. No real engine is behind them.

#![expect(clippy::cast_precision_loss, reason = "a survey has a few dozen readings")]

use bobweight_tool::distributor::{ColumnNames, Hose, Reading, Readings, SpeedWas};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, Normal};

/// What the columns of an invented survey are called.
const COLUMNS: ColumnNames = ColumnNames { speed: "crank_rpm", angle: "crank_degrees", vacuum: Some("vacuum_kPa") };

/// A distributor: angles over speeds, with flat ends.
#[derive(Debug, Clone)]
pub struct Distributor {
    /// Speeds of the corners, crank rpm.
    pub knots: Vec<f64>,
    /// Crank degrees before top dead centre at the corners, hose off.
    pub levels: Vec<f64>,
    /// Falling speed less rising speed on the ramps, crank degrees.
    pub up_down: f64,
    /// Vacuum unit: depression where it starts and where it is full, kPa, and its whole advance, crank degrees.
    pub vacuum: (f64, f64, f64),
    /// Whether the advance follows weights and springs in equilibrium, with round corners, instead of straight lines.
    pub rounded: Option<super::flyweight::Flyweight>,
}

/// How a survey is read.
#[derive(Debug, Clone, Copy)]
pub struct Reader {
    /// Standard deviation of a reading, crank degrees.
    pub scatter: f64,
    /// The mark that angles are read to, crank degrees.
    pub mark: f64,
    /// Whether one hose-off reading is 4 to 10 crank degrees wrong.
    pub misread: bool,
    /// Hose-on readings.
    pub hose_on: usize,
    /// Whether speeds are noted as rising and falling, or all as steady.
    pub rising_and_falling: bool,
    /// The idle, so far above the start of the advance (negative: below it), crank rpm; drawn from 450 to 300 below where none.
    pub idle_above_start: Option<f64>,
    /// The top, so far above the end of the advance (negative: below it), crank rpm; drawn from 500 to 800 above where none.
    pub top_above_end: Option<f64>,
}

/// Eighteen hose-off readings by 0.5 crank degrees, read to 0.1, one of them misread.
pub const BY_EYE: Reader = Reader {
    scatter: 0.5,
    mark: 0.1,
    misread: true,
    hose_on: 0,
    rising_and_falling: true,
    idle_above_start: None,
    top_above_end: None,
};

/// A distributor, its survey, and which reading is misread.
#[derive(Debug, Clone)]
pub struct Survey {
    /// What is true.
    pub distributor: Distributor,
    /// What was read.
    pub readings: Readings,
    /// Place of the misread among the readings.
    pub misread: Option<usize>,
}

fn between(rng: &mut ChaCha8Rng, low: f64, high: f64) -> f64 {
    low + (high - low) * rng.random::<f64>()
}

impl Distributor {
    /// One with `ramps` ramps (1 or 2); of two the lower is the steeper, by 1.8 to 1 at the least, as where a second
    /// spring comes in.
    pub fn invent(ramps: usize, rng: &mut ChaCha8Rng) -> Self {
        let initial = between(rng, 0.0, 14.0);
        let start = between(rng, 900.0, 1400.0);
        let (widths, steepness) = if ramps == 1 {
            (vec![between(rng, 900.0, 2000.0)], vec![1.0])
        } else {
            let widths = vec![between(rng, 500.0, 1000.0), between(rng, 1000.0, 1800.0)];
            (widths, vec![between(rng, 1.8, 3.5), 1.0])
        };
        let total = between(rng, 14.0, 28.0);
        let parts: Vec<f64> = widths.iter().zip(steepness).map(|(width, steepness)| width * steepness).collect();
        let sum: f64 = parts.iter().sum();
        let rises = parts.iter().map(|part| total * part / sum);
        let (mut knots, mut levels) = (vec![start], vec![initial]);
        for (width, rise) in widths.iter().zip(rises) {
            knots.push(knots[knots.len() - 1] + width);
            levels.push(levels[levels.len() - 1] + rise);
        }
        let from = between(rng, 10.0, 20.0);
        let vacuum = (from, from + between(rng, 15.0, 28.0), between(rng, 8.0, 18.0));
        Self { knots, levels, up_down: between(rng, 0.0, 1.0), vacuum, rounded: None }
    }

    /// Crank degrees before top dead centre at a speed, held steady, hose off.
    pub fn steady(&self, speed: f64) -> f64 {
        match &self.rounded {
            Some(weights) => self.levels[0] + weights.crank_degrees(speed),
            None => interpolate(&self.knots, &self.levels, speed),
        }
    }

    fn hose_off(&self, speed: f64, direction: f64) -> f64 {
        let last = self.knots.len() - 1;
        let on_a_ramp = speed > self.knots[0] && speed < self.knots[last];
        self.steady(speed) - if on_a_ramp { direction / 2.0 * self.up_down } else { 0.0 }
    }

    fn vacuum_advance(&self, depression: f64) -> f64 {
        let (start, full, greatest) = self.vacuum;
        interpolate(&[start, full], &[0.0, greatest], depression)
    }
}

/// Linear between the knots, flat beyond them.
pub fn interpolate(knots: &[f64], levels: &[f64], x: f64) -> f64 {
    if x <= knots[0] {
        return levels[0];
    }
    for (at, pair) in knots.windows(2).enumerate() {
        if x <= pair[1] {
            return levels[at] + (levels[at + 1] - levels[at]) * (x - pair[0]) / (pair[1] - pair[0]);
        }
    }
    levels[levels.len() - 1]
}

impl Survey {
    /// The survey of an invented distributor, of seed `seed`: see [`Survey::of`].
    ///
    /// # Panics
    /// At a negative scatter.
    pub fn invent(ramps: usize, reader: &Reader, seed: u64) -> Self {
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        let distributor = Distributor::invent(ramps, &mut rng);
        Self::of(distributor, reader, seed, &mut rng)
    }

    /// The survey of a distributor: three readings at an idle 250 to 450 crank rpm below the start, three 500 to 800
    /// above the end, twelve spread evenly between them by somebody who does not know the corners.
    ///
    /// # Panics
    /// At a negative scatter.
    pub fn of(distributor: Distributor, reader: &Reader, seed: u64, rng: &mut ChaCha8Rng) -> Self {
        let speeds = hose_off_speeds(&distributor, reader, rng);
        let scatter = Normal::new(0.0, reader.scatter).expect("a scatter is not negative");
        let wrong = reader.misread.then(|| {
            let size = between(rng, 4.0, 10.0);
            (rng.random_range(0..speeds.len()), if rng.random::<bool>() { size } else { -size })
        });
        let mut readings = Vec::new();
        for (at, &speed) in speeds.iter().enumerate() {
            let speed_was = match (reader.rising_and_falling, at % 2) {
                (false, _) => SpeedWas::Steady,
                (true, 0) => SpeedWas::Rising,
                (true, _) => SpeedWas::Falling,
            };
            let direction = match speed_was {
                SpeedWas::Rising => 1.0,
                SpeedWas::Falling => -1.0,
                SpeedWas::Steady => 0.0,
            };
            let misread = wrong.filter(|&(place, _)| place == at).map_or(0.0, |(_, size)| size);
            let angle = distributor.hose_off(speed, direction) + misread + scatter.sample(rng);
            readings.push(reading(at, Hose::Off, speed_was, speed, angle, reader.mark, None));
        }
        let held = between(rng, 1500.0, 2500.0);
        for (at, depression) in depressions(&distributor, reader.hose_on, rng).into_iter().enumerate() {
            let speed = ((held + between(rng, -30.0, 30.0)) / 10.0).round() * 10.0;
            let angle = distributor.hose_off(speed, 0.0) + distributor.vacuum_advance(depression) + scatter.sample(rng);
            let at = speeds.len() + at;
            readings.push(reading(at, Hose::On, SpeedWas::Steady, speed, angle, reader.mark, Some(depression)));
        }
        let readings = Readings {
            name: format!("seed-{seed}.csv"),
            readings,
            atmosphere_kpa: None,
            speed_scatter: 0.0,
            angle_scatter: None,
            tachometer_accuracy: None,
            gauge_accuracy: None,
            unit_holds: None,
            columns: COLUMNS,
        };
        Self { distributor, readings, misread: wrong.map(|(place, _)| place) }
    }
}

fn hose_off_speeds(distributor: &Distributor, reader: &Reader, rng: &mut ChaCha8Rng) -> Vec<f64> {
    const BETWEEN: usize = 12;
    let below = between(rng, 300.0, 450.0);
    let idle = distributor.knots[0] + reader.idle_above_start.unwrap_or(-below);
    let above = between(rng, 500.0, 800.0);
    let top = distributor.knots[distributor.knots.len() - 1] + reader.top_above_end.unwrap_or(above);
    let mut speeds: Vec<f64> = (0..3).map(|_| idle + between(rng, -50.0, 50.0)).collect();
    let step = (top - idle) / (BETWEEN as f64 + 1.0);
    speeds.extend((1..=BETWEEN).map(|at| idle + step * (at as f64 + between(rng, -0.25, 0.25))));
    speeds.extend((0..3).map(|_| top + between(rng, 0.0, 100.0)));
    speeds.iter().map(|speed| (speed / 10.0).round() * 10.0).collect()
}

/// Three below the start, three beyond the full advance, the rest evenly on the ramp.
fn depressions(distributor: &Distributor, count: usize, rng: &mut ChaCha8Rng) -> Vec<f64> {
    let (start, full, _) = distributor.vacuum;
    let ramp = count.saturating_sub(6);
    let on_ramp = |at: usize| start + (full - start) * (at as f64 + 0.5) / ramp as f64;
    let mut depressions: Vec<f64> = (0..count.min(3)).map(|_| start - between(rng, 3.0, 9.0)).collect();
    depressions.extend((0..ramp).map(on_ramp));
    depressions.extend((0..count.saturating_sub(3).min(3)).map(|_| full + between(rng, 3.0, 12.0)));
    depressions
}

fn reading(
    at: usize,
    hose: Hose,
    speed_was: SpeedWas,
    crank_rpm: f64,
    angle: f64,
    mark: f64,
    depression_kpa: Option<f64>,
) -> Reading {
    let crank_degrees = (angle / mark).round() * mark;
    // The first line of a file names the columns.
    Reading { line: at + 2, hose, speed_was, crank_rpm, crank_degrees, depression_kpa }
}
