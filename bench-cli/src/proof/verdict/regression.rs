//! Errors of the test points as offset, lag, up against down and vacuum shortfall, with their uncertainties.
//!
//! A lag of t microseconds shows as `6e-6 N t` crank degrees late at N crank rpm. Truncating to a tick *is* a lag of half a
//! tick, so half a tick stands among the systematic parts at either end.

use super::causes::{Cause, Side, column};
use super::least_squares::{LeastSquares, told_apart};
use super::setting::{CORE_BOUND, Conditions, Setting};
use crate::proof::measure::{PointStatistics, Summary};
use nalgebra::{DMatrix, DVector};
use statrs::distribution::{ChiSquared, ContinuousCDF};
use std::collections::HashMap;

/// Coverage factor of every expanded uncertainty stated.
pub const COVERAGE_FACTOR: f64 = 2.0;

/// A settled test point as it was measured.
#[derive(Debug, Clone, PartialEq)]
pub struct MeasuredPoint {
    /// Speed, depression, direction.
    pub conditions: Conditions,
    /// Its figures.
    pub statistics: PointStatistics,
}

/// An estimate with what makes its uncertainty.
#[derive(Debug, Clone, PartialEq)]
pub struct Estimate {
    /// The estimate.
    pub value: f64,
    /// Expanded uncertainty U, k = 2.
    pub expanded_uncertainty: f64,
    /// The part of U that more sparks would lessen, k = 2: the scatter alone.
    pub statistical: f64,
    /// The part that no number of sparks lessens: what the bench and the ticks may be off, all of it added up, no root taken.
    pub bound: f64,
    /// The standard uncertainties that make it, by name; the first is the scatter of the sparks (type A).
    pub parts: Vec<(&'static str, f64)>,
}

impl Estimate {
    /// Whether the interval of the estimate leaves 0 out.
    pub fn excludes_zero(&self) -> bool {
        self.value.abs() > self.expanded_uncertainty
    }
}

impl Regression {
    /// Chi-square over its degrees of freedom: 1 where the stated uncertainties explain what is left.
    #[expect(clippy::cast_precision_loss, reason = "counts of test points")]
    pub fn reduced_chi_square(&self) -> f64 {
        self.chi_square / self.degrees_of_freedom.max(1) as f64
    }

