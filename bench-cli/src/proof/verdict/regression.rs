//! Errors of the test points as offset, lag, up against down and vacuum shortfall, with their uncertainties.
//!
//! A lag of t microseconds shows as `6e-6 N t` crank degrees late at N crank rpm. Truncating to a tick *is* a lag of half a
//! tick, so half a tick stands among the systematic parts at either end.

use super::least_squares::LeastSquares;
use super::setting::{CORE_BOUND, Conditions, Setting};
use crate::proof::measure::{PointStatistics, Summary};
use nalgebra::{DMatrix, DVector};
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
    /// The standard uncertainties that make it, by name; the first is the scatter of the sparks (type A).
    pub parts: Vec<(&'static str, f64)>,
}

impl Estimate {
    /// Whether the interval of the estimate leaves 0 out.
    pub fn excludes_zero(&self) -> bool {
        self.value.abs() > self.expanded_uncertainty
    }
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
    /// One for each further column.
    pub further: Vec<Estimate>,
    /// Chi-square over its degrees of freedom.
    pub reduced_chi_square: f64,
    /// What the estimates leave of each point's error, crank degrees.
    pub residuals: Vec<f64>,
}

/// The four columns and how they are named.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Cause {
    /// `1`.
    Offset,
    /// `-6e-6 N`.
    Lag,
    /// `-d/2` inside the ramps where both directions were run.
    UpDown,
    /// `-v/v_max`.
    VacuumShortfall,
}

/// All four, in the order of the columns.
pub const CAUSES: [Cause; 4] = [Cause::Offset, Cause::Lag, Cause::UpDown, Cause::VacuumShortfall];

/// A cause's column over the test points.
pub fn column(cause: Cause, points: &[Conditions], setting: &Setting) -> Vec<f64> {
    match cause {
        Cause::Offset => vec![1.0; points.len()],
        Cause::Lag => points.iter().map(|point| -6e-6 * point.speed_crank_rpm).collect(),
        Cause::UpDown => {
            let mut seen: HashMap<_, i32> = HashMap::new();
            for point in points {
                *seen.entry(place(point)).or_default() |= if point.direction.sign() > 0.0 { 1 } else { 2 };
            }
            points
                .iter()
                .map(|point| match seen.get(&place(point)) {
                    Some(3) if setting.inside_ramps(point.speed_crank_rpm) => -point.direction.sign() / 2.0,
                    _ => 0.0,
                })
                .collect()
        }
        Cause::VacuumShortfall => {
            let greatest = setting.greatest_vacuum_advance();
            points.iter().map(|point| if greatest > 0.0 { -point.vacuum_advance / greatest } else { 0.0 }).collect()
        }
    }
}

/// Speed and depression, whatever the direction.
fn place(point: &Conditions) -> (u64, u64) {
    (point.speed_crank_rpm.to_bits(), point.depression_kpa.to_bits())
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
        let pool = pools.entry(place(point).0).or_default();
        pool.0 += freedom * error.standard_deviation.powi(2);
        pool.1 += freedom;
    }
    let random: Vec<f64> = points
        .iter()
        .zip(errors)
        .map(|(point, error)| {
            let (squares, freedom) = pools[&place(point).0];
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

/// Regresses the points' errors on the four causes and on `further` columns. None where there are too few points for
/// any of it.
pub fn regress(
    points: &[Conditions],
    errors: &[Summary],
    setting: &Setting,
    further: &[Vec<f64>],
) -> Option<Regression> {
    let mut chosen: Vec<(Option<Cause>, Vec<f64>)> = CAUSES
        .iter()
        .map(|&cause| (Some(cause), column(cause, points, setting)))
        .filter(|(_, column)| column.iter().any(|&value| value != 0.0))
        .collect();
    if points.iter().all(|point| place(point).0 == place(&points[0]).0) {
        // One speed cannot tell a lag from an offset.
        chosen.retain(|(cause, _)| *cause != Some(Cause::Lag));
    }
    chosen.extend(further.iter().map(|column| (None, column.clone())));
    let n = points.len();
    let columns = DMatrix::from_fn(n, chosen.len(), |i, j| chosen[j].1[i]);
    let observed = DVector::from_iterator(n, errors.iter().map(|error| error.mean));
    let uncertainties = uncertainties(points, errors, setting);
    let weighting = DVector::from_row_slice(&uncertainties.whole);
    let fit = LeastSquares::fit(&columns, &observed, &weighting)?;
    let random = DVector::from_row_slice(&uncertainties.random);
    let scale = fit.reduced_chi_square().max(1.0);
    let type_a = fit.covariance(&random) * scale;
    let systematic = Systematic::new(points, setting);
    let mut regression = Regression {
        offset: None,
        lag_us: None,
        up_down: None,
        vacuum_shortfall: None,
        further: Vec::new(),
        reduced_chi_square: fit.reduced_chi_square(),
        residuals: fit.residuals.iter().copied().collect(),
    };
    for (row, (cause, _)) in chosen.iter().enumerate() {
        let shares: Vec<f64> = fit.operator.row(row).iter().copied().collect();
        let mut parts = vec![("scatter of the sparks", type_a[(row, row)].sqrt())];
        parts.extend(systematic.parts(&shares));
        let square: f64 = parts.iter().map(|(_, u)| u * u).sum();
        let expanded_uncertainty = COVERAGE_FACTOR * square.sqrt();
        let estimate = Estimate { value: fit.estimate[row], expanded_uncertainty, parts };
        match cause {
            Some(Cause::Offset) => regression.offset = Some(estimate),
            Some(Cause::Lag) => regression.lag_us = Some(estimate),
            Some(Cause::UpDown) => regression.up_down = Some(estimate),
            Some(Cause::VacuumShortfall) => regression.vacuum_shortfall = Some(estimate),
            None => regression.further.push(estimate),
        }
    }
    Some(regression)
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
        let clock = points.iter().map(|p| setting.clock_slope(p) * setting.clock_tolerance).collect();
        let step = points.iter().map(|p| setting.vacuum_slope(p) * setting.vacuum_step_kpa / 2.0).collect();
        let mut numbers = HashMap::new();
        let places = points
            .iter()
            .map(|point| {
                let next = numbers.len();
                *numbers.entry(place(point)).or_insert(next)
            })
            .collect();
        Self {
            patterns: vec![
                ("the core's arithmetic, common to all", vec![CORE_BOUND; points.len()]),
                ("half a tick of the stimulator", half_tick(setting.tick_bench_s)),
                ("half a tick of the ignition", half_tick(setting.tick_ignition_s)),
                ("tolerance of the clocks", clock),
                ("half a step of the depression", step),
            ],
            places,
            ticks: points.iter().map(|point| ticks(point, setting)).collect(),
        }
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
