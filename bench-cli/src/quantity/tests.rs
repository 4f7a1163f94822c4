use super::*;
use crate::quantity::units::KPA_PER_INHG;

#[track_caller]
fn reads(dimension: &'static Dimension, text: &str, wanted: f64) {
    let got = parse(dimension, text).unwrap_or_else(|error| panic!("{text}: {error}"));
    assert!((got - wanted).abs() <= 1e-12 * wanted.abs(), "{text}: {got}, not {wanted}");
}

#[track_caller]
fn refuses(error: Result<f64, QuantityError>, message: &str, help: &str) {
    let error = error.expect_err("a refusal");
    assert_eq!(error.to_string(), message);
    assert_eq!(error.help(), help);
}

#[test]
fn every_dimension_reads_its_units() {
    reads(&SPEED, "650 crank rpm", 650.0);
    reads(&ANGLE, "8 crank degrees", 8.0);
    reads(&ANGLE, "1 crank degree", 1.0);
    reads(&ANGLE, "-2.5 crank degrees", -2.5);
    reads(&POSITION, "60 crank degrees BTDC", 60.0);
    reads(&POSITION, "5 crank degrees ATDC", -5.0);
    reads(&ACCELERATION, "6000 crank rpm per s", 6000.0);
    reads(&SPEED, "3 300 crank rpm", 3300.0);
    reads(&ACCELERATION, "1 006 000 crank rpm per s", 1_006_000.0);
    assert_eq!(bare_or_with_unit(" 3 300 ", "crank rpm"), "3300 crank rpm");
    assert!(parse(&SPEED, "3 30 crank rpm").is_err() && parse(&SPEED, "3300 000 crank rpm").is_err());
    reads(&ANGLE_RATE, "30 crank degrees per s", 30.0);
    reads(&TIME, "100 us", 1e-4);
    reads(&TIME, "100 \u{b5}s", 1e-4);
    reads(&TIME, "100\u{3bc}s", 1e-4);
    reads(&TIME, "10 ms", 0.01);
    reads(&SHARE, "0.5 %", 0.005);
    reads(&SHARE, "0.5%", 0.005);
    reads(&RESISTANCE, "1.2 ohm", 1.2);
    reads(&INDUCTANCE, "6 mH", 0.006);
    reads(&CURRENT, "5 A", 5.0);
    reads(&ENERGY, "30 mJ", 0.03);
    reads(&ENERGY, "0.05 J", 0.05);
    reads(&VOLTAGE, "0.3 V", 0.3);
    reads(&HEIGHT, "600 m", 600.0);
    reads(&SPEED, "  6.5e2   crank \t rpm ", 650.0);
}

/// Source: U.S. Army TM 10-3930-644-14&P, distributor driven at one-half engine crankshaft speed.
#[test]
fn the_distributor_turns_once_for_two_turns_of_the_crank() {
    reads(&SPEED, "325 distributor rpm", 650.0);
    reads(&ANGLE, "4 distributor degrees", 8.0);
    reads(&POSITION, "30 distributor degrees BTDC", 60.0);
    reads(&ACCELERATION, "3000 distributor rpm per s", 6000.0);
    reads(&ANGLE_RATE, "15 distributor degrees per s", 30.0);
    assert_eq!(column_unit(&SPEED, "distributor rpm"), Ok(2.0));
    assert_eq!(column_unit(&ANGLE, "crank degrees"), Ok(1.0));
}

/// Source: NIST SP 811 (2008), appendix B.8 (typed from memory), for inHg, mmHg and psi; the bar is exact.
#[test]
fn pressures_say_their_side_of_the_atmosphere() {
    for (text, kpa) in [
        ("47 kPa depression", 47.0),
        ("6 inHg depression", 20.318_334),
        ("100 mmHg depression", 13.332_24),
        ("200 mbar depression", 20.0),
        ("3 psi depression", 20.684_271),
    ] {
        match parse_pressure(text) {
            Ok(Pressure::Depression(got)) => {
                assert!((got - kpa).abs() < 1e-9, "{text}: {got}, not {kpa}");
            }
            other => panic!("{text}: {other:?}"),
        }
    }
    assert_eq!(parse_pressure("54 kPa absolute"), Ok(Pressure::Absolute(54.0)));
    assert!((Pressure::Absolute(54.0).depression_kpa(STANDARD_ATMOSPHERE_KPA) - 47.325).abs() < 1e-9);
    let column = column_pressure_unit("inHg depression").unwrap();
    assert!(!column.is_absolute());
    assert_eq!(column.of(6.0), Pressure::Depression(6.0 * KPA_PER_INHG));
}

