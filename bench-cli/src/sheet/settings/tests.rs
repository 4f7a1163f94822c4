mod reluctor;
mod v8;

use super::*;
use crate::sheet::parse;
use crate::sheet::tests::demo_text;
use bobweight::Phase;

fn settings_with(from: &str, to: &str) -> Result<Settings, SheetError> {
    assert!(demo_text().contains(from), "the demo does not have {from}");
    Settings::from_sheet(&parse("fire-float.toml", &demo_text().replacen(from, to, 1))?)
}

#[track_caller]
fn refused(from: &str, to: &str, key: &str, says: &str) {
    let error = settings_with(from, to).expect_err("a refusal");
    assert_eq!(error.key(), Some(key), "{error}");
    assert!(error.to_string().contains(says), "{error}");
    let name = format!("{} =", key.rsplit('.').next().unwrap_or_default());
    let text = demo_text().replacen(from, to, 1);
    if let Some(line) = text.lines().position(|line| line.starts_with(&name)) {
        assert_eq!(error.line(), Some(line + 1), "{error}");
    }
}

/// The wanted sums are plain arithmetic: initial + centrifugal + vacuum, each linear between its breakpoints.
#[test]
fn the_demo_gives_the_advance_of_its_breakpoints() {
    let settings = settings_with("cylinders", "cylinders").unwrap_or_else(|error| panic!("{error:?}"));
    let total = |phase, crank_rpm: f64, kpa: Option<f64>| {
        let depression = kpa.map(|kpa| Depression::from_bits(unsigned(kpa, Depression::STEP)).expect("in range"));
        let speed = rpm(crank_rpm).expect("in range");
        let found = settings.model.advance(phase, speed, depression, false).expect("a spark");
        f64::from(found.total.bits()) / f64::from(Advance::STEP)
    };
    let half_way_kpa = 8.5 * crate::quantity::units::KPA_PER_INHG;
    for (phase, crank_rpm, kpa, wanted) in [
        (Phase::Running, 650.0, None, 8.0),
        (Phase::Running, 1300.0, None, 14.0),
        (Phase::Running, 2500.0, None, 24.0),
        (Phase::Running, 4600.0, None, 28.0),
        (Phase::Running, 4600.0, Some(half_way_kpa), 33.0),
        (Phase::Running, 4600.0, Some(60.0), 38.0),
        (Phase::Cranking, 200.0, Some(60.0), 8.0),
        (Phase::Held, 2500.0, Some(60.0), 8.0),
    ] {
        let got = total(phase, crank_rpm, kpa);
        assert!((got - wanted).abs() < 0.001, "{phase:?} {crank_rpm} {kpa:?}: {got}, not {wanted}");
    }
    assert!(settings.model.judge().hold());
    assert_eq!(settings.firmware.tick_rate.bits(), 2_000_000);
    assert_eq!(settings.firmware.latency.bits(), 100_000);
    assert_eq!(settings.dwell.settings().largest.bits(), 10_000_000);
    assert_eq!(settings.pickup.settings().pulses_in_two_turns, 4);
}

#[test]
fn an_engine_without_vacuum_advance_needs_no_vacuum_curve() {
    let none = demo_text()
        .replace("source = \"manifold\"", "source = \"none\"")
        .replace("unit = [\"inHg depression\", \"crank degrees\"]\nbreakpoints = [[5, 0], [12, 10]]\n", "");
    let model = model(&parse("sheet.toml", &none).unwrap_or_else(|error| panic!("{error:?}")));
    assert!(model.unwrap_or_else(|error| panic!("{error:?}")).settings().vacuum.is_none());
}

#[test]
fn what_the_core_refuses_is_refused_at_its_line() {
    refused("[[900, 0], [1700, 12]", "[[900, 0], [910, 12]", "centrifugal.breakpoints", "one crank degree a crank rpm");
    refused("\"60 crank degrees BTDC\"", "\"39 crank degrees BTDC\"", "pickup.angle", "at least 39.98");
    refused("\"60 crank degrees BTDC\"", "\"189 crank degrees BTDC\"", "pickup.second_flank_angle", "within one pulse");
    refused("tick = \"0.5 us\"", "tick = \"500 us\"", "ignition.tick", "half a crank degree");
    refused("\"60 crank degrees BTDC\"", "\"170 crank degrees BTDC\"", "pickup.angle", "still burns");
    refused("pulse_spread = \"0.5", "pulse_spread = \"23", "pickup.pulse_spread", "an eighth of a pulse");
}

#[test]
fn a_sheet_that_waits_for_a_key_names_it() {
    refused("lag = \"0 us\"\n", "# lag =\n", "pickup.lag", "is missing");
    refused("held = \"8 crank degrees\" ", "#", "advance.held", "is missing");
    refused("old_advance = \"locked\" ", "#", "distributor.old_advance", "is missing");
    refused("supply = \"12 V negative earth\" ", "#", "engine.supply", "is missing");
}

#[test]
fn limits_that_the_sum_breaks_make_a_model_that_says_so() {
    let settings = settings_with("greatest = \"42", "greatest = \"37").unwrap_or_else(|error| panic!("{error:?}"));
    assert!(!settings.model.judge().hold());
}
