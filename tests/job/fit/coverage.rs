//! How often the printed 95 % intervals of a fit hold the truth, and how wide they are, for each kind of distributor that is not
//! what a fit supposes. Coverage first, width beside it:
//!
//! `cargo test -p bobweight-tests --test fit_coverage -- --nocapture`
//!
//! 300 truths; `BOBWEIGHT_TRUTHS` sets another number, `BOBWEIGHT_SEED` the first seed, `BOBWEIGHT_KIND` a
//! part of the name of one kind. The truth of a corner is that of the
//! best ramps through the curve free of scatter, as many as were found. The last column of a width is the width over the
//! attainable one: that of somebody who knows shape and scatter and has only to read off the best ramps (Cramer-Rao).

#![expect(clippy::cast_precision_loss, reason = "a few dozen readings, some hundred truths")]

use bobweight_tests::best_ramps::{Ramps, best_ramps, hats};
use bobweight_tests::hostile::{Hostile, HostileSurvey};
use bobweight_tests::seeds::{BASE, Tally};
use bobweight_tool::distributor::{Estimate, FitOptions, VacuumOutcome, fit};
use nalgebra::{DMatrix, DVector};
use std::fmt::Write;

const KINDS: [(&str, Hostile); 13] = [
    ("sharp corners", Hostile::Sharp),
    ("rounded by 300 rpm", Hostile::Rounded),
    ("weights and springs", Hostile::Springs),
    ("a full S", Hostile::FullS),
    ("scatter 1", Hostile::Scatter(1.0)),
    ("scatter 2", Hostile::Scatter(2.0)),
    ("hose-on scatter 1.5 more", Hostile::HoseOnScatter),
    ("leaking 5 to 25 %", Hostile::Leaking),
    ("drifting", Hostile::Drifting),
    ("wrong tachometer, stated", Hostile::Tachometer),
    ("wrong gauge, stated", Hostile::Gauge),
    ("two misreads", Hostile::TwoMisread),
    ("any shape, 0.3 to 2", Hostile::Anything),
];
const FIGURES: [&str; 9] =
    ["initial", "start", "all in", "greatest", "scatter", "band", "v start", "v full", "v greatest"];

/// What is asked of every figure of every kind. A figure that no reading tells is not asked: what a drift adds to the scatter, and a leak between pumping and reading, which a pump shows and light does not.
const LEAST: f64 = 0.88;
const NOT_TOLD: [(Hostile, &[usize]); 2] = [(Hostile::Drifting, &[4]), (Hostile::Leaking, &[6, 7])];

fn number(name: &str, otherwise: u64) -> u64 {
    std::env::var(name).map_or(otherwise, |text| text.parse().expect("a whole number"))
}

/// One figure of one survey.
#[derive(Clone, Copy)]
struct Judged {
    figure: usize,
    /// The share that was held; of a band the share of its places.
    held: f64,
    half_width: f64,
    /// What could be had; NaN where nobody reckoned it.
    attainable: f64,
}

fn judged(kind: Hostile, seed: u64) -> Vec<Judged> {
    let survey = HostileSurvey::invent(kind, seed);
    let found = fit(&survey.readings, &FitOptions::default()).expect("a whole survey is fitted");
    let speeds: Vec<f64> = survey.placed.iter().map(|placed| placed.0).collect();
    let range = speeds.iter().fold((f64::INFINITY, 0.0_f64), |(low, high), &x| (low.min(x), high.max(x)));
    let mut truth = best_ramps(|speed| survey.truth(speed), range, found.ramps);
    // Where one ramp is all there is, two are nowhere.
    let one = best_ramps(|speed| survey.truth(speed), range, 1);
    if one.mean_square < 1e-4 {
        truth = one;
    }
    let mut attainable = attainable(&truth, &survey);
    // Of a meter that is out nobody can know more than what is stated.
    if let Some(accuracy) = survey.readings.tachometer_accuracy {
        for (corner, at) in [(1, 0), (2, truth.knots.len() - 1)] {
            attainable[corner] = attainable[corner].hypot(1.96 * accuracy.within(truth.knots[at]) / 3.0_f64.sqrt());
        }
    }
    let last = truth.knots.len() - 1;
    let held = |figure: usize, estimate: &Estimate, truth: f64, attainable: f64| Judged {
        figure,
        held: f64::from(u8::from(estimate.holds(truth))),
        half_width: estimate.half_width(),
        attainable,
    };
    let found_last = found.knots.len() - 1;
    let rise = truth.levels[last] - truth.levels[0];
    let mut figures = vec![
        held(0, &found.initial, truth.levels[0], attainable[0]),
        held(1, &found.knots[0], truth.knots[0], attainable[1]),
        held(2, &found.knots[found_last], truth.knots[last], attainable[2]),
        held(3, &found.centrifugal[found_last], rise, attainable[3]),
        held(4, &found.scatter, survey.scatter, 1.96 * survey.scatter / (2.0 * speeds.len() as f64).sqrt()),
    ];
    let places: Vec<f64> = (0..=20).map(|at| range.0 + (range.1 - range.0) * f64::from(at) / 20.0).collect();
    let bands: Vec<_> = places.iter().map(|&speed| (speed, found.band_at(speed))).collect();
    let inside = bands.iter().filter(|(speed, band)| (band.low..=band.high).contains(&survey.truth(*speed))).count();
    let half = bands.iter().map(|(_, band)| (band.high - band.low) / 2.0).sum::<f64>() / 21.0;
    figures.push(Judged { figure: 5, held: inside as f64 / 21.0, half_width: half, attainable: f64::NAN });
    if let VacuumOutcome::Fitted(unit) = &found.vacuum {
        let (start, full, greatest) = survey.vacuum();
        figures.push(held(6, &unit.start, start, f64::NAN));
        figures.push(held(7, &unit.full, full, f64::NAN));
        figures.push(held(8, &unit.greatest, greatest, f64::NAN));
    }
    figures
}

