//! Published facts of altitude against the standard atmosphere that `check` counts a climb by.
//!
//! Sources: U.S. Standard Atmosphere 1976 (tables for the sea level, 5 000 and 10 000 ft); U.S. Army TM 9-4910-677-14&P, vacuum
//! gauge tests. The pounds and inches are those of NIST SP 811 (2008), appendix B.8 (from memory; `pint` agrees).

use bobweight_tool::quantity::{KPA_PER_INHG, KPA_PER_PSI};
use bobweight_tool::quantity::{geopotential_m, pressure_kpa};

/// Exact, by definition.
const METRES_PER_FOOT: f64 = 0.3048;

fn psi_at_feet(geopotential_ft: f64) -> f64 {
    pressure_kpa(geopotential_ft * METRES_PER_FOOT) / KPA_PER_PSI
}

/// Source: U.S. Standard Atmosphere 1976, to half of the last digit printed.
#[test]
fn standard_pressure_at_geopotential_heights() {
    for (feet, psi, half_a_digit) in [(0.0, 14.696, 0.0005), (5_000.0, 12.228, 0.0005), (10_000.0, 10.1065, 0.00005)] {
        let found = psi_at_feet(feet);
        assert!((found - psi).abs() <= half_a_digit, "{found} psi at {feet} ft, {psi} printed");
    }
}

/// Source: U.S. Standard Atmosphere 1976: 10.108 psi at 10 000 ft geometric, 10.1065 at as much geopotential.
#[test]
fn a_height_above_the_sea_is_less_in_geopotential() {
    let geometric = 10_000.0 * METRES_PER_FOOT;
    let found = pressure_kpa(geopotential_m(geometric)) / KPA_PER_PSI;
    assert!((found - 10.108).abs() <= 0.0005, "{found} psi at 10 000 ft above the sea");
    assert!((geometric - geopotential_m(geometric) - 1.46).abs() < 0.01, "H = r h / (r + h), r = 6 356 766 m");
    assert_eq!(geopotential_m(0.0).to_bits(), 0.0_f64.to_bits());
}

/// Source: U.S. Standard Atmosphere 1976, recomputed in `tests/truth/reference/atmosphere.py`.
#[test]
fn false_depression_at_full_throttle_at_2000_m() {
    let false_depression = pressure_kpa(0.0) - pressure_kpa(2_000.0);
    assert!((false_depression - 21.8).abs() <= 0.05, "{false_depression} kPa");
}

/// Source: U.S. Army TM 9-4910-677-14&P: one inch of mercury less for each 1 000 ft. The standard atmosphere agrees to 0.1 at
/// 1 000 ft, and gives 5.0 at 5 000 and 9.3 at 10 000.
#[test]
fn a_vacuum_gauge_shows_less_with_elevation() {
    for (feet, inches, within) in [(1_000.0, 1.0, 0.1), (5_000.0, 5.0, 0.05), (10_000.0, 9.3, 0.05)] {
        let less = (pressure_kpa(0.0) - pressure_kpa(feet * METRES_PER_FOOT)) / KPA_PER_INHG;
        assert!((less - inches).abs() <= within, "{less} inHg less at {feet} ft, {inches} by the manual");
    }
}

/// Source: U.S. Standard Atmosphere 1976 as recomputed by `tests/truth/reference/atmosphere.py`, which `ambiance` agrees with.
#[test]
fn every_recomputed_pressure_is_reached() {
    let rows = include_str!("../reference/vectors/atmosphere.csv");
    let mut compared = 0;
    for row in rows.lines().skip(1) {
        let numbers: Vec<f64> = row.split(',').map(|number| number.parse().expect("a number")).collect();
        let [height, kpa] = numbers.as_slice() else { panic!("{row}") };
        let found = pressure_kpa(*height);
        assert!((found - kpa).abs() <= 1e-9 * kpa, "{found} kPa at {height} m, {kpa} recomputed");
        compared += 1;
    }
    assert!(compared >= 13, "{compared} rows");
}
