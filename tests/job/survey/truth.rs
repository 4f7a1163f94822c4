//! What is true of an invented distributor, and what somebody reads of it.

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, Normal};

/// How somebody reads.
#[derive(Clone, Copy, Debug)]
pub struct Reader {
    /// Standard deviation of a timing, crank degrees.
    pub scatter: f64,
    /// Standard deviation of the speed that the tachometer shows, as a part of it.
    pub speed_scatter: f64,
    /// What the tachometer shows for 1 crank rpm.
    pub tachometer: f64,
}

impl Reader {
    /// By how many per cent the tachometer is seen to wander to either side.
    pub fn speed_wanders(self) -> f64 {
        100.0 * seen(self.speed_scatter)
    }

    /// How far the mark is seen to dance in all, crank degrees.
    pub fn mark_dances(self) -> f64 {
        2.0 * seen(self.scatter)
    }
}

/// To either side, of what has this standard deviation: about 1 in 12 lies further out, and is seen too seldom to be said.
fn seen(standard_deviation: f64) -> f64 {
    3.0_f64.sqrt() * standard_deviation
}

/// By eye, with a good tachometer.
pub const BY_EYE: Reader = Reader { scatter: 0.5, speed_scatter: 0.0, tachometer: 1.0 };

/// One ramp, one vacuum unit, and a timing mark that is not at top dead centre. No real engine is behind it.
#[derive(Debug)]
pub struct Truth {
    /// Initial timing, crank degrees before top dead centre.
    pub initial: f64,
    /// The whole centrifugal advance, crank degrees.
    pub centrifugal: f64,
    /// Where it starts and ends, crank rpm.
    pub knots: [f64; 2],
    /// Where the vacuum advance starts and is full, kPa depression, and the whole of it, crank degrees.
    pub vacuum: [f64; 3],
    /// What the mark shows at top dead centre, crank degrees before it.
    pub mark: f64,
    /// How it is read.
    pub reader: Reader,
    rng: ChaCha8Rng,
}

impl Truth {
    /// The one of this seed. Idle and top leave the room below and above the ramp that a survey needs.
    pub fn invent(seed: u64, reader: Reader) -> Self {
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        let mut between = |low: f64, high: f64| low + (high - low) * rng.random::<f64>();
        let start = between(1_000.0, 1_300.0);
        let begin = between(10.0, 18.0);
        Self {
            initial: between(2.0, 12.0),
            centrifugal: between(14.0, 26.0),
            knots: [start, start + between(1_000.0, 1_900.0)],
            vacuum: [begin, begin + between(14.0, 24.0), between(8.0, 16.0)],
            mark: (between(-2.0, 2.0) * 4.0).round() / 4.0,
            reader,
            rng,
        }
    }

    /// Crank degrees before top dead centre at a speed that is true, hose off.
    pub fn hose_off(&self, crank_rpm: f64) -> f64 {
        let [start, end] = self.knots;
        self.initial + self.centrifugal * ((crank_rpm - start) / (end - start)).clamp(0.0, 1.0)
    }

    fn vacuum_advance(&self, kpa: f64) -> f64 {
        let [start, full, whole] = self.vacuum;
        whole * ((kpa - start) / (full - start)).clamp(0.0, 1.0)
    }

    /// The true speed when somebody goes to about what is asked for, and what the tachometer shows then, crank rpm.
    pub fn speed(&mut self, asked_for: f64) -> [f64; 2] {
        let reader = self.reader;
        let shown = asked_for + self.rng.random_range(-30.0..30.0);
        let scatter = 1.0 + self.normal(reader.speed_scatter);
        [shown / reader.tachometer, (shown * scatter / 10.0).round() * 10.0]
    }

    /// The timing that the light shows on the mark, to half a degree, crank degrees.
    pub fn timing(&mut self, crank_rpm: f64, kpa: f64) -> f64 {
        let scatter = self.reader.scatter;
        let shown = self.hose_off(crank_rpm) + self.vacuum_advance(kpa) + self.mark + self.normal(scatter);
        (shown * 2.0).round() / 2.0
    }

    fn normal(&mut self, standard_deviation: f64) -> f64 {
        Normal::new(0.0, standard_deviation).expect("not negative").sample(&mut self.rng)
    }
}