    /// Whether more is left than the stated uncertainties leave once in a thousand runs.
    pub fn leaves_too_much(&self) -> bool {
        leaves_too_much(self.chi_square, self.degrees_of_freedom)
    }
}

#[expect(clippy::cast_precision_loss, reason = "counts of test points")]
fn leaves_too_much(chi_square: f64, degrees_of_freedom: usize) -> bool {
    ChiSquared::new(degrees_of_freedom.max(1) as f64).is_ok_and(|all| chi_square > all.inverse_cdf(0.999))
}

/// Standard uncertainty of an estimate by what is left at each speed together: an error that no cause explains is shared by all test points
/// of a speed, and does not average out over them (White 1980 and Liang and Zeger 1986, from memory: clusters, with the usual correction
/// for their number).
#[expect(clippy::cast_precision_loss, reason = "counts of speeds and columns")]
fn by_speeds(points: &[Conditions], shares: &[f64], residuals: &DVector<f64>, columns: usize) -> f64 {
    let mut speeds: HashMap<u64, f64> = HashMap::new();
    for ((point, share), residual) in points.iter().zip(shares).zip(residuals) {
        *speeds.entry(point.place().0).or_default() += share * residual;
    }
    let count = speeds.len() as f64;
    let freedom = (count - columns as f64).max(1.0);
    (speeds.values().map(|sum| sum * sum).sum::<f64>() * count / freedom).sqrt()
}

/// The four errors that a bench run can tell apart. Those that the test points cannot show are none.
#[derive(Debug, Clone, PartialEq)]
pub struct Regression {
    /// The same everywhere, crank degrees, early positive.
    pub offset: Option<Estimate>,
    /// Later with speed, microseconds, late positive.
    pub lag_us: Option<Estimate>,
    /// By how much the spark is later while the speed rises than while it falls, inside the ramps, crank degrees.
    pub up_down: Option<Estimate>,
    /// Vacuum advance missing at full depression, crank degrees.
    pub vacuum_shortfall: Option<Estimate>,
    /// One for each further column; none where the others make it up.
    pub further: Vec<Option<Estimate>>,
    /// Of the four those that these test points cannot tell from the others.
    pub not_told: Vec<Cause>,
    /// Sum of the squares of what is left over its standard uncertainty.
    pub chi_square: f64,
    /// Observations less columns.
    pub degrees_of_freedom: usize,
    /// What the estimates leave of each point's error, crank degrees.
    pub residuals: Vec<f64>,
}

/// Random and whole standard uncertainties of the points' mean errors, crank degrees.
#[derive(Debug, Clone, PartialEq)]
pub struct Uncertainties {
    /// Scatter of the cycle means alone.
    pub random: Vec<f64>,
    /// With the core's rounding and the ticks, which differ from point to point: the weights are of these.
    pub whole: Vec<f64>,
}

/// The standard uncertainties of the points.
///
/// The scatter is pooled over the points of one speed: a dozen cycle means tell a point's own scatter to a fifth only, and
/// weights as rough as that widen every interval.
#[expect(clippy::cast_precision_loss, reason = "counts of cycles")]
pub fn uncertainties(points: &[Conditions], errors: &[Summary], setting: &Setting) -> Uncertainties {
    let mut pools: HashMap<u64, (f64, f64)> = HashMap::new();
    for (point, error) in points.iter().zip(errors) {
        let freedom = error.count.saturating_sub(1) as f64;
        let pool = pools.entry(point.place().0).or_default();
        pool.0 += freedom * error.standard_deviation.powi(2);
        pool.1 += freedom;
    }
    let random: Vec<f64> = points
        .iter()
        .zip(errors)
        .map(|(point, error)| {
            let (squares, freedom) = pools[&point.place().0];
            (squares / freedom / error.count as f64).sqrt()
        })
        .collect();
    let whole = points
        .iter()
        .zip(&random)
        .map(|(point, random)| {
            let ticks = ticks(point, setting);
            (random.powi(2) + core_rounding().powi(2) + ticks.powi(2)).sqrt()
        })
        .collect();
    Uncertainties { random, whole }
}

fn core_rounding() -> f64 {
    CORE_BOUND / 3.0_f64.sqrt()
}

/// Standard uncertainty of a point by its ticks, crank degrees. Where a period is a whole number of ticks all of them are cut
/// alike, at either end of either clock, and no scatter shows it (JCGM 100:2008, F.2.2.1: a resolution is rectangular).
fn ticks(point: &Conditions, setting: &Setting) -> f64 {
    let square = (setting.tick_bench_s.powi(2) + setting.tick_ignition_s.powi(2)) / 6.0;
    6.0 * point.speed_crank_rpm * square.sqrt()
}

/// What a run is regressed on beside the four causes of every run.
#[derive(Debug, Clone, PartialEq)]
pub struct Further {
    /// Its cause; none of a breakpoint.
    pub cause: Option<Cause>,
    /// Its column.
    pub column: Vec<f64>,
}

/// Regresses the points' errors on what is `always` asked, on the speed axis within the tolerance of the clocks, and on `further`
/// columns. None where there are too few points for any of it. A column that the others make up is left out and told.
pub fn regress(
    points: &[Conditions],
    errors: &[Summary],
    setting: &Setting,
    always: &[Cause],
    further: &[Further],
) -> Option<Regression> {
    let at = |side: Side| regress_at(points, errors, setting, always, further, side);
    let side = match at(Side::Either)?.1 {
        // Between its corners the curve is the same from either side.
        share if share > 0.0 => Side::Above,
        share if share < 0.0 => Side::Below,
        _ => Side::Either,
    };
    at(side).map(|(regression, _)| regression)
}

/// What a column stands for.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Role {
    Always(Cause),
    Further(usize),
    /// By what share the clocks differ, within their tolerance.
    Clocks,
}

