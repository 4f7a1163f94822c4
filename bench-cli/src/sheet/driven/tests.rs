use crate::sheet::tests::demo_text;
use crate::sheet::{Settings, SheetError, model, parse};

fn settings(supply: &str, intervals: &str) -> Result<Settings, SheetError> {
    let text = demo_text().replacen("12 V negative earth", supply, 1).replacen(
        "cylinders = 4\n",
        &format!("cylinders = 4\n{intervals}"),
        1,
    );
    let sheet = parse("sheet.toml", &text).unwrap_or_else(|error| panic!("{supply}, {intervals}: {error}"));
    model(&sheet).unwrap_or_else(|error| panic!("the curve needs no driver: {error}"));
    Settings::from_sheet(&sheet)
}

fn intervals(crank_degrees: [f64; 4]) -> String {
    let each = crank_degrees.map(|interval| format!("\"{interval} crank degrees\""));
    format!("firing_intervals = [{}]\n", each.join(", "))
}

#[test]
fn every_other_supply_is_read_and_not_driven() {
    assert!(settings("12 V negative earth", "").is_ok());
    for other in [
        "6 V negative earth",
        "6 V positive earth",
        "12 V positive earth",
        "24 V negative earth",
        "24 V positive earth",
    ] {
        let refused = settings(other, "").expect_err(other);
        assert!(refused.is_not_driven() && !refused.is_missing_key(), "{other}");
        assert_eq!((refused.key(), refused.line()), (Some("engine.supply"), Some(17)), "{other}");
        assert!(refused.to_string().contains(other), "{refused}");
    }
}

#[test]
fn uneven_intervals_are_read_and_not_driven_and_even_ones_are() {
    let refused = settings("12 V negative earth", &intervals([150.0, 210.0, 150.0, 210.0])).expect_err("uneven");
    assert!(refused.is_not_driven());
    assert_eq!(refused.key(), Some("engine.firing_intervals"));
    // Even to a tenth of a crank degree is even.
    assert!(settings("12 V negative earth", &intervals([180.0; 4])).is_ok());
    assert!(settings("12 V negative earth", &intervals([180.05, 179.95, 180.0, 180.0])).is_ok());
    assert!(settings("12 V negative earth", &intervals([180.2, 179.8, 180.0, 180.0])).is_err());
}

/// Results that were made before know a sheet by its digest.
#[test]
fn a_sheet_of_the_driven_supply_has_the_digest_that_it_always_had() {
    let sheet = parse("fire-float.toml", include_str!("../../../demo/fire-float.toml")).expect("the demo");
    let said = serde_json::to_value(&sheet.engine).expect("values");
    assert_eq!(said["supply_volts"], serde_json::json!(12.0));
    assert!(said.get("supply_positive_earth").is_none());
    let positive = parse("p.toml", &demo_text().replacen("12 V negative", "12 V positive", 1)).expect("a sheet");
    let six = parse("s.toml", &demo_text().replacen("12 V negative", "6 V negative", 1)).expect("a sheet");
    let plain = parse("d.toml", demo_text()).expect("a sheet");
    assert_ne!(positive.digest(), plain.digest());
    assert_ne!(six.digest(), plain.digest());
}
