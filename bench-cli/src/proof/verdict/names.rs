//! What is wrong, by name: from the errors of the test points to findings.

use super::causes::{ALWAYS, CAUSES, Cause, Side, column};
use super::finding::Finding;
use super::pulses::{PulseDeparture, departures};
use super::regression::{self, Estimate, Further, MeasuredPoint, Regression, regress};
use super::selection::{Selected, select};
use super::setting::{Conditions, Setting};
use super::words;
use crate::proof::measure::Summary;
use crate::record::bench::FindingKind;
use nalgebra::{Cholesky, DMatrix, DVector, Dyn};

/// The regression of a run and what was found in it.
#[derive(Debug, Clone, PartialEq)]
pub struct Diagnosis {
    /// Offset, lag, up against down, vacuum shortfall; none where there are too few test points.
    pub regression: Option<Regression>,
    /// Pulses that depart from the others.
    pub pulses: Vec<PulseDeparture>,
    /// What is wrong, gravest kind first.
    pub findings: Vec<Finding>,
}

/// A cause that the errors are tried against.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Candidate {
    Cause(Cause, Side),
    /// One centrifugal breakpoint moved, by its number from 0.
    Breakpoint(usize),
}

/// Finds what is wrong in the settled test points of a run.
pub fn diagnose(points: &[MeasuredPoint], setting: &Setting) -> Diagnosis {
    let pulses = departures(points, setting);
    let mut findings = words::counts(points);
    findings.extend(pulses.iter().map(|pulse| words::pulse(pulse, setting.pulses_in_two_turns)));
    findings.extend(words::scatter(points, setting));
    // A pulse that is off shifts every mean; its share is taken out, or it would be named an offset as well.
    #[expect(clippy::cast_precision_loss, reason = "at most 12 pulses")]
    let share = pulses.iter().map(|pulse| pulse.departure).sum::<f64>() / setting.pulses_in_two_turns as f64;
    // A point whose scatter is not known tells nothing.
    let (conditions, errors): (Vec<Conditions>, Vec<Summary>) = points
        .iter()
        .filter(|point| point.statistics.cycle_means.count >= 2)
        .map(|point| {
            let means = point.statistics.cycle_means;
            (point.conditions, Summary { mean: means.mean - share, ..means })
        })
        .unzip();
    let (regression, causes) = explain_and_tell(&conditions, &errors, setting);
    match words::moving_flank(&errors, setting).filter(|_| !causes.is_empty()) {
        Some(flank) => findings.push(flank),
        None => findings.extend(causes),
    }
    findings.sort_by_key(|finding| finding.kind);
    Diagnosis { regression, pulses, findings }
}

/// An estimate is named where it is so many times its U: a cause that is looked for among others is found by chance more often than
/// its interval misses.
const SURE: f64 = 1.5;
/// One of many breakpoints that could have been chosen.
const SURE_OF_A_BREAKPOINT: f64 = 2.0;

/// A candidate that was selected, with its column and what explains as well.
struct Chosen<'c> {
    candidate: Candidate,
    column: &'c Vec<f64>,
    or: Vec<Candidate>,
    needed: bool,
}

impl Chosen<'_> {
    fn as_further(&self) -> Further {
        Further { cause: self.candidate.cause(), column: self.column.clone() }
    }
}

