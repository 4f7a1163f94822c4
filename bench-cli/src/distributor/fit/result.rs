//! What a fit answers.

use super::corners::{WideCorner, wide_corners};
use super::curve::Curve;
use super::design::Points;
use super::draws::Draw;
use super::least_squares::LeastSquares;
use super::meter::{ByMeter, on_the_true_scale};
use super::misread::Misread;
use super::summary::{Estimate, interval, share};
use super::vacuum::VacuumOutcome;
use crate::quantity::Accuracy;
use rand_chacha::ChaCha8Rng;

/// Below so many hose-off readings nothing is settled.
pub(crate) const SETTLED_READINGS: usize = 18;
/// From this scatter on nothing is settled, crank degrees: it cannot tell one ramp from two.
const UNSETTLED_SCATTER: f64 = 0.8;
/// Lines are rounder where sharp ones have less probability.
const ROUNDER: f64 = 0.05;
/// A knot this near to the end of the readings, crank rpm, may as well lie beyond it.
const NEAR_END: f64 = 100.0;

/// The 95 % band of a curve at one place, crank degrees.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band {
    /// Lower end.
    pub low: f64,
    /// The found curve.
    pub mid: f64,
    /// Upper end.
    pub high: f64,
}

/// Whether the advance still moves at an end of the surveyed speeds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EndOfSurvey {
    /// The last speed read, crank rpm.
    pub speed: f64,
    /// The speed next to it, crank rpm, at least 50 crank rpm away.
    pub next_speed: f64,
    /// Probability that the ramp reaches to within 100 crank rpm of the last speed, or beyond it.
    pub still_moving: f64,
}

impl EndOfSurvey {
    /// Whether it rather moves there than not, so that nothing is said of a corner that was not seen.
    pub fn is_moving(&self) -> bool {
        self.still_moving > 0.5
    }
}

/// Why a result is not settled.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Unsettled {
    /// Fewer than 18 readings with the hose off.
    Readings(usize),
    /// The readings scatter by 0.8 crank degrees or more (standard deviation, crank degrees).
    Scatter(f64),
}

/// A fit: the found curve and what is known of it.
#[derive(Debug, Clone)]
pub struct FitResult {
    /// Readings with the hose off.
    pub readings: usize,
    /// 1 or 2, whichever is more probable.
    pub ramps: usize,
    /// Odds of two ramps against one; 1 means that the readings cannot tell.
    pub odds_of_two_ramps: f64,
    /// Probability that the curve is straight lines with sharp corners; below 0.05 it is rounder, and the corners are where lines
    /// fit best.
    pub sharp: f64,
    /// Initial timing, crank degrees before top dead centre.
    pub initial: Estimate,
    /// Speeds of the breakpoints, crank rpm; one more than there are ramps. Where the tachometer's accuracy is stated, its interval allows for
    /// that as well.
    pub knots: Vec<Estimate>,
    /// What those intervals are made of, one for each; none where the tachometer's accuracy is not stated.
    pub by_tachometer: Option<Vec<ByMeter>>,
    /// Initial and centrifugal advance at the breakpoints, crank degrees before top dead centre.
    pub levels: Vec<Estimate>,
    /// Centrifugal advance alone at the breakpoints, crank degrees; the first is 0.
    pub centrifugal: Vec<Estimate>,
    /// By how much a falling speed reads above a rising one on the ramps, crank degrees.
    pub up_down: Estimate,
    /// Whether speeds were read both rising and falling; otherwise nothing is known of `up_down`.
    pub read_both_ways: bool,
    /// Standard deviation of a reading, crank degrees; the value is the median of the draws.
    pub scatter: Estimate,
    /// Standard deviation of the readings about the found curve, crank degrees, the named misread left out.
    pub residual_scatter: f64,
    /// Sum of the squared residuals about the found curve, crank degrees squared, the named misread left out.
    pub residual_sum: f64,
    /// The hose-off reading most likely misread, where its probability is above one half.
    pub misread: Option<Misread>,
    /// Another one beside a misread that is certain, where its probability is above one half.
    pub second_misread: Option<Misread>,
    /// The found curve, hose off: crank degrees before top dead centre over crank rpm.
    pub found: Curve,
    /// The low end of the speeds: whether the advance already moves there.
    pub lowest: EndOfSurvey,
    /// The high end of the speeds: whether the advance still rises there.
    pub highest: EndOfSurvey,
    /// Breakpoints that need another reading, with the speed for it.
    pub wide_corners: Vec<WideCorner>,
    /// Why the result is not settled; empty where it is.
    pub unsettled: Vec<Unsettled>,
    /// The vacuum curve.
    pub vacuum: VacuumOutcome,
    /// Over the speeds that the tachometer shows.
    pub(super) draws: Vec<Draw>,
    /// Over true speeds; none where the tachometer's accuracy is not stated, and what it shows is taken for true.
    pub(super) on_true_speeds: Option<Vec<Draw>>,
}

