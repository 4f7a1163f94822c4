//! A bench run made up in f64: an ignition whose errors are known, as events of a stimulator.
//!
//! Nothing here computes an angle with the code under test: motion, curve and ticks are worked out from their formulas.

use bobweight_tool::proof::{Conditions, Decision, Judge, JudgedPoint, MeasuredPoint, Setting, SingleSparks};
use bobweight_tool::proof::{Event, EventKind, Measured, Motion, Pickup, Recording, measure};
use bobweight_tool::proof::{PlanInput, Step, TestPoint, VacuumSource, plan};
use bobweight_tool::record::bench::Direction;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};

/// Invented engine; two ramps, a vacuum unit, four pulses.
pub const CENTRIFUGAL: [[f64; 2]; 3] = [[900.0, 0.0], [1700.0, 12.0], [3300.0, 20.0]];
pub const VACUUM: [[f64; 2]; 2] = [[17.0, 0.0], [41.0, 10.0]];
pub const INITIAL: f64 = 8.0;
pub const PICKUP_ANGLE: f64 = 60.0;
pub const SECOND_FLANK_ANGLE: f64 = 8.0;
pub const TICK_S: f64 = 0.5e-6;
const IDLE: f64 = 650.0;
const TOP: f64 = 4600.0;

/// What the made-up ignition does wrong, crank degrees early positive unless said otherwise.
#[derive(Debug, Clone, Copy, Default)]
pub struct Errors {
    /// Of single sparks, standard deviation.
    pub scatter: f64,
    pub offset: f64,
    pub lag_us: f64,
    /// Later by half of it where the speed rose, earlier by half where it fell, inside the ramps.
    pub up_down: f64,
    /// Missing at the greatest vacuum advance.
    pub vacuum_shortfall: f64,
    /// A centrifugal breakpoint that lies so much higher.
    pub breakpoint: Option<(usize, f64)>,
    /// A pulse of the two turns.
    pub pulse: Option<(u32, f64)>,
    /// A single test point.
    pub point: Option<(usize, f64)>,
    /// Chance of a spark not to come.
    pub lost: f64,
    /// Chance of a spark to stray, and by how much.
    pub stray: Option<(f64, f64)>,
    /// The ignition's clock against the bench's, as a share: the curve at a speed that is so much higher.
    pub clock: f64,
    /// The timer of the delay against the one of the period, as a share: later by that share of the delay.
    pub delay: f64,
    /// The vacuum sensor reads so many kPa too much.
    pub sensor_zero: f64,
    /// It reads too much by that share.
    pub sensor_gain: f64,
    /// Each speed off by its own error, of this standard deviation.
    pub bumps: f64,
    /// Bound of what the core rounds, crank degrees.
    pub core: f64,
}

pub fn setting() -> Setting {
    Setting {
        pulses_in_two_turns: 4,
        delay_at_no_advance: PICKUP_ANGLE - INITIAL,
        flank_distance: Some([SECOND_FLANK_ANGLE - PICKUP_ANGLE; 2]),
        centrifugal: CENTRIFUGAL.to_vec(),
        vacuum: VACUUM.to_vec(),
        tick_bench_s: TICK_S,
        tick_ignition_s: TICK_S,
        clock_tolerance: 100e-6,
        vacuum_step_kpa: 0.05,
        tolerance: 0.5,
        tolerance_ramp: 2.0,
    }
}

/// The settled test points of the plan for the invented engine.
pub fn test_points(setting: &Setting) -> Vec<TestPoint> {
    let speeds = |breakpoints: &[[f64; 2]]| breakpoints.iter().map(|breakpoint| breakpoint[0]).collect();
    let input = PlanInput {
        idle_crank_rpm: IDLE,
        greatest_speed_crank_rpm: TOP,
        centrifugal_crank_rpm: speeds(&setting.centrifugal),
        vacuum: if setting.vacuum.is_empty() { VacuumSource::None } else { VacuumSource::Manifold },
        vacuum_kpa: speeds(&setting.vacuum),
        greatest_acceleration_crank_rpm_per_s: 6000.0,
    };
    let steps = plan(&input).expect("the invented engine has a plan");
    steps.into_iter().filter_map(|step| if let Step::Settled(point) = step { Some(point) } else { None }).collect()
}

/// Piecewise linear with flat ends.
fn curve(breakpoints: &[[f64; 2]], x: f64) -> f64 {
    match breakpoints.first() {
        None => return 0.0,
        Some(first) if x <= first[0] => return first[1],
        Some(_) => {}
    }
    for ramp in breakpoints.windows(2) {
        if x <= ramp[1][0] {
            return ramp[0][1] + (ramp[1][1] - ramp[0][1]) * (x - ramp[0][0]) / (ramp[1][0] - ramp[0][0]);
        }
    }
    breakpoints[breakpoints.len() - 1][1]
}

