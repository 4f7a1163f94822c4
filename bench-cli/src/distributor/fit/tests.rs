use crate::quantity::Accuracy;
use crate::sheet::Specification;
use nalgebra::{DMatrix, DVector};

use super::design::row;
use super::node::Marginal;
use super::node::Scratch;
use super::*;
use crate::distributor::readings;

/// A survey without scatter but for the last digit: 8 crank degrees, from 1 000 to 2 000 crank rpm up to 24.
fn survey(change: impl Fn(f64, f64) -> f64, speeds: &[f64]) -> Readings {
    let lines = speeds.iter().enumerate().map(|(at, &speed)| {
        let angle = change(speed, 8.0 + ((speed - 1000.0) / 1000.0).clamp(0.0, 1.0) * 16.0);
        let wobble = [0.3, -0.4, 0.2, -0.1][at % 4];
        format!("off,{},{speed},{:.1}\n", if at % 2 == 0 { "rising" } else { "falling" }, angle + wobble)
    });
    let text: String = std::iter::once("hose,speed_was,crank_rpm,crank_degrees\n".to_owned()).chain(lines).collect();
    readings::parse("old.csv", text.as_bytes()).unwrap()
}

const SPEEDS: [f64; 18] = [
    600.0, 650.0, 700.0, 900.0, 1050.0, 1150.0, 1250.0, 1350.0, 1450.0, 1550.0, 1650.0, 1750.0, 1850.0, 1950.0, 2150.0,
    2500.0, 2600.0, 2700.0,
];

fn unchanged(_speed: f64, angle: f64) -> f64 {
    angle
}

fn fitted(readings: &Readings) -> FitResult {
    fit(readings, &FitOptions::default()).unwrap()
}

#[track_caller]
fn says(fit: &FitResult, part: &str) {
    let mut said = sentences(fit).join("\n");
    for finding in wear(fit, &Specification::default()) {
        said.push('\n');
        said.push_str(&finding.sentence);
    }
    assert!(said.contains(part), "`{part}` is missing from:\n{said}");
}

/// Log of the density that readings have with normal levels and an inverse gamma scatter: normal with the covariance s^2 M, M = W^-1 +
/// X V X' with the weights W, times s / s0 for each level whose spread is that of the stated scatter s0, integrated over s^2
/// in closed form. Gelman et al., Bayesian Data Analysis, on linear regression (from memory).
fn log_density(points: &Points, knots: &[f64; 3], left_out: Option<usize>, worth: f64, free_levels: f64) -> f64 {
    let kept = points.without(left_out);
    let count = kept.len();
    let design =
        DMatrix::from_fn(count, 4, |at, column| row::<3, 4>(knots, 0.0, kept.x[at], kept.direction[at])[column]);
    // Forty times the scatter for each level, four times for up against down; so many readings at 0.5 crank degrees.
    let widths = DMatrix::from_diagonal(&DVector::from_vec(vec![1600.0, 1600.0, 1600.0, 16.0]));
    let (shape, scale) = (worth / 2.0, worth / 8.0);
    let noise = DMatrix::from_diagonal(&DVector::from_iterator(count, kept.root_weight.iter().map(|w| w.powi(-2))));
    let matrix = noise + &design * widths * design.transpose();
    let angles = DVector::from_iterator(count, kept.y.iter().zip(&kept.root_weight).map(|(y, w)| y / w));
    let factor = matrix.cholesky().unwrap();
    let distance = angles.dot(&factor.solve(&angles));
    let count = f64::from(u32::try_from(count).unwrap());
    let after = shape + (count - free_levels) / 2.0;
    let stated: f64 = 0.5;
    libm::lgamma(after) - libm::lgamma(shape) + shape * scale.ln()
        - count / 2.0 * std::f64::consts::TAU.ln()
        - factor.determinant().ln() / 2.0
        - after * (scale + distance / 2.0).ln()
        - free_levels * stated.ln()
}

