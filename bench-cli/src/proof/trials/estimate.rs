//! The best timing of a set of trials, and how sure it is.
//!
//! What was measured is taken as per cent (a hundred times its natural logarithm; that of a time with its sign turned), so that
//! more is better and a trial's scatter does not hang on its unit. About its top such a curve is a parabola: `a + b x + c x^2`. Each
//! series has an `a` of its own, for it has its own weather, and a drift along its trials: an engine that warms, a tank that empties.
//! Least squares; Student's t. How sharply an engine's torque falls is roughly known before any trial, and counts as one observation
//! more.
//!
//! The best timing is where the slope `b + 2 c x` is nought. Its interval holds every timing at which the slope cannot be told from
//! nought: that is Fieller's interval of the ratio `-b / 2c`, which is right also where `c` is not well known, and has no end
//! where the trials do not know whether there is a top at all (E. C. Fieller 1954, from memory).

use super::log::Log;
use crate::proof::light::student;
use crate::proof::verdict::LeastSquares;
use crate::record::interval::Interval;
use crate::record::trials::{Heard, Measure, Top, Trial};
use nalgebra::{DMatrix, DVector, Matrix2, Vector2};

/// Told as 95 %, and taken somewhat wider: a series that ends where it seems to be settled ends more often where chance has it look
/// so, which costs up to two in a hundred (counted in `tests/job/trials`).
const COVERAGE: f64 = 0.97;
/// A best timing known within this to either side is settled, crank degrees: nobody sets or reads one finer by hand.
pub const SETTLED: f64 = 1.5;
/// How much torque is lost, per cent for a crank degree squared, away from the best: about 1 % at 5 to 8 crank degrees (from memory
/// of engine textbooks), here 1 % at 6.3.
const USUAL_BEND: f64 = 0.025;
/// Its standard deviation from engine to engine. No source. It counts as one observation beside the trials: those that scatter little
/// overrule it; of those that scatter much, a top would else be seen only where chance has made it too sharp.
const USUAL_BEND_WITHIN: f64 = 0.015;
/// Trials that agree better than this, per cent, are taken to scatter by it: they were read too coarsely to show their scatter, and
/// no curve of torque is a parabola to the last digit. No source.
const LEAST_SCATTER: f64 = 0.05;
/// So far from its top, crank degrees, a curve of torque is taken for a parabola. At 8 crank degrees, where 2.6 % are lost, a Gaussian
/// curve is away from one by 0.03 % (reckoned).
const REACH: f64 = 8.0;
/// Fewer different timings are no curve.
pub const FEWEST_TIMINGS: usize = 5;
/// Timings nearer together than this, crank degrees, are one.
pub const SAME_TIMING: f64 = 0.25;

/// What trials say of the top.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Estimate {
    /// In a word.
    pub top: Top,
    /// The best timing, cut to what was tried and quiet; where one is told at all.
    pub best: Option<Interval>,
    /// Standard deviation of a trial, per cent.
    pub scatter_percent: Option<f64>,
    /// About so many trials more would settle it.
    pub more_trials: Option<u32>,
}

/// A trial's measure in per cent: more is better.
pub fn percent(measure: Measure, measured: f64) -> f64 {
    let percent = 100.0 * measured.ln();
    if measure == Measure::Time { -percent } else { percent }
}

/// The quiet trials of a log up to a timing, each with its place in its series.
fn quiet(log: &Log, up_to: f64) -> Vec<(f64, &Trial)> {
    let (mut series, mut place) = (0, 0.0);
    let mut quiet = Vec::new();
    for trial in &log.trials {
        place = if trial.series == series { place + 1.0 } else { 0.0 };
        series = trial.series;
        if trial.heard == Heard::Quiet && trial.crank_degrees <= up_to + 1e-9 {
            quiet.push((place, trial));
        }
    }
    quiet
}

/// How many different timings there are.
pub fn timings(trials: &[&Trial]) -> usize {
    let mut degrees: Vec<f64> = trials.iter().map(|trial| trial.crank_degrees).collect();
    degrees.sort_by(f64::total_cmp);
    degrees.dedup_by(|one, other| (*one - *other).abs() < SAME_TIMING);
    degrees.len()
}

