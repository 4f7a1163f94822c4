use super::*;
use crate::curve::circuit::Circuit;
use crate::record::figures::Section;
use crate::sheet::parse;
use crate::sheet::tests::demo_text;

/// Source: the circuit's equation, solved by `SciPy` in `tests/truth/reference/coil.py`.
#[test]
fn dwell_and_current_agree_with_an_independent_solution() {
    let mut count = 0;
    for row in include_str!("../../../../../tests/truth/reference/vectors/coil.csv").lines().skip(1) {
        let cells: Vec<&str> = row.split(',').collect();
        let number = |at: usize| cells[at].parse::<f64>().expect("a number");
        let circuit =
            Circuit { inductance_h: number(0) * 1e-3, resistance_ohm: number(1), driver_drop_volts: number(3) };
        let dwell = circuit.dwell_s(number(4), number(2));
        if cells[5] == "never" {
            assert_eq!(dwell, None, "{row}");
        } else {
            let dwell = dwell.expect("it is reached");
            assert!((dwell * 1e3 - number(5)).abs() < 1e-9, "{row}: {dwell}");
            assert!((circuit.current_a(number(4), dwell) - number(2)).abs() < 1e-9, "{row}");
        }
        count += 1;
    }
    assert!(count > 20, "{count}");
}

/// Source: arithmetic. With four pulses in two turns a period is 30 / N seconds; a duty of 70 % leaves a dwell of 0.7 x 30 / N.
#[test]
fn the_largest_duty_cuts_a_dwell_short_where_arithmetic_says() {
    let sheet = parse("fire-float.toml", demo_text()).expect("the demo");
    let coil = figures(&sheet, Battery::from(DRIVEN)).expect("a coil");
    let Section::Known(cuts) = coil.cut_short else { panic!("{:?}", coil.cut_short) };
    let at = |volts: f64| cuts.iter().find(|cut| (cut.volts - volts).abs() < 1e-9).expect("a row");
    for (volts, dwell_ms) in [(10.0, 5.5), (11.0, 4.7)] {
        let from = at(volts).from_crank_rpm.expect("it is cut short");
        assert!((from - 0.7 * 30.0 / (dwell_ms * 1e-3)).abs() < 5.0, "{volts} V: {from}");
        assert!((at(volts).shortest_ms - 0.7 * 30.0 / 4600.0 * 1e3).abs() < 0.01);
    }
    assert_eq!(at(14.0).from_crank_rpm, None);
}

#[test]
fn the_proposed_table_reaches_the_current_and_never_passes_the_largest_dwell() {
    let sheet = parse("fire-float.toml", demo_text()).expect("the demo");
    let circuit = Circuit { resistance_ohm: 1.2, inductance_h: 6e-3, driver_drop_volts: 1.0 };
    let table = needed_table(&sheet, Battery::from(DRIVEN)).expect("a table");
    assert_eq!(table.len(), 11);
    for point in table {
        assert!(point.dwell_s <= 0.01 + 1e-12);
        let current = circuit.current_a(point.volts, point.dwell_s);
        assert!(if point.volts >= 8.0 { (current - 5.0).abs() < 0.02 } else { current < 5.0 }, "{point:?} {current}");
    }
}

#[test]
fn a_current_that_is_reached_nowhere_is_refused_with_what_could_be() {
    let text = demo_text().replacen("current = \"5 A\"", "current = \"20 A\"", 1);
    let error = figures(&parse("fire-float.toml", &text).expect("a sheet"), Battery::from(DRIVEN)).expect_err("20 A");
    assert_eq!(error.key(), Some("coil.current"));
    assert!(crate::curve::figures::in_words(&error).contains("12.50 A"), "{}", crate::curve::figures::in_words(&error));
}

#[test]
fn a_battery_is_a_range_of_volts() {
    assert_eq!("8..15 V".parse(), Ok(Battery { from: 8.0, to: 15.0 }));
    for wrong in ["8", "8..15", "15..8 V", "2..9 V", "a..b V"] {
        assert!(wrong.parse::<Battery>().is_err(), "{wrong}");
    }
}