fn explain(points: &[Conditions], errors: &[Summary], setting: &Setting) -> (Option<Regression>, Vec<Finding>) {
    let weight: Vec<f64> = regression::uncertainties(points, errors, setting).whole.iter().map(|u| u.recip()).collect();
    let candidates = candidates(points, setting, &weight);
    let n = points.len();
    let Some(whitening) = whitening(points, setting, &weight) else { return (None, Vec::new()) };
    let columns = whitening.of(&DMatrix::from_fn(n, candidates.len(), |i, j| candidates[j].column[i]));
    let observed = whitening.of(&DMatrix::from_fn(n, 1, |i, _| errors[i].mean)).column(0).into_owned();
    let signs: Vec<f64> = candidates.iter().map(|candidate| candidate.side().sign()).collect();
    let chosen: Vec<Chosen> = select(&columns, &observed, &signs)
        .into_iter()
        .map(|Selected { index, or, needed }| {
            let all = or
                .iter()
                .chain([&index])
                .flat_map(|&at| candidates[at].like.iter().copied().chain([candidates[at].what]));
            let what = candidates[index].what;
            let mut others: Vec<Candidate> = Vec::new();
            for other in all {
                // Of one cause the sides are one.
                if !other.is_of(what) && !others.iter().any(|one| one.is_of(other)) {
                    others.push(other);
                }
            }
            Chosen { candidate: what, column: &candidates[index].column, or: others, needed }
        })
        .collect();
    // Sensor and shortfall show at two or three depressions: three lines of them are one too many.
    let is =
        |causes: &[Cause]| chosen.iter().filter_map(|one| one.candidate.cause()).any(|cause| causes.contains(&cause));
    let by_sensor = is(&[Cause::SensorZero, Cause::SensorGain]) && !is(&[Cause::VacuumShortfall]);
    let always: Vec<Cause> =
        ALWAYS.into_iter().filter(|&cause| !(by_sensor && cause == Cause::VacuumShortfall)).collect();
    let further: Vec<&Chosen> = chosen.iter().filter(|chosen| !chosen.candidate.is_always()).collect();
    let Some((regression, further)) = regress_on_named(points, errors, setting, (&always, further)) else {
        return (None, Vec::new());
    };
    let mut regression = regression;
    if by_sensor && regression.vacuum_shortfall.is_none() {
        // Beside a sensor the shortfall is known the less; it is told all the same, as wide as that makes it.
        let columns: Vec<Further> = further.iter().map(|one| one.as_further()).collect();
        let beside = regress(points, errors, setting, &ALWAYS, &columns);
        match beside.filter(|beside| beside.further.iter().all(Option::is_some)) {
            Some(beside) => regression.vacuum_shortfall = beside.vacuum_shortfall,
            None => regression.not_told.push(Cause::VacuumShortfall),
        }
    }
    let mut findings = Vec::new();
    for chosen in &chosen {
        let estimate = match chosen.candidate {
            Candidate::Cause(Cause::Offset, _) => &regression.offset,
            Candidate::Cause(Cause::Lag, _) => &regression.lag_us,
            Candidate::Cause(Cause::UpDown, _) => &regression.up_down,
            Candidate::Cause(Cause::VacuumShortfall, _) => &regression.vacuum_shortfall,
            _ => {
                let at = further.iter().position(|further| further.candidate == chosen.candidate);
                at.and_then(|at| regression.further.get(at)).unwrap_or(&None)
            }
        };
        let Some(estimate) = estimate else { continue };
        if chosen.needed && named(chosen.candidate, estimate, setting) {
            let finding = match chosen.candidate {
                Candidate::Cause(cause, _) => words::cause(cause, estimate, points, setting),
                Candidate::Breakpoint(number) => words::breakpoint(number, estimate, setting),
            };
            findings.push(finding.or(&chosen.or.iter().map(|other| other.words()).collect::<Vec<_>>()));
        }
    }
    (Some(regression), findings)
}

/// Explains the errors; where a few test points stand out of what explains all others, the others are explained, and the few told beside
/// it. Where no cause explains what is left nothing is named but a wrong flank, which is known by its size: whatever else fits would fit by
/// chance.
fn explain_and_tell(
    points: &[Conditions],
    errors: &[Summary],
    setting: &Setting,
) -> (Option<Regression>, Vec<Finding>) {
    let (regression, mut findings) = explain(points, errors, setting);
    let Some(regression) = regression else { return (None, findings) };
    let apart = unexplained(points, errors, &regression, setting);
    if apart.is_empty() && !regression.leaves_too_much() {
        return (Some(regression), findings);
    }
    let stands_apart: Vec<bool> = points.iter().map(|point| apart.iter().any(|(one, _)| one == point)).collect();
    let others = || stands_apart.iter().map(|apart| !apart);
    if !apart.is_empty() && apart.len() * FEW <= points.len() {
        let points: Vec<Conditions> =
            points.iter().zip(others()).filter(|(_, keep)| *keep).map(|(one, _)| *one).collect();
        let errors: Vec<Summary> = errors.iter().zip(others()).filter(|(_, keep)| *keep).map(|(one, _)| *one).collect();
        if let (Some(of_others), mut named) = explain(&points, &errors, setting)
            && !of_others.leaves_too_much()
            && unexplained(&points, &errors, &of_others, setting).is_empty()
        {
            named.extend(words::test_points(&apart, setting));
            return (Some(of_others), named);
        }
    }
    findings.retain(|finding| finding.kind == FindingKind::Flank);
    findings
        .push(words::test_points(&apart, setting).unwrap_or_else(|| words::left_over(points, &regression, setting)));
    (Some(regression), findings)
}