/// Where the top lies, by trials up to a timing.
pub fn estimate(log: &Log, up_to: f64) -> Estimate {
    let quiet = quiet(log, up_to);
    let nothing = |top| Estimate { top, best: None, scatter_percent: None, more_trials: None };
    let trials: Vec<&Trial> = quiet.iter().map(|(_, trial)| *trial).collect();
    if timings(&trials) < FEWEST_TIMINGS {
        return nothing(Top::TooFew);
    }
    let Some(parabola) =
        Parabola::new(&quiet, log.said.measure).map(|whole| whole.about_its_top(&quiet, log.said.measure))
    else {
        return nothing(if goes_one_way(&trials) { Top::OneWay } else { Top::TooFew });
    };
    let low = trials.iter().map(|trial| trial.crank_degrees).fold(f64::INFINITY, f64::min);
    let high = trials.iter().map(|trial| trial.crank_degrees).fold(f64::NEG_INFINITY, f64::max);
    let scatter_percent = Some(parabola.scatter);
    let Some(free) = parabola.top() else {
        let top = if goes_one_way(&trials) { Top::OneWay } else { parabola.without_top(low, high) };
        let more_trials = more_trials(parabola.usual_half_width(), trials.len());
        return Estimate { top, best: None, scatter_percent, more_trials };
    };
    let inside = |value: f64| value.clamp(low, high);
    let top = match () {
        () if free.high > high => Top::NotReached,
        () if free.low < low => Top::Later,
        () => Top::Seen,
    };
    let best = Interval { value: inside(free.value), low: inside(free.low), high: inside(free.high) };
    let more_trials = more_trials((free.high - free.low) / 2.0, trials.len());
    Estimate { top, best: Some(best), scatter_percent, more_trials }
}

/// Whether every series goes up from trial to trial, or every one down.
fn goes_one_way(trials: &[&Trial]) -> bool {
    let steps: Vec<f64> = trials
        .windows(2)
        .filter(|pair| pair[0].series == pair[1].series)
        .map(|pair| pair[1].crank_degrees - pair[0].crank_degrees)
        .collect();
    steps.iter().all(|step| *step > 0.0) || steps.iter().all(|step| *step < 0.0)
}

/// The fitted curve about the middle of its timings.
struct Parabola {
    middle: f64,
    /// `b` and `c`.
    bend: Vector2<f64>,
    covariance: Matrix2<f64>,
    student: f64,
    scatter: f64,
}

impl Parabola {
    /// None where the trials cannot tell drift, slope and bend apart, or are too few.
    #[expect(clippy::cast_precision_loss, reason = "some dozens of trials")]
    fn new(quiet: &[(f64, &Trial)], measure: Measure) -> Option<Self> {
        let n = quiet.len();
        let middle = quiet.iter().map(|(_, trial)| trial.crank_degrees).sum::<f64>() / n as f64;
        let mut series: Vec<u32> = quiet.iter().map(|(_, trial)| trial.series).collect();
        series.dedup();
        let of_series = |series: u32| quiet.iter().filter(move |(_, trial)| trial.series == series);
        // One trial, or two, show no drift of their own.
        let drifting: Vec<u32> = series.iter().copied().filter(|series| of_series(*series).count() > 2).collect();
        let columns = DMatrix::from_fn(n, 2 + series.len() + drifting.len(), |row, column| {
            let (place, trial) = &quiet[row];
            let x = trial.crank_degrees - middle;
            match column {
                0 => x,
                1 => x * x,
                _ if column < 2 + series.len() => f64::from(u8::from(trial.series == series[column - 2])),
                _ => f64::from(u8::from(trial.series == drifting[column - 2 - series.len()])) * place,
            }
        });
        let observed = quiet.iter().map(|(_, trial)| percent(measure, trial.measured));
        let ones = DVector::from_element(n, 1.0);
        let alone = LeastSquares::fit(&columns, &DVector::from_iterator(n, observed.clone()), &ones)?;
        let scatter = alone.reduced_chi_square().sqrt().max(LEAST_SCATTER);
        // What is known of any engine counts as one observation more, of the bend.
        let mut columns = columns.insert_row(n, 0.0);
        columns[(n, 1)] = 1.0;
        let observed = DVector::from_iterator(n + 1, observed.chain([-USUAL_BEND]));
        let uncertainty = DVector::from_fn(n + 1, |row, _| if row == n { USUAL_BEND_WITHIN } else { scatter });
        let fit = LeastSquares::fit(&columns, &observed, &uncertainty)?;
        Some(Self {
            middle,
            bend: Vector2::new(fit.estimate[0], fit.estimate[1]),
            covariance: fit.covariance(&uncertainty).fixed_view::<2, 2>(0, 0).into_owned(),
            student: student(alone.degrees_of_freedom as f64, COVERAGE)?,
            scatter,
        })
    }