/// What is possible, as drawn from the readings, and what that is by the tachometer's accuracy.
pub(super) struct AsDrawn {
    shown: Vec<Draw>,
    tachometer: Option<(Accuracy, Vec<Draw>)>,
}

impl AsDrawn {
    pub(super) fn new(shown: Vec<Draw>, tachometer: Option<Accuracy>, rng: &mut ChaCha8Rng) -> Self {
        let tachometer = tachometer.map(|accuracy| (accuracy, on_the_true_scale(&shown, accuracy, rng)));
        Self { shown, tachometer }
    }
}

impl FitResult {
    /// Whether the curve is surely rounder than straight lines with sharp corners.
    pub fn is_rounder(&self) -> bool {
        self.sharp < ROUNDER
    }

    /// Over true speeds, as far as they are known.
    pub(super) fn true_draws(&self) -> &[Draw] {
        self.on_true_speeds.as_deref().unwrap_or(&self.draws)
    }

    /// The 95 % band of the hose-off curve at a speed in crank rpm, crank degrees before top dead centre.
    pub fn band_at(&self, crank_rpm: f64) -> Band {
        self.band_of(self.true_draws(), crank_rpm)
    }

    /// The same at a speed that the tachometer shows: as much of it as readings can tell.
    pub(super) fn band_as_shown(&self, crank_rpm: f64) -> Band {
        self.band_of(&self.draws, crank_rpm)
    }

    fn band_of(&self, draws: &[Draw], crank_rpm: f64) -> Band {
        let mut values: Vec<f64> = draws.iter().map(|draw| draw.curve.at(crank_rpm)).collect();
        let (low, high) = interval(&mut values);
        Band { low, mid: self.found.at(crank_rpm), high }
    }
}

impl FitResult {
    /// The centrifugal advance alone at a speed in crank rpm, crank degrees, with its 95 % interval.
    pub fn centrifugal_at(&self, crank_rpm: f64) -> Estimate {
        let found = self.found.at(crank_rpm) - self.found.breakpoints()[0][1];
        Estimate::about(found, self.true_draws().iter().map(|draw| draw.centrifugal_at(crank_rpm)))
    }
}

impl LeastSquares {
    pub(super) fn as_draw(&self) -> Draw {
        Draw {
            ramps: self.curve.clone(),
            curve: self.curve.clone(),
            up_down: self.up_down,
            scatter: f64::NAN,
            left_out: None,
        }
    }
}