#[test]
fn the_marginal_likelihood_is_the_density_of_all_readings_and_with_each_left_out() {
    let readings = survey(unchanged, &SPEEDS);
    let alike = points_of(&with_hose(&readings, Hose::Off));
    let uneven = alike.clone().scattering_besides((0..18).map(|at| f64::from(at % 5)));
    let priors = [(Prior::new(0.5), 6.0, 0.0), (Prior::otherwise(0.5), 2.0, 3.0)];
    for (points, (prior, worth, free_levels)) in
        [alike, uneven].iter().flat_map(|points| priors.map(|prior| (points, prior)))
    {
        let marginal = Marginal::<3, 4>::new(points, prior);
        // The same for all of them: what a weighted angle's density has more than the angle's own.
        let weights: f64 = points.root_weight.iter().map(|weight| weight.ln()).sum();
        let mut scratch = Scratch::new();
        for knots in [[950.0, 1500.0, 2050.0], [700.0, 1000.0, 3000.0]] {
            let all = marginal.log_likelihood(&knots, &mut scratch);
            for (at, &weight) in scratch.weights.iter().enumerate() {
                let found = all + (weight / scratch.total).ln();
                let left_out = (at < points.len()).then_some(at);
                let cost = if left_out.is_some() { (18.0_f64 * 20.0).ln() } else { 0.0 };
                let expected = log_density(points, &knots, left_out, worth, free_levels) - cost - weights;
                assert!((found - expected).abs() < 1e-8, "{knots:?} without {left_out:?}: {found}, not {expected}");
            }
        }
    }
}

#[test]
fn quantiles_are_those_of_the_seventh_type() {
    // numpy.quantile([3, 1, 4, 1, 5, 9, 2, 6], [0, 0.025, 0.5, 0.975, 1])
    let expected = [(0.0, 1.0), (0.025, 1.0), (0.5, 3.5), (0.975, 8.475), (1.0, 9.0)];
    for (share, value) in expected {
        let mut values = [3.0, 1.0, 4.0, 1.0, 5.0, 9.0, 2.0, 6.0];
        assert!((summary::quantile(&mut values, share) - value).abs() < 1e-12, "{share}");
    }
}

#[test]
fn one_ramp_is_found_with_its_corners() {
    let found = fitted(&survey(unchanged, &SPEEDS));
    assert_eq!(found.ramps, 1);
    assert!(found.initial.holds(8.0) && found.knots[0].holds(1000.0) && found.knots[1].holds(2000.0), "{found:?}");
    assert!(found.misread.is_none() && found.unsettled.is_empty());
    let band = found.band_at(1500.0);
    assert!(band.low < 16.0 && 16.0 < band.high && band.low < band.mid && band.mid < band.high, "{band:?}");
    assert!(matches!(found.vacuum, VacuumOutcome::NotRead));
    says(&found, "Centrifugal advance by one ramp");
    says(&found, "nothing is known of a vacuum unit");
}

#[test]
fn the_same_seed_gives_the_same_numbers_and_another_nearly_the_same() {
    let readings = survey(unchanged, &SPEEDS);
    let [one, again, other] =
        [1, 1, 2].map(|seed| fit(&readings, &FitOptions { seed, ..FitOptions::default() }).unwrap());
    assert_eq!(one.knots, again.knots);
    assert_ne!(one.knots, other.knots);
    assert!((one.knots[0].low - other.knots[0].low).abs() < 20.0, "{:?} {:?}", one.knots, other.knots);
}

#[test]
fn a_misread_is_named_by_its_line_and_left_out_of_the_curve() {
    let readings = survey(|speed, angle| if (speed - 1450.0).abs() < 1.0 { angle - 7.0 } else { angle }, &SPEEDS);
    let found = fitted(&readings);
    let misread = found.misread.as_ref().unwrap();
    assert_eq!((misread.index, misread.reading.line, misread.is_named()), (8, 10, true));
    assert!((found.found.at(1450.0) - 15.2).abs() < 0.5, "{:?}", found.found);
    says(&found, "Misread, line 10: 8.5 crank degrees at 1 450 crank rpm, 6.");
    says(&found, " late against the curve");
}