    /// The same by the trials about its top alone: far from it no curve is a parabola. Without a top all of them count.
    fn about_its_top(self, quiet: &[(f64, &Trial)], measure: Measure) -> Self {
        let Some(top) = self.top() else { return self };
        let near = |trial: &Trial| (trial.crank_degrees - top.value).abs() <= REACH;
        let near: Vec<(f64, &Trial)> = quiet.iter().copied().filter(|(_, trial)| near(trial)).collect();
        let trials: Vec<&Trial> = near.iter().map(|(_, trial)| *trial).collect();
        if timings(&trials) < FEWEST_TIMINGS { self } else { Self::new(&near, measure).unwrap_or(self) }
    }

    /// The slope at a timing, and how far chance may have moved it.
    fn slope(&self, crank_degrees: f64) -> (f64, f64) {
        let row = Vector2::new(1.0, 2.0 * (crank_degrees - self.middle));
        (row.dot(&self.bend), self.student * (row.transpose() * self.covariance * row)[0].max(0.0).sqrt())
    }

    /// The top with every timing at which the slope cannot be told from nought; none where there may be no top.
    fn top(&self) -> Option<Interval> {
        let [b, c] = [self.bend[0], self.bend[1]];
        let [vb, vbc, vc] = [self.covariance[(0, 0)], self.covariance[(0, 1)], self.covariance[(1, 1)]];
        let t2 = self.student.powi(2);
        // (b + 2 c x)^2 <= t^2 (vb + 4 x vbc + 4 x^2 vc), as p x^2 + 2 q x + r <= 0.
        let (p, q, r) = (4.0 * (c * c - t2 * vc), 2.0 * (b * c - t2 * vbc), b * b - t2 * vb);
        let under_root = q * q - p * r;
        if c >= 0.0 || p <= 0.0 || under_root < 0.0 {
            return None;
        }
        let (centre, half) = (-q / p, under_root.sqrt() / p);
        let at = |x: f64| self.middle + x;
        Some(Interval { value: at(-b / (2.0 * c)), low: at(centre - half), high: at(centre + half) })
    }

    /// What there is to say where no top is seen.
    fn without_top(&self, low: f64, high: f64) -> Top {
        let (slope_high, at_high) = self.slope(high);
        let (slope_low, at_low) = self.slope(low);
        match () {
            () if slope_high > at_high => Top::NotReached,
            () if slope_low < -at_low => Top::Later,
            () => Top::Hidden,
        }
    }

    /// The half-width that the trials would give an engine with the usual bend.
    fn usual_half_width(&self) -> f64 {
        self.slope(self.middle).1 / (2.0 * USUAL_BEND)
    }
}

/// By how many trials more a half-width comes down to what is settled: it falls with the root of their number.
#[expect(
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "the cast saturates, and a number so large only says that nobody will do it"
)]
fn more_trials(half_width: f64, now: usize) -> Option<u32> {
    let whole = now as f64 * (half_width / SETTLED).powi(2);
    whole.is_finite().then_some((whole - now as f64).max(0.0).ceil() as u32)
}

/// Whether the timings so far have gone so many crank degrees past the top that they show; drift is not looked at.
pub fn is_past_top(trials: &[&Trial], measure: Measure, by: f64) -> bool {
    if timings(trials) < FEWEST_TIMINGS {
        return false;
    }
    let n = trials.len();
    let high = trials.iter().map(|trial| trial.crank_degrees).fold(f64::NEG_INFINITY, f64::max);
    let columns = DMatrix::from_fn(n, 3, |row, column| {
        let x = trials[row].crank_degrees - high;
        [1.0, x, x * x][column]
    });
    let observed = DVector::from_iterator(n, trials.iter().map(|trial| percent(measure, trial.measured)));
    let Some(fit) = LeastSquares::fit(&columns, &observed, &DVector::from_element(n, 1.0)) else { return false };
    let (b, c) = (fit.estimate[1], fit.estimate[2]);
    c < 0.0 && -b / (2.0 * c) <= -by
}
