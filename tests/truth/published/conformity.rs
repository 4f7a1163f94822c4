//! Deciding on conformity under uncertainty: accept within the tolerance less U, reject beyond the tolerance plus U, undecided
//! between. ISO 14253-1 and JCGM 106:2012 (from memory).

use bobweight_tool::proof::{Conformity, Factors};

const TOLERANCE: f64 = 0.5;
const STANDARD_UNCERTAINTY: f64 = 0.03;
const BOUND: f64 = 0.04;

#[test]
fn accepted_within_rejected_beyond_and_undecided_between() {
    let factors = Factors { pass: 2.0, fail: 2.0 };
    let expanded = 2.0 * STANDARD_UNCERTAINTY + BOUND;
    for step in -200..=200 {
        let error = f64::from(step) * 0.005 + 0.0001;
        let rule = if error.abs() <= TOLERANCE - expanded {
            Conformity::Within
        } else if error.abs() > TOLERANCE + expanded {
            Conformity::Beyond
        } else {
            Conformity::Open
        };
        let got = factors.conformity(error, STANDARD_UNCERTAINTY, BOUND, TOLERANCE);
        assert_eq!(got, rule, "error {error}");
    }
}

#[test]
fn an_uncertainty_as_wide_as_the_tolerance_accepts_nothing() {
    let factors = Factors { pass: 2.0, fail: 2.0 };
    assert_eq!(factors.conformity(0.0, 0.3, 0.0, TOLERANCE), Conformity::Open);
    assert_eq!(factors.conformity(0.0, 0.0, 0.6, TOLERANCE), Conformity::Open);
}