#[test]
fn readings_that_end_on_the_ramp_are_said_to_rise_still() {
    let found = fitted(&survey(unchanged, &SPEEDS[..13]));
    assert!(found.highest.still_moving > 0.8, "{:?}", found.highest);
    says(&found, "The advance still rises at 1 850 crank rpm, the highest speed read: read on at 2 100 crank rpm");
    says(&found, "Not settled: 13 readings with the hose off");
}

#[test]
fn readings_that_begin_on_the_ramp_are_said_to_move_already() {
    let found = fitted(&survey(unchanged, &SPEEDS[5..]));
    assert!(found.lowest.still_moving > 0.8, "{:?}", found.lowest);
    says(&found, "The advance already moves at 1 150 crank rpm, the lowest speed read: read lower, at 900 crank rpm");
}

#[test]
fn an_end_without_a_neighbour_is_not_accused() {
    let speeds: Vec<f64> = SPEEDS.iter().copied().filter(|&speed| !(1500.0..=2400.0).contains(&speed)).collect();
    let found = fitted(&survey(unchanged, &[&speeds[..9], &[1950.0]].concat()));
    assert!(found.highest.still_moving > 0.05, "{:?}", found.highest);
    says(&found, "it cannot be told: read at 1 700 crank rpm");
}

#[test]
fn a_corner_without_readings_is_named_with_a_speed_inside_its_interval() {
    let speeds: Vec<f64> = SPEEDS.iter().copied().filter(|&speed| !(650.0..=1550.0).contains(&speed)).collect();
    let found = fitted(&survey(unchanged, &speeds));
    let corner = found.wide_corners.iter().find(|corner| corner.knot == 0).unwrap();
    assert!(found.knots[0].holds(corner.read_next), "{corner:?}");
    says(&found, "Too few readings about the corner at");
}

#[test]
fn readings_all_over_the_place_are_not_settled() {
    let found = fitted(&survey(|speed, angle| angle + 4.0 * (speed * 1.7).sin(), &SPEEDS));
    assert!(found.scatter.value >= 0.8, "{:?}", found.scatter);
    says(&found, "one ramp cannot be told from two");
}

#[test]
fn what_no_curve_can_be_had_from_is_refused() {
    let refusal = |readings: &Readings, scatter| {
        fit(readings, &FitOptions { scatter: Some(scatter), seed: 1 }).unwrap_err().to_string()
    };
    let few = survey(unchanged, &SPEEDS[..5]);
    assert_eq!(refusal(&few, 0.5), "old.csv: 5 readings with the hose off, and a curve needs 6 at the least");
    let narrow = survey(unchanged, &[600.0, 650.0, 700.0, 750.0, 800.0, 900.0]);
    let said = "old.csv: the readings with the hose off lie between 600 and 900 crank rpm, and a curve needs at least \
                400 crank rpm between the lowest and the highest";
    assert_eq!(refusal(&narrow, 0.5), said);
    let whole = survey(unchanged, &SPEEDS);
    assert!(refusal(&whole, f64::NAN).contains("outside 0.05 to 5 crank degrees"));
}

/// A survey of [`SPEEDS`], then ten readings at one speed of a vacuum unit that gives 10 crank degrees from 17 to 40 kPa.
fn with_vacuum() -> Readings {
    let mut readings = survey(unchanged, &SPEEDS);
    for (at, depression) in [8.0, 11.0, 14.0, 22.0, 26.0, 31.0, 36.0, 43.0, 46.0, 50.0].into_iter().enumerate() {
        // From 17 to 40 kPa 10 crank degrees, above the 24 of 2 500 crank rpm.
        let advance = ((depression - 17.0) / 23.0_f64).clamp(0.0, 1.0) * 10.0;
        let crank_degrees = 24.0 + advance + [0.2, -0.3, 0.1][at % 3];
        readings.readings.push(Reading {
            line: 30 + at,
            hose: Hose::On,
            speed_was: SpeedWas::Steady,
            crank_rpm: 2500.0,
            crank_degrees,
            depression_kpa: Some(depression),
        });
    }
    readings
}