#[test]
fn a_bare_pressure_is_refused_with_the_two_ways_to_say_it() {
    let refuses = |text: &str, message: &str, ways: [&str; 2]| {
        let error = parse_pressure(text).expect_err("a refusal");
        assert_eq!(error.to_string(), message);
        for way in ways {
            assert!(error.help().contains(&format!("`{way}`")), "{text}: {}", error.help());
        }
    };
    refuses("47 kPa", "`kPa` says neither depression nor absolute", ["47 kPa depression", "54 kPa absolute"]);
    refuses("6 inHg", "`inHg` says neither depression nor absolute", ["6 inHg depression", "24 inHg absolute"]);
    refuses("6 in", "`in` says neither depression nor absolute", ["6 inHg depression", "24 inHg absolute"]);
    refuses(
        "6 in depression",
        "`in depression` says neither depression nor absolute",
        ["6 inHg depression", "24 inHg absolute"],
    );
}

#[test]
fn a_speed_or_an_angle_says_its_shaft() {
    refuses(
        parse(&SPEED, "650 rpm"),
        "`rpm` says neither crank nor distributor",
        "write `650 crank rpm` or `650 distributor rpm`; the distributor turns once for two turns of the crank",
    );
    refuses(
        parse(&POSITION, "60 degrees BTDC"),
        "`degrees BTDC` says neither crank nor distributor",
        "write `60 crank degrees BTDC` or `60 distributor degrees BTDC`; the distributor turns once for two turns of the \
         crank",
    );
    refuses(
        column_unit(&SPEED, "rpm"),
        "`rpm` says neither crank nor distributor",
        "write `crank rpm` or `distributor rpm`; the distributor turns once for two turns of the crank",
    );
}

#[test]
fn each_wrong_text_has_a_message_and_a_remedy_of_its_own() {
    let cases = [
        ("", "a speed is missing"),
        ("   ", "a speed is missing"),
        ("fast", "`fast` does not begin with a number"),
        ("- crank rpm", "`- crank rpm` does not begin with a number"),
        ("NaN crank rpm", "`NaN crank rpm` is not a number"),
        ("inf crank rpm", "`inf crank rpm` is without end"),
        ("-inf crank rpm", "`-inf crank rpm` is without end"),
        ("1e999 crank rpm", "`1e999 crank rpm` is without end"),
        ("-650 crank rpm", "`-650 crank rpm` is below zero"),
        ("650,5 crank rpm", "`650,5 crank rpm` has a decimal comma"),
        ("650", "`650` has no unit"),
        ("650 us", "`us` is no unit of a speed"),
        ("650 crank rpm now", "`crank rpm now` is no unit of a speed"),
    ];
    let mut helps = std::collections::BTreeMap::new();
    for (text, message) in cases {
        let error = parse(&SPEED, text).expect_err(text);
        assert_eq!(error.to_string(), message, "{text:?}");
        // The figures of a case are part of its remedy; the class is the message without them.
        let class = std::mem::discriminant(&error);
        if let Some(other) = helps.insert(error.help(), class) {
            assert_eq!(other, class, "two classes of error share the remedy of {text:?}");
        }
    }
}

/// Source: NIST SP 811 (2008), appendix B.8, from memory: the inch is 25.4 mm exactly, a cubic inch 1.638 706 E-05 m3.
#[test]
fn a_displacement_is_read_in_litres() {
    let litres = |text: &str| parse(&DISPLACEMENT, text).unwrap_or_else(|error| panic!("{text}: {error}"));
    assert!((litres("1 cubic in") - 1.638_706e-2).abs() < 5e-9);
    assert!((litres("1 cubic in") - 25.4_f64.powi(3) * 1e-6).abs() < 1e-15);
    assert!((litres("2200 cm3") - litres("2.2 l")).abs() < 1e-12);
}

#[test]
fn a_supply_is_its_volts_and_its_earthed_pole() {
    let supply = |volts, positive_earth| Ok(Supply { volts, positive_earth });
    assert_eq!(parse_supply("12 V  negative earth"), Ok(DRIVEN));
    for (volts, written) in [(6.0, "6"), (12.0, "12"), (24.0, "24")] {
        assert_eq!(parse_supply(&format!("{written} V negative earth")), supply(volts, false));
        assert_eq!(parse_supply(&format!("{written} V positive earth")), supply(volts, true));
    }
    for text in ["12 V", "12 V earth", "36 V negative earth", "positive earth", "12 negative earth", ""] {
        assert!(matches!(parse_supply(text), Err(QuantityError::Supply { .. })), "{text}");
    }
}
