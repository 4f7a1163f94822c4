//! Mean, scatter, straight line and Student's t.

use crate::{number, rows};
use bobweight_tool::proof::Summary;
use bobweight_tool::proof::{Factors, LeastSquares};
use nalgebra::{DMatrix, DVector};

/// JCGM 100:2008 (GUM), 4.4.3 and table 1; recomputed with numpy.
#[test]
fn gum_4_4_3_twenty_readings() {
    let readings = [
        96.90, 98.18, 98.25, 98.61, 99.03, 99.49, 99.56, 99.74, 99.89, 100.07, 100.33, 100.42, 100.68, 100.95, 101.11,
        101.20, 101.57, 101.84, 102.36, 102.72,
    ];
    let summary = Summary::of(&readings);
    assert!((summary.mean - 100.145).abs() < 5e-4, "{}", summary.mean);
    assert!((summary.standard_deviation - 1.489).abs() < 5e-4, "{}", summary.standard_deviation);
    assert!((summary.standard_uncertainty() - 0.333).abs() < 5e-4);
}

/// JCGM 100:2008 (GUM), annex H.3, table H.6: temperature in degrees Celsius less 20, correction in degrees Celsius; recomputed
/// with numpy. Half a unit of the last printed digit.
#[test]
fn gum_h_3_calibration_of_a_thermometer() {
    let x = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511];
    let y = [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160];
    let columns = DMatrix::from_fn(11, 2, |i, j| if j == 0 { 1.0 } else { x[i] - 20.0 });
    let even = DVector::from_element(11, 1.0);
    let fit = LeastSquares::fit(&columns, &DVector::from_row_slice(&y), &even).unwrap();
    let s = fit.reduced_chi_square().sqrt();
    let covariance = fit.covariance(&(&even * s));
    let u = covariance.diagonal().map(f64::sqrt);
    let correlation = covariance[(0, 1)] / (u[0] * u[1]);
    for (name, got, printed, last_digit) in [
        ("intercept", fit.estimate[0], -0.1712, 1e-4),
        ("u of the intercept", u[0], 0.0029, 1e-4),
        ("slope", fit.estimate[1], 0.00218, 1e-5),
        ("u of the slope", u[1], 0.00067, 1e-5),
        ("correlation", correlation, -0.930, 1e-3),
        ("s", s, 0.0035, 1e-4),
    ] {
        assert!((got - printed).abs() <= 0.5 * last_digit, "{name}: {got}, printed {printed}");
    }
}

/// Source: `scipy.stats.t.ppf`. The widths of the two guard bands are such quantiles for so many looks and test points.
#[test]
fn guard_bands_are_student_s_quantiles() {
    let mut compared = 0;
    for row in rows(include_str!("../reference/vectors/student_t.csv")) {
        let [probability, freedom, quantile] = [row[0], row[1], row[2]].map(number);
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a whole number")]
        let count = freedom as usize + 1;
        let near = |wanted: f64| (probability - wanted).abs() < 1e-12;
        let got = if near(1.0 - 0.023) {
            Factors::new(count, 1, 1).pass
        } else if near(1.0 - 0.023 / 2.0) {
            Factors::new(count, 2, 1).pass
        } else if near(1.0 - 0.023 / 3.0) {
            Factors::new(count, 3, 78).pass
        } else if near(0.99) {
            Factors::new(count, 1, 1).fail
        } else if near(1.0 - 0.01 / 30.0) {
            Factors::new(count, 3, 10).fail
        } else if near(1.0 - 0.01 / 270.0) {
            Factors::new(count, 3, 90).fail
        } else {
            continue;
        };
        assert!((got / quantile - 1.0).abs() < 1e-6, "t({probability}; {freedom}): {got}, SciPy {quantile}");
        compared += 1;
    }
    assert_eq!(compared, 6 * 14);
}