#[test]
fn hose_on_readings_give_the_vacuum_curve() {
    let mut readings = with_vacuum();
    let found = fitted(&readings);
    let VacuumOutcome::Fitted(vacuum) = &found.vacuum else { panic!("{:?}", found.vacuum) };
    assert!(vacuum.start.holds(17.0) && vacuum.full.holds(40.0) && vacuum.greatest.holds(10.0), "{vacuum:?}");
    let band = vacuum.band_at(28.5);
    assert!(band.low < 5.0 && 5.0 < band.high, "{band:?}");
    says(&found, "Vacuum advance starts at");
    readings.readings.truncate(SPEEDS.len() + 4);
    says(&fitted(&readings), "4 readings with the hose on tell no vacuum curve");
}

/// Standard deviation of what is drawn.
fn deviation(values: &[f64]) -> f64 {
    let count = f64::from(u32::try_from(values.len()).unwrap());
    let mean = values.iter().sum::<f64>() / count;
    (values.iter().map(|value| (value - mean).powi(2)).sum::<f64>() / count).sqrt()
}

/// A figure that lies anywhere within so much either way has that over the root of three for its standard uncertainty, and it adds to that of
/// the readings by squares (JCGM 100:2008, 4.3.7 and 5.1.2).
#[track_caller]
fn adds_by_squares(true_places: &[f64], shown: &[f64], within: f64) {
    let expected = (deviation(shown).powi(2) + within * within / 3.0).sqrt();
    let ratio = deviation(true_places) / expected;
    assert!((ratio - 1.0).abs() < 0.05, "{ratio}");
}

#[test]
fn a_stated_accuracy_of_the_meters_is_carried_and_told_beside_the_readings() {
    let plain = with_vacuum();
    let mut stated = plain.clone();
    stated.tachometer_accuracy = Some(Accuracy { share: 0.03, besides: 0.0 });
    stated.gauge_accuracy = Some(Accuracy { share: 0.0, besides: 2.5 });
    let [plain, stated] = [&plain, &stated].map(fitted);
    says(&plain, "Speeds stand as the tachometer showed them: the readings do not state its accuracy");
    says(&plain, "Depressions stand as the gauge showed them: the readings do not state its accuracy");
    let by = stated.by_tachometer.as_ref().unwrap();
    for (at, by) in by.iter().enumerate() {
        // The readings tell what they told, and no less of the meter.
        assert_eq!(by.as_shown, plain.knots[at]);
        assert!((by.within - 0.03 * plain.knots[at].value).abs() < 1e-9);
        assert!(stated.knots[at].low < by.as_shown.low && stated.knots[at].high > by.as_shown.high);
        let speeds = |draws: &[Draw]| draws.iter().map(|draw| draw.ramps.breakpoints()[at][0]).collect::<Vec<_>>();
        adds_by_squares(&speeds(stated.true_draws()), &speeds(&stated.draws), by.within);
    }
    assert_eq!(stated.levels, plain.levels);
    // On the ramp of 16 crank degrees in 1 000 crank rpm, 45 crank rpm are 0.7 crank degrees.
    let [narrow, wide] = [&plain, &stated].map(|fit| fit.band_at(1500.0));
    assert!(wide.high - wide.low > narrow.high - narrow.low + 0.5, "{narrow:?} {wide:?}");
    // What another reading can narrow is as it was.
    assert_eq!(plain.widest_half_band(600.0, 2700.0), stated.widest_half_band(600.0, 2700.0));
    assert_eq!(plain.next_reading(600.0, 2700.0), stated.next_reading(600.0, 2700.0));
    let [VacuumOutcome::Fitted(plain), VacuumOutcome::Fitted(gauged)] = [&plain.vacuum, &stated.vacuum] else {
        panic!("ten readings are enough")
    };
    let by = gauged.by_gauge.unwrap();
    assert!((by[0].within - 2.5).abs() < 1e-9);
    let places = |unit: &VacuumFit| unit.draws.iter().map(VacuumFit::start_of).collect::<Vec<_>>();
    adds_by_squares(&places(gauged), &places(plain), 2.5);
    says(&stated, ": by the readings alone ");
    says(&stated, "and the tachometer may be out by 30)");
    says(&stated, "and the gauge may be out by 2.5)");
}

