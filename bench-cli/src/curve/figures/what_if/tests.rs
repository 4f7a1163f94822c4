use super::*;
use crate::sheet::tests::demo_text;
use crate::sheet::{model, parse};

#[test]
fn a_vacuum_unit_is_read_and_a_slip_is_told() {
    let unit: VacuumUnit = "15 crank degrees, 8..14 inHg depression".parse().expect("a unit");
    let ((start, nothing), (full, greatest)) = (unit.curve.breakpoint(0), unit.curve.breakpoint(1));
    assert!((kpa_of(start) - 8.0 * 3.386_389).abs() < 1e-3 && (kpa_of(full) - 14.0 * 3.386_389).abs() < 1e-3);
    assert!(crank_degrees(nothing).abs() < 1e-9 && (crank_degrees(greatest) - 15.0).abs() < 1e-9);
    for (wrong, says) in [
        ("15 crank degrees, 8..14 inHg", "neither depression nor absolute"),
        ("15 degrees, 8..14 inHg depression", "neither crank nor distributor"),
        ("15 crank degrees, 8..140 inHg depression", "right unit"),
        ("15 crank degrees", "8..14 inHg depression"),
        ("95 crank degrees, 8..14 inHg depression", "outside -30 to 90"),
    ] {
        let error = wrong.parse::<VacuumUnit>().expect_err(wrong);
        assert!(error.contains(says), "{wrong}: {error}");
    }
}

/// Source: U.S. Standard Atmosphere 1976 (recomputed): at 2 000 m the air is thinner by 21.8 kPa.
#[test]
fn in_thin_air_a_unit_sees_less_and_a_constant_atmosphere_too_much() {
    let text = demo_text();
    let place = |text: &str| Place::of(&parse("fire-float.toml", text).expect("a sheet").sensor, 2_000.0);
    let keyed = place(text);
    assert!((keyed.fall_kpa - 21.8).abs() < 0.05, "{}", keyed.fall_kpa);
    assert!((kpa_of(keyed.seen(depression(50.0))) - 28.2).abs() < 0.05);
    assert_eq!(keyed.seen(depression(10.0)), Depression::MIN);
    let constant = place(&text.replacen("\"read at key-on\"", "\"101.325 kPa absolute\"", 1));
    assert!((kpa_of(constant.seen(depression(0.0))) - 21.8).abs() < 0.05, "full throttle looks like vacuum");
    assert!((kpa_of(constant.seen(depression(50.0))) - 50.0).abs() < 0.01);
}

#[test]
fn a_unit_for_an_engine_without_vacuum_advance_is_refused_at_its_key() {
    let text = demo_text().replacen("source = \"manifold\"", "source = \"none\"", 1).replacen(
        "breakpoints = [[5, 0], [12, 10]]",
        "",
        1,
    );
    let sheet = parse("fire-float.toml", &text).expect("a sheet");
    let model = model(&sheet).expect("a model");
    let unit = "15 crank degrees, 8..14 inHg depression".parse().ok();
    let error = change(&sheet, &model, &[], &Changes { vacuum_unit: unit, ..Changes::default() }).expect_err("no hose");
    assert_eq!(error.key(), Some("vacuum.source"));
}