/// The result from its parts; `kept` are the points without the named misread.
pub(super) fn assemble(
    kept: &Points,
    found: LeastSquares,
    AsDrawn { shown: draws, tachometer }: AsDrawn,
    (odds_of_two_ramps, sharp): (f64, f64),
    [misread, second_misread]: [Option<Misread>; 2],
    vacuum: VacuumOutcome,
) -> FitResult {
    let breakpoints = found.curve.breakpoints().to_vec();
    let level_of = |index: usize| draws.iter().map(move |draw| draw.ramps.breakpoints()[index][1]);
    let speed_of = |at: usize, draws: &[Draw]| {
        Estimate::about(breakpoints[at][0], draws.iter().map(|draw| draw.ramps.breakpoints()[at][0]))
    };
    let speeds = |draws: &[Draw]| -> Vec<Estimate> { (0..breakpoints.len()).map(|at| speed_of(at, draws)).collect() };
    let as_shown = speeds(&draws);
    let wide_corners = wide_corners(&found.curve, &as_shown, &draws);
    let (knots, by_tachometer, on_true_speeds) = match tachometer {
        Some((accuracy, draws)) => {
            let by = as_shown.into_iter().map(|shown| ByMeter::new(shown, accuracy)).collect();
            (speeds(&draws), Some(by), Some(draws))
        }
        None => (as_shown, None, None),
    };
    let levels: Vec<_> = (0..breakpoints.len()).map(|at| Estimate::about(breakpoints[at][1], level_of(at))).collect();
    let above_initial = |at: usize| {
        let advances = level_of(at).zip(level_of(0)).map(|(level, initial)| level - initial);
        Estimate::about(breakpoints[at][1] - breakpoints[0][1], advances)
    };
    let scatter = Estimate::median(draws.iter().map(|draw| draw.scatter));
    let named = misread.iter().chain(&second_misread).filter(|misread| misread.is_named()).count();
    let readings = kept.len() + named;
    let last = breakpoints.len() - 1;
    FitResult {
        readings,
        ramps: last,
        odds_of_two_ramps,
        sharp,
        initial: levels[0],
        centrifugal: (0..breakpoints.len()).map(above_initial).collect(),
        up_down: Estimate::about(found.up_down, draws.iter().map(|draw| draw.up_down)),
        read_both_ways: [1.0, -1.0].iter().all(|way| kept.direction.contains(way)),
        scatter,
        residual_scatter: residual_scatter(kept, &found),
        residual_sum: found.residual_sum,
        misread,
        second_misread,
        lowest: end_of_survey(
            &kept.x,
            |x| x,
            share(&draws, |draw| draw.ramps.breakpoints()[0][0] < kept.range().0 + NEAR_END),
        ),
        highest: end_of_survey(
            &kept.x,
            |x| -x,
            share(&draws, |draw| draw.ramps.breakpoints()[last][0] > kept.range().1 - NEAR_END),
        ),
        wide_corners,
        unsettled: unsettled(readings, scatter.value),
        vacuum,
        found: found.curve,
        knots,
        by_tachometer,
        levels,
        draws,
        on_true_speeds,
    }
}

/// Degrees of freedom: the readings less levels, knots and the difference of up and down.
#[expect(clippy::cast_precision_loss, reason = "a survey has far fewer than 2^52 readings")]
fn residual_scatter(kept: &Points, found: &LeastSquares) -> f64 {
    let numbers = 2 * found.curve.breakpoints().len() + 1;
    let freedom = kept.len().saturating_sub(numbers).max(1);
    (found.residual_sum / freedom as f64).sqrt()
}

/// `order` turns the axis so that the end looked at is the least.
fn end_of_survey(speeds: &[f64], order: impl Fn(f64) -> f64, still_moving: f64) -> EndOfSurvey {
    /// Speeds this near are one place, crank rpm.
    const SAME_PLACE: f64 = 50.0;
    let nearest = |from: f64| {
        speeds.iter().map(|&speed| order(speed)).filter(|&speed| speed >= from).fold(f64::INFINITY, f64::min)
    };
    let speed = nearest(f64::NEG_INFINITY);
    EndOfSurvey { speed: order(speed), next_speed: order(nearest(speed + SAME_PLACE)), still_moving }
}

fn unsettled(readings: usize, scatter: f64) -> Vec<Unsettled> {
    let few = (readings < SETTLED_READINGS).then_some(Unsettled::Readings(readings));
    let wide = (scatter >= UNSETTLED_SCATTER).then_some(Unsettled::Scatter(scatter));
    few.into_iter().chain(wide).collect()
}