/// The regression with the clocks' share taken from a side, and that share in per cent.
fn regress_at(
    points: &[Conditions],
    errors: &[Summary],
    setting: &Setting,
    always: &[Cause],
    further: &[Further],
    side: Side,
) -> Option<(Regression, f64)> {
    let n = points.len();
    let mut chosen: Vec<(Role, Vec<f64>)> =
        always.iter().map(|&cause| (Role::Always(cause), column(cause, Side::Either, points, setting))).collect();
    chosen.extend(further.iter().enumerate().map(|(at, further)| (Role::Further(at), further.column.clone())));
    let tolerance = 100.0 * setting.clock_tolerance;
    let named = further.iter().any(|further| further.cause == Some(Cause::SpeedAxis));
    if tolerance > 0.0 && !named {
        chosen.push((Role::Clocks, column(Cause::SpeedAxis, side, points, setting)));
    }
    chosen.retain(|(_, column)| column.iter().any(|&value| value != 0.0));
    let uncertainties = uncertainties(points, errors, setting);
    let weighted =
        |column: &[f64]| DVector::from_iterator(n, column.iter().zip(&uncertainties.whole).map(|(c, u)| c / u));
    let kept = told_apart(chosen.iter().map(|(_, column)| weighted(column)));
    let mut not_told = Vec::new();
    let mut kept = kept.into_iter();
    chosen.retain(|(role, _)| {
        let keep = kept.next().unwrap_or(false);
        if let (false, Role::Always(cause)) = (keep, role) {
            not_told.push(*cause);
        }
        keep
    });
    // What is known of the clocks counts as one more observation: a share of 0, give or take a rectangle of their tolerance.
    let known = tolerance / 3.0_f64.sqrt();
    let clocks = chosen.iter().any(|(role, _)| *role == Role::Clocks);
    let rows = n + usize::from(clocks);
    let columns = DMatrix::from_fn(rows, chosen.len(), |i, j| match chosen[j].1.get(i) {
        Some(value) => *value,
        None => f64::from(u8::from(chosen[j].0 == Role::Clocks)),
    });
    let and_known =
        |values: Vec<f64>, last: f64| DVector::from_iterator(rows, values.into_iter().chain(clocks.then_some(last)));
    let observed = and_known(errors.iter().map(|error| error.mean).collect(), 0.0);
    let fit = LeastSquares::fit(&columns, &observed, &and_known(uncertainties.whole.clone(), known))?;
    let scale = fit.reduced_chi_square().max(1.0);
    let type_a = fit.covariance(&and_known(uncertainties.random.clone(), 0.0)) * scale;
    let systematic = Systematic::new(points, setting);
    let mut regression = Regression {
        offset: None,
        lag_us: None,
        up_down: None,
        vacuum_shortfall: None,
        further: vec![None; further.len()],
        not_told,
        chi_square: fit.chi_square,
        degrees_of_freedom: fit.degrees_of_freedom,
        residuals: fit.residuals.iter().take(n).copied().collect(),
    };
    let mut share = 0.0;
    for (row, (role, _)) in chosen.iter().enumerate() {
        let mut shares: Vec<f64> = fit.operator.row(row).iter().copied().collect();
        let of_clocks = if clocks { shares.pop().unwrap_or(0.0).abs() } else { 0.0 };
        let mut scatter = type_a[(row, row)].sqrt();
        if leaves_too_much(fit.chi_square, fit.degrees_of_freedom) {
            scatter = scatter.max(by_speeds(points, &shares, &fit.residuals, chosen.len()));
        }
        let mut parts = vec![("scatter of the sparks", scatter)];
        parts.extend(systematic.parts(&shares));
        parts.push(("tolerance of the clocks", of_clocks * known));
        let square: f64 = parts.iter().map(|(_, u)| u * u).sum();
        let estimate = Estimate {
            value: fit.estimate[row],
            expanded_uncertainty: COVERAGE_FACTOR * square.sqrt(),
            statistical: COVERAGE_FACTOR * scatter,
            bound: systematic.bound(&shares) + of_clocks * tolerance,
            parts,
        };
        match role {
            Role::Always(Cause::Offset) => regression.offset = Some(estimate),
            Role::Always(Cause::Lag) => regression.lag_us = Some(estimate),
            Role::Always(Cause::UpDown) => regression.up_down = Some(estimate),
            Role::Always(_) => regression.vacuum_shortfall = Some(estimate),
            Role::Further(at) => regression.further[*at] = Some(estimate),
            Role::Clocks => share = estimate.value,
        }
    }
    Some((regression, share))
}

/// Systematic parts (type B): each a pattern over the test points of which only a bound is known.
struct Systematic {
    patterns: Vec<(&'static str, Vec<f64>)>,
    /// Points of one speed and depression share the core's rounding.
    places: Vec<usize>,
    /// Each point's own ticks.
    ticks: Vec<f64>,
}

impl Systematic {
    fn new(points: &[Conditions], setting: &Setting) -> Self {
        let half_tick = |tick_s: f64| points.iter().map(|p| 6.0 * p.speed_crank_rpm * tick_s / 2.0).collect();
        let step = points.iter().map(|p| setting.vacuum_slope(p) * setting.vacuum_step_kpa / 2.0).collect();
        let mut numbers = HashMap::new();
        let places = points
            .iter()
            .map(|point| {
                let next = numbers.len();
                *numbers.entry(point.place()).or_insert(next)
            })
            .collect();
        Self {
            patterns: vec![
                ("the core's arithmetic, common to all", vec![CORE_BOUND; points.len()]),
                ("half a tick of the stimulator", half_tick(setting.tick_bench_s)),
                ("half a tick of the ignition", half_tick(setting.tick_ignition_s)),
                ("half a step of the depression", step),
            ],
            places,
            ticks: points.iter().map(|point| ticks(point, setting)).collect(),
        }
    }

    /// By how much the estimate may be off where each pattern is at its bound.
    fn bound(&self, shares: &[f64]) -> f64 {
        let reach = |pattern: &[f64]| pattern.iter().zip(shares).map(|(bound, share)| bound * share).sum::<f64>().abs();
        self.patterns.iter().map(|(_, pattern)| reach(pattern)).sum()
    }

    /// Standard uncertainties of the estimate to which each point adds its share; a bound counts as rectangular (JCGM
    /// 100:2008, 4.3.7).
    fn parts(&self, shares: &[f64]) -> Vec<(&'static str, f64)> {
        let mut by_place = vec![0.0; self.places.iter().max().map_or(0, |last| last + 1)];
        for (&place, share) in self.places.iter().zip(shares) {
            by_place[place] += share;
        }
        let rounding = core_rounding() * by_place.iter().map(|share| share * share).sum::<f64>().sqrt();
        let ticks = self.ticks.iter().zip(shares).map(|(u, share)| (u * share).powi(2)).sum::<f64>().sqrt();
        let mut parts = vec![("the core's arithmetic, point by point", rounding), ("ticks, point by point", ticks)];
        parts.extend(self.patterns.iter().map(|(name, pattern)| {
            let reach: f64 = pattern.iter().zip(shares).map(|(bound, share)| bound * share).sum();
            (*name, reach.abs() / 3.0_f64.sqrt())
        }));
        parts
    }
}