/// Test points are few where they are at most one in so many.
const FEW: usize = 12;

/// What makes errors independent and of one size: they share what the clocks may differ by, and what each depression may be off.
struct Whitening(Cholesky<f64, Dyn>);

impl Whitening {
    fn of(&self, columns: &DMatrix<f64>) -> DMatrix<f64> {
        let zeros = DMatrix::zeros(columns.nrows(), columns.ncols());
        self.0.l_dirty().solve_lower_triangular(columns).unwrap_or(zeros)
    }
}

fn whitening(points: &[Conditions], setting: &Setting, weight: &[f64]) -> Option<Whitening> {
    let mut covariance =
        DMatrix::from_diagonal(&DVector::from_iterator(weight.len(), weight.iter().map(|w| w.powi(-2))));
    // A bound counts as rectangular (JCGM 100:2008, 4.3.7).
    let mut share = |column: Vec<f64>, bound: f64| {
        let column = DVector::from_vec(column) * (bound / 3.0_f64.sqrt());
        covariance += &column * column.transpose();
    };
    share(column(Cause::SpeedAxis, Side::Either, points, setting), 100.0 * setting.clock_tolerance);
    let slopes = column(Cause::SensorZero, Side::Either, points, setting);
    let mut depressions: Vec<f64> = points.iter().map(|point| point.depression_kpa).collect();
    depressions.sort_by(f64::total_cmp);
    depressions.dedup();
    for depression in depressions {
        let at = |(point, slope): (&Conditions, &f64)| {
            if point.depression_kpa.to_bits() == depression.to_bits() { *slope } else { 0.0 }
        };
        share(points.iter().zip(&slopes).map(at).collect(), setting.vacuum_step_kpa / 2.0);
    }
    covariance.cholesky().map(Whitening)
}

/// Regresses with the causes that were selected as further columns, and without those that turn out not to be worth a name: a column for
/// nothing would only widen the intervals of offset and lag.
fn regress_on_named<'c>(
    points: &[Conditions],
    errors: &[Summary],
    setting: &Setting,
    (always, mut chosen): (&[Cause], Vec<&'c Chosen<'c>>),
) -> Option<(Regression, Vec<&'c Chosen<'c>>)> {
    loop {
        let further: Vec<Further> = chosen.iter().map(|chosen| chosen.as_further()).collect();
        let asked: &[Cause] = if chosen.is_empty() { &ALWAYS } else { always };
        let regression = regress(points, errors, setting, asked, &further)?;
        let stay: Vec<bool> = regression
            .further
            .iter()
            .zip(&chosen)
            .map(|(estimate, chosen)| {
                estimate.as_ref().is_some_and(|estimate| named(chosen.candidate, estimate, setting))
            })
            .collect();
        if stay.iter().all(|&stays| stays) {
            return Some((regression, chosen));
        }
        let mut stays = stay.into_iter();
        chosen.retain(|_| stays.next().unwrap_or(false));
    }
}

/// Whether an estimate is sure enough for a name.
fn named(candidate: Candidate, estimate: &Estimate, setting: &Setting) -> bool {
    let (size, u) = (estimate.value.abs(), estimate.expanded_uncertainty);
    match candidate {
        Candidate::Breakpoint(_) => size > SURE_OF_A_BREAKPOINT * u,
        // What the clocks may differ by is no fault.
        Candidate::Cause(Cause::SpeedAxis, _) => size - u > 100.0 * setting.clock_tolerance && size > SURE * u,
        // Nor is a depression that the bench gives by steps.
        Candidate::Cause(Cause::SensorZero, _) => size - u > setting.vacuum_step_kpa && size > SURE * u,
        Candidate::Cause(Cause::SensorGain, _) => {
            let full = setting.vacuum.last().map_or(0.0, |last| last[0]);
            (size - u) / 100.0 * full > setting.vacuum_step_kpa && size > SURE * u
        }
        Candidate::Cause(..) => size > SURE * u,
    }
}