/// Readings close together, from 600 to 2 700 crank rpm.
fn close_together() -> Vec<f64> {
    (0..61).map(|at| 600.0 + 35.0 * f64::from(at)).collect()
}

/// The ramp of [`survey`], each corner spread over 300 crank rpm to either side, by the mean over that range.
fn rounded(speed: f64) -> f64 {
    let ramp = |speed: f64| 8.0 + ((speed - 1000.0) / 1000.0).clamp(0.0, 1.0) * 16.0;
    (0..600).map(|at| ramp(speed - 299.5 + f64::from(at))).sum::<f64>() / 600.0
}

#[test]
fn a_round_curve_is_said_to_be_round_and_is_held_by_its_band() {
    let found = fitted(&survey(|speed, _| rounded(speed), &close_together()));
    assert!(found.is_rounder(), "{}", found.sharp);
    says(&found, "This curve is rounder than straight lines: the corners are where lines fit best.");
    for speed in (600..=2700).step_by(100).map(f64::from) {
        let band = found.band_at(speed);
        assert!(band.low <= rounded(speed) && rounded(speed) <= band.high, "{speed}: {band:?}, not {}", rounded(speed));
    }
    let straight = fitted(&survey(unchanged, &close_together()));
    assert!(!straight.is_rounder() && straight.sharp > 0.2, "{}", straight.sharp);
    assert!(!sentences(&straight).join(" ").contains("rounder"));
}

#[test]
fn two_misreads_are_both_named() {
    let wrong = |speed: f64, angle: f64| match speed {
        1150.0 => angle + 6.0,
        1950.0 => angle - 7.0,
        _ => angle,
    };
    let found = fitted(&survey(wrong, &SPEEDS));
    let mut lines: Vec<_> =
        [&found.misread, &found.second_misread].into_iter().flatten().filter(|one| one.is_named()).collect();
    lines.sort_by_key(|one| one.reading.line);
    assert_eq!(lines.iter().map(|one| one.reading.crank_rpm).collect::<Vec<_>>(), [1150.0, 1950.0]);
    assert!(found.initial.holds(8.0) && found.knots[1].holds(2000.0) && found.scatter.holds(0.3), "{found:?}");
    says(&found, "Misread, line 7: 16.0 crank degrees at 1 150 crank rpm");
}

#[test]
fn a_scatter_that_nobody_stated_is_learnt() {
    let wide = |speed: f64, angle: f64| angle + 2.0 * (speed / 35.0 * 2.4).sin() * std::f64::consts::SQRT_2;
    let found = fitted(&survey(wide, &close_together()));
    assert!(found.scatter.holds(2.0), "{:?}", found.scatter);
}

#[test]
fn an_end_that_was_not_seen_is_not_called_all_in() {
    let unfinished = sentences(&fitted(&survey(unchanged, &SPEEDS[..13]))).join("\n");
    assert!(!unfinished.contains("All in"), "{unfinished}");
    assert!(unfinished.contains("Up to 1 850 crank rpm, the highest speed read, it has given 1"), "{unfinished}");
    assert!(unfinished.contains("where it is all in was not seen"), "{unfinished}");
    let begun = sentences(&fitted(&survey(unchanged, &SPEEDS[5..]))).join("\n");
    assert!(begun.contains("moves already at 1 150 crank rpm") && !begun.contains("advance starts at"), "{begun}");
}
