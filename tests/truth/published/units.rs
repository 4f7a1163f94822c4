//! Units of pressure, and the distributor's half speed.

use crate::{number, rows};
use bobweight_tool::distributor::readings;
use bobweight_tool::quantity::{ANGLE, SPEED, STANDARD_ATMOSPHERE_KPA, parse, parse_pressure};

/// NIST SP 811 (2008), appendix B.8 (from memory): conventional inch and millimetre of mercury, pound-force per square inch.
const SP_811: [(&str, f64); 3] = [("inHg", 3.386_389), ("mmHg", 0.133_322_4), ("psi", 6.894_757)];

fn kpa(text: &str) -> f64 {
    parse_pressure(text).unwrap_or_else(|error| panic!("{text}: {error}")).depression_kpa(STANDARD_ATMOSPHERE_KPA)
}

#[test]
fn one_of_each_unit() {
    for (unit, expected) in SP_811 {
        assert!((kpa(&format!("1 {unit} depression")) - expected).abs() < 1e-9, "{unit}");
        let column = format!("hose,speed_was,crank_rpm,crank_degrees,vacuum_{unit}\non,steady,1500,26,1\n");
        let read = readings::parse("readings.csv", column.as_bytes()).unwrap();
        assert!((read.readings[0].depression_kpa.unwrap() - expected).abs() < 1e-9, "column vacuum_{unit}");
    }
}

/// Source: the Python library pint. Seven printed digits leave up to 2 parts in 10 000 000 between the two.
#[test]
fn pressures_agree_with_pint() {
    let mut count = 0;
    for row in rows(include_str!("../reference/vectors/units.csv")) {
        let (unit, value, expected) = (row[0], row[1], number(row[2]));
        let got = kpa(&format!("{value} {unit} depression"));
        assert!((got - expected).abs() <= 2e-7 * expected, "{value} {unit}: {got}, pint {expected}");
        count += 1;
    }
    assert_eq!(count, 60);
}

/// U.S. Standard Atmosphere 1976: 101.325 kPa at sea level, tabled as 14.696 psi (recomputed).
#[test]
fn an_absolute_pressure_is_counted_from_the_standard_atmosphere() {
    assert!(
        (parse_pressure("14.696 psi absolute").unwrap().depression_kpa(STANDARD_ATMOSPHERE_KPA)).abs() < 5e-4 * 6.9
    );
}

/// U.S. Army TM 10-3930-644-14&P: the distributor is driven at one-half engine crankshaft speed.
#[test]
fn crank_figures_are_twice_the_distributor_s() {
    assert_eq!(parse(&SPEED, "750 distributor rpm"), parse(&SPEED, "1500 crank rpm"));
    assert_eq!(parse(&ANGLE, "6.5 distributor degrees"), parse(&ANGLE, "13 crank degrees"));
    let columns = "hose,speed_was,distributor_rpm,distributor_degrees\noff,steady,750,6.5\n";
    let reading = &readings::parse("readings.csv", columns.as_bytes()).unwrap().readings[0];
    assert_eq!((reading.crank_rpm, reading.crank_degrees), (1500.0, 13.0));
}