impl Candidate {
    fn cause(self) -> Option<Cause> {
        match self {
            Self::Cause(cause, _) => Some(cause),
            Self::Breakpoint(_) => None,
        }
    }

    fn is_always(self) -> bool {
        self.cause().is_some_and(|cause| ALWAYS.contains(&cause))
    }

    /// Whether two are one cause, from whichever side.
    fn is_of(self, other: Self) -> bool {
        self == other || (self.cause().is_some() && self.cause() == other.cause())
    }

    fn words(self) -> (FindingKind, String) {
        match self {
            Self::Cause(cause, _) => (words::kind(cause), cause.words().to_owned()),
            Self::Breakpoint(number) => {
                (FindingKind::Breakpoint, format!("breakpoint {} of the centrifugal curve", number + 1))
            }
        }
    }
}

/// What the errors are tried against, with its column and the candidates whose column is the same but for its size.
struct Column {
    what: Candidate,
    column: Vec<f64>,
    like: Vec<Candidate>,
}

impl Column {
    fn side(&self) -> Side {
        match self.what {
            Candidate::Cause(_, side) => side,
            Candidate::Breakpoint(_) => Side::Either,
        }
    }
}

/// Every cause that the test points can show. Of those that they show alike the first stands for all.
fn candidates(points: &[Conditions], setting: &Setting, weight: &[f64]) -> Vec<Column> {
    let causes =
        CAUSES.iter().map(|&(cause, side)| (Candidate::Cause(cause, side), column(cause, side, points, setting)));
    let breakpoints = (0..setting.centrifugal.len())
        .map(|number| (Candidate::Breakpoint(number), moved_breakpoint(number, points, setting)));
    let mut kept: Vec<Column> = Vec::new();
    let unit = |column: &[f64]| {
        DVector::from_iterator(column.len(), column.iter().zip(weight).map(|(value, weight)| value * weight))
            .normalize()
    };
    for (what, column) in causes.chain(breakpoints).filter(|(_, column)| column.iter().any(|&value| value != 0.0)) {
        let own = unit(&column);
        match kept.iter_mut().find(|one| unit(&one.column).dot(&own).abs() > ALIKE) {
            Some(one) => one.like.push(what),
            None => kept.push(Column { what, column, like: Vec::new() }),
        }
    }
    kept
}

/// Columns at so small an angle are one: its cosine.
const ALIKE: f64 = 1.0 - 1e-9;

/// What moving one breakpoint by 1 crank degree does: all of it there, nothing at the breakpoints beside it, and as much
/// on the flat beyond the first or last.
fn moved_breakpoint(number: usize, points: &[Conditions], setting: &Setting) -> Vec<f64> {
    let at = |index: usize| setting.centrifugal[index][0];
    points
        .iter()
        .map(|point| {
            let speed = point.speed_crank_rpm;
            let here = at(number);
            if speed <= here {
                if number == 0 { 1.0 } else { ((speed - at(number - 1)) / (here - at(number - 1))).max(0.0) }
            } else if number + 1 == setting.centrifugal.len() {
                1.0
            } else {
                ((at(number + 1) - speed) / (at(number + 1) - here)).max(0.0)
            }
        })
        .collect()
}

/// Points that depart from what the causes explain by more than scatter and bound allow, and enough to matter; with the
/// risk of one false name in a hundred runs.
fn unexplained(
    points: &[Conditions],
    errors: &[Summary],
    regression: &Regression,
    setting: &Setting,
) -> Vec<(Conditions, f64)> {
    points
        .iter()
        .zip(errors)
        .zip(&regression.residuals)
        .filter(|((point, error), residual)| {
            let factor = super::judge::Factors::new(error.count, 1, points.len()).fail;
            let allowed = factor * error.standard_uncertainty() + setting.bound(point).total();
            residual.abs() > allowed.max(setting.matters())
        })
        .map(|((point, _), residual)| (*point, *residual))
        .collect()
}