/// Half-widths of initial, first and last corner and greatest by the linear model at the true corners with the true scatter.
fn attainable(truth: &Ramps, survey: &HostileSurvey) -> [f64; 4] {
    let count = truth.knots.len();
    let size = 2 * count + 1;
    let value = |knots: &[f64], speed: f64| -> f64 {
        hats(knots, speed).iter().zip(&truth.levels).map(|(hat, level)| hat * level).sum()
    };
    let mut matrix = DMatrix::identity(size, size) * 1e-9;
    for &(speed, direction) in &survey.placed {
        let mut row = hats(&truth.knots, speed);
        for knot in 0..count {
            let moved = |by: f64| {
                let mut knots = truth.knots.clone();
                knots[knot] += by;
                value(&knots, speed)
            };
            row.push((moved(1.0) - moved(-1.0)) / 2.0);
        }
        let on_a_ramp = speed > truth.knots[0] && speed < truth.knots[count - 1];
        row.push(if on_a_ramp { -direction / 2.0 } else { 0.0 });
        let row = DVector::from_vec(row);
        matrix += &row * row.transpose();
    }
    let covariance = matrix.try_inverse().expect("a survey tells its numbers");
    let of = |weights: &[(usize, f64)]| {
        let pairs = weights.iter().flat_map(|a| weights.iter().map(move |b| (a, b)));
        let variance: f64 = pairs.map(|(a, b)| a.1 * b.1 * covariance[(a.0, b.0)]).sum();
        1.96 * survey.scatter * variance.sqrt()
    };
    [of(&[(0, 1.0)]), of(&[(count, 1.0)]), of(&[(2 * count - 1, 1.0)]), of(&[(0, -1.0), (count - 1, 1.0)])]
}

fn median(mut values: Vec<f64>) -> f64 {
    values.retain(|value| value.is_finite());
    values.sort_by(f64::total_cmp);
    values.get(values.len() / 2).copied().unwrap_or(f64::NAN)
}

/// Coverage of each figure of one kind, its line printed.
fn line(name: &str, judged: &[Judged]) -> Vec<f64> {
    let of = |figure: usize| judged.iter().filter(move |one| one.figure == figure);
    let coverage = |figure| of(figure).map(|one| one.held).sum::<f64>() / of(figure).count() as f64;
    let covered: Vec<f64> = (0..FIGURES.len()).map(coverage).collect();
    let mut text = format!("{name:25}");
    for (figure, covered) in covered.iter().enumerate() {
        let width = median(of(figure).map(|one| one.half_width).collect());
        let ratio = median(of(figure).map(|one| one.half_width / one.attainable).collect());
        let places = if figure == 1 || figure == 2 { 0 } else { 2 };
        let ratio = if ratio.is_nan() { String::new() } else { format!("{ratio:.2}") };
        let _ = write!(text, " | {:3.0} {width:4.places$} {ratio:4}", covered * 100.0);
    }
    println!("{text}");
    covered
}

#[test]
fn intervals_hold_when_the_model_does_not() {
    let truths = number("BOBWEIGHT_TRUTHS", 300);
    let first = number("BOBWEIGHT_SEED", BASE);
    let each = truths.div_ceil(KINDS.len() as u64);
    println!("{each} truths of each kind: coverage %, median half-width, that over the attainable");
    let titles: Vec<String> = FIGURES.iter().map(|figure| format!("{figure:13}")).collect();
    println!("{:25} | {}", "", titles.join(" | "));
    let mut short = Vec::new();
    let wanted = std::env::var("BOBWEIGHT_KIND").unwrap_or_default();
    for (name, kind) in KINDS.into_iter().filter(|(name, _)| name.contains(&wanted)) {
        let seeds: Vec<u64> = (first..first + each).collect();
        let halves = seeds.split_at(seeds.len() / 2);
        let all = |seeds: &[u64]| seeds.iter().flat_map(|&seed| judged(kind, seed)).collect::<Vec<_>>();
        let judged = std::thread::scope(|scope| {
            let other = scope.spawn(|| all(halves.1));
            let mut judged = all(halves.0);
            judged.extend(other.join().expect("a half"));
            judged
        });
        let covered = line(name, &judged);
        let asked =
            |figure: &usize| !NOT_TOLD.iter().any(|(untold, figures)| *untold == kind && figures.contains(figure));
        for figure in (0..FIGURES.len()).filter(asked) {
            let of = u32::try_from(each).expect("a count");
            #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a count")]
            let held = (covered[figure] * f64::from(of)).round() as u32;
            if !(Tally { held, of }).is_at_least(LEAST) {
                short.push(format!("{name}: {} {held} of {of}", FIGURES[figure]));
            }
        }
    }
    assert!(short.is_empty(), "held less often than {LEAST}: {short:#?}");
}