/// A made-up ignition on a made-up bench.
pub struct Bench {
    errors: Errors,
    setting: Setting,
    points: Vec<TestPoint>,
    seed: u64,
    rng: ChaCha8Rng,
    /// The core's rounding: one part common to all, one for each speed and depression.
    rounding_common: f64,
    rounding: Vec<(u64, u64, f64)>,
    /// By how much each depression is off, kPa.
    depressions: Vec<(u64, f64)>,
}

impl Bench {
    pub fn new(seed: u64, setting: &Setting, errors: Errors) -> Self {
        let points = test_points(setting);
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        let half = errors.core / 2.0;
        let mut within = |bound: f64| if bound > 0.0 { rng.random_range(-bound..=bound) } else { 0.0 };
        let rounding_common = within(half);
        let mut rounding = Vec::new();
        let mut depressions = Vec::new();
        for point in &points {
            let (speed, depression) = (point.speed_crank_rpm.to_bits(), point.depression_kpa.to_bits());
            if !rounding.iter().any(|&(s, d, _)| (s, d) == (speed, depression)) {
                rounding.push((speed, depression, within(half)));
            }
            if !depressions.iter().any(|&(d, _)| d == depression) {
                depressions.push((depression, within(setting.vacuum_step_kpa / 2.0)));
            }
        }
        Self { errors, setting: setting.clone(), points, seed, rng, rounding_common, rounding, depressions }
    }

    /// Measures every test point at the first look only.
    pub fn first_look(&mut self) -> Vec<MeasuredPoint> {
        let judge = self.judge();
        (0..self.points.len())
            .map(|index| {
                let measured = self.record(index, judge.cycles(0));
                self.point(index, &measured)
            })
            .collect()
    }

    /// Measures and judges every test point with up to three looks.
    pub fn run(&mut self) -> Vec<JudgedPoint> {
        let judge = self.judge();
        (0..self.points.len())
            .map(|index| {
                let mut point = judge.point();
                let mut measured = Measured::default();
                let mut cycles = point.cycles();
                loop {
                    measured.append(self.record(index, cycles));
                    let point_measured = self.point(index, &measured);
                    let bound = self.setting.bound(&point_measured.conditions).total();
                    let single = SingleSparks::of(&measured, self.setting.tolerance + bound);
                    match point.look(&point_measured.statistics.cycle_means, bound, &single) {
                        Decision::LookAgain { further_cycles } => cycles = further_cycles,
                        decision => return JudgedPoint { measured: point_measured, decision, single },
                    }
                }
            })
            .collect()
    }

    fn judge(&self) -> Judge {
        Judge::new(self.setting.tolerance, self.points.len(), self.setting.pulses_in_two_turns)
    }

    fn point(&self, index: usize, measured: &Measured) -> MeasuredPoint {
        let point = self.points[index];
        let conditions = Conditions {
            speed_crank_rpm: point.speed_crank_rpm,
            depression_kpa: point.depression_kpa,
            direction: point.direction,
            vacuum_advance: curve(&self.setting.vacuum, point.depression_kpa),
        };
        MeasuredPoint { conditions, statistics: measured.statistics() }
    }

    fn wanted(&self, point: TestPoint, speed: f64) -> f64 {
        INITIAL + curve(&self.setting.centrifugal, speed) + curve(&self.setting.vacuum, point.depression_kpa)
    }

    /// The mean error that this ignition has at a test point, without lag and pulses.
    fn systematic(&self, index: usize) -> f64 {
        let point = self.points[index];
        let (speed, depression) = (point.speed_crank_rpm, point.depression_kpa);
        let errors = self.errors;
        let right = &self.setting.centrifugal;
        let mut centrifugal = right.clone();
        if let Some((number, higher)) = errors.breakpoint {
            centrifugal[number][1] += higher;
        }
        let vacuum = curve(&self.setting.vacuum, depression);
        let greatest = self.setting.vacuum.last().map_or(1.0, |last| last[1]);
        let off = self.depressions.iter().find(|(d, _)| *d == depression.to_bits()).map_or(0.0, |(_, off)| *off);
        let inside = speed > right[0][0] && speed < right[right.len() - 1][0];
        let rising = if point.direction == Direction::Rising { 1.0 } else { -1.0 };
        let rounding = self
            .rounding
            .iter()
            .find(|(s, d, _)| (*s, *d) == (speed.to_bits(), depression.to_bits()))
            .map_or(0.0, |(_, _, rounding)| *rounding);
        errors.offset + self.rounding_common + rounding + curve(&centrifugal, speed * (1.0 + errors.clock))
            - curve(right, speed)
            - if inside { errors.up_down * rising / 2.0 } else { 0.0 }
            - errors.delay * (PICKUP_ANGLE - INITIAL - curve(right, speed) - vacuum)
            + self.bump(speed)
            + curve(&self.setting.vacuum, (depression + off) * (1.0 + errors.sensor_gain) + errors.sensor_zero)
            - vacuum
            - errors.vacuum_shortfall * vacuum / greatest
            + errors.point.filter(|(at, _)| *at == index).map_or(0.0, |(_, error)| error)
    }

    /// A speed's own error: the same whenever it is asked for.
    fn bump(&self, speed: f64) -> f64 {
        if self.errors.bumps == 0.0 {
            return 0.0;
        }
        let mut rng = ChaCha8Rng::seed_from_u64(self.seed ^ speed.to_bits());
        let normal: f64 = StandardNormal.sample(&mut rng);
        self.errors.bumps * normal
    }

    /// Flanks and sparks of so many whole cycles at one test point, read by the code under test.
    fn record(&mut self, index: usize, cycles: usize) -> Measured {
        let point = self.points[index];
        let speed = point.speed_crank_rpm;
        let degrees_a_second = 6.0 * speed;
        let m = u32::try_from(self.setting.pulses_in_two_turns).expect("at most 12");
        let spacing = 720.0 / f64::from(m);
        let wanted = self.wanted(point, speed);
        let systematic = self.systematic(index);
        let phase = self.rng.random_range(0.0..1.0);
        let first_pulse = self.rng.random_range(0..m);
        let start = self.rng.random_range(0.0..spacing);
        // One pulse more at either end gives every counted pulse its whole window.
        let pulses = u32::try_from(cycles).expect("a few hundred cycles") * m + 2;
        let mut events = Vec::new();
        for k in 0..pulses {
            // The stimulator makes its edge at a whole tick.
            let flank = ((start + f64::from(k) * spacing) / degrees_a_second / TICK_S).floor();
            events.push(Event { at_ticks: whole(flank), kind: EventKind::TimingFlank });
            if self.errors.lost > 0.0 && self.rng.random_range(0.0..1.0) < self.errors.lost {
                continue;
            }
            let normal: f64 = StandardNormal.sample(&mut self.rng);
            let pulse = (first_pulse + k) % m;
            let own = self.errors.pulse.filter(|(at, _)| *at == pulse).map_or(0.0, |(_, error)| error);
            let stray = self.errors.stray.filter(|(chance, _)| self.rng.random_range(0.0..1.0) < *chance);
            let stray = stray.map_or(0.0, |(_, error)| error);
            let advance = wanted + systematic + own + stray + self.errors.scatter * normal;
            let delay = (PICKUP_ANGLE - advance) / degrees_a_second / TICK_S;
            // The ignition captures by its own ticks, and orders at the later tick; its clock's share of the delay
            // cancels with the share in its period.
            let captured = (flank + phase).floor() - phase;
            let spark = captured + delay.ceil() + self.errors.lag_us * 1e-6 / TICK_S;
            let off = whole(spark.floor());
            events.push(Event { at_ticks: off - 6_000, kind: EventKind::CoilOn });
            events.push(Event { at_ticks: off, kind: EventKind::CoilOff });
        }
        events.sort_by_key(|event| event.at_ticks);
        let stretch = |pulse: f64| whole((start + pulse * spacing) / degrees_a_second / TICK_S);
        let record = Recording {
            events: &events,
            tick_s: TICK_S,
            // The windows of pulse 0 and of the last but one begin and end half a pulse beside their sparks.
            from_ticks: stretch((PICKUP_ANGLE - wanted) / spacing - 0.5) - 1,
            to_ticks: stretch((PICKUP_ANGLE - wanted) / spacing + f64::from(pulses) - 1.5),
            motion: Motion::Steady { speed_crank_rpm: speed },
            first_pulse: 0,
        };
        let in_stretch = events
            .iter()
            .filter(|event| event.kind == EventKind::TimingFlank)
            .position(|event| event.at_ticks >= record.from_ticks)
            .expect("flanks in the stretch");
        let first_pulse = (first_pulse as usize + in_stretch) % m as usize;
        let pickup = Pickup { pulses_in_two_turns: m as usize, angle: PICKUP_ANGLE };
        measure(&Recording { first_pulse, ..record }, pickup, &|speed| self.wanted(point, speed))
            .expect("a whole record")
    }
}

/// Ticks from a fixed beginning that keeps everything above 0.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "small positive counts")]
fn whole(ticks: f64) -> u64 {
    (ticks + 10_000_000.0).round() as u64
}
