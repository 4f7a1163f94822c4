use super::*;
use crate::sheet::tests::demo_text;
use crate::sheet::{Form, Presumed, Settings, Start, begun, parse};
use std::collections::BTreeSet;

fn new() -> String {
    begun("engine.toml", None, "an engine", Start::Numbers).expect("a sheet")
}

fn with(text: &str, answers: &[(&str, &str)]) -> String {
    answers.iter().fold(text.to_owned(), |text, (key, typed)| {
        let guide = crate::sheet::guide(key).expect("a guide");
        answered("engine.toml", &text, guide, typed).unwrap_or_else(|why| panic!("{key}: {typed}: {why}")).text
    })
}

/// Engines of every count of cylinders that is driven; the figures are invented.
fn engine(cylinders: u32, greatest_speed: u32) -> String {
    let [cylinders, speed] = [cylinders.to_string(), greatest_speed.to_string()];
    with(
        &new(),
        &[
            ("advance.initial", "10"),
            ("centrifugal.breakpoints", "22 crank degrees by 3000 crank rpm"),
            ("vacuum.breakpoints", "12 crank degrees"),
            ("vacuum.source", "manifold"),
            ("engine.cylinders", &cylinders),
            ("engine.supply", "12 V negative earth"),
            ("engine.idle", "700"),
            ("engine.greatest_speed", &speed),
            ("limits.greatest", "50"),
            ("limits.greatest_without_vacuum", "36"),
            ("limits.greatest_cranking", "12"),
            ("limits.least", "0"),
        ],
    )
}

#[test]
fn what_is_assumed_can_be_timed_whatever_the_engine() {
    for cylinders in [1, 2, 3, 4, 5, 6, 8, 10, 12] {
        // So many sparks that the coil has no time for them are refused, whatever is assumed.
        for speed in [2500, 4500, 6000].into_iter().filter(|speed| cylinders * speed <= 48_000) {
            let whole = all_presumed("engine.toml", &engine(cylinders, speed))
                .unwrap_or_else(|why| panic!("{cylinders}, {speed}: {why}"));
            let sheet = parse("engine.toml", &whole).expect("a sheet");
            Settings::from_sheet(&sheet).unwrap_or_else(|error| panic!("{cylinders}, {speed}: {error:?}"));
            assert_eq!((open(&sheet, Stage::Bench), wanted(&sheet, Stage::Bench).map(|guide| guide.key)), (0, None));
            assert_eq!(assumed(&sheet).len(), sheet.assumptions().len());
        }
    }
}

#[test]
fn every_guide_has_its_question_and_no_limit_has_an_assumption() {
    let mut keys = BTreeSet::new();
    for guide in &GUIDES {
        assert!(keys.insert(guide.key), "{} twice", guide.key);
        assert_ne!(crate::sheet::question_of(guide.key), guide.key, "the new sheet asks for it");
        assert!(!guide.why.is_empty() && !guide.how.is_empty(), "{}", guide.key);
        let sourced = ["no source", "U.S. Army TM", "reckoned from the rules", "one for each cylinder"];
        assert!(guide.usual.is_empty() || sourced.iter().any(|source| guide.usual.contains(source)), "{}", guide.usual);
        if guide.key.starts_with("limits.") {
            assert!(matches!(guide.presumed, Presumed::Nothing(_)), "{}", guide.key);
        }
        // What is assumed is itself nothing that would be asked back.
        if let (Presumed::Value(value, _), Form::Quantity(_)) = (guide.presumed, guide.form) {
            assert_eq!(doubt(guide, value), None, "{}", guide.key);
        }
    }
}

#[test]
fn an_answer_in_another_unit_counts_and_one_that_could_be_read_twice_is_refused() {
    let guide = |key| crate::sheet::guide(key).expect("a guide");
    let text = with(
        &new(),
        &[("engine.idle", "325 distributor rpm"), ("vacuum.breakpoints", "6 distributor degrees, 5..12 inHg")],
    );
    let sheet = parse("", &text).expect("a sheet");
    // A distributor turns once in two turns of the crank (U.S. Army TM 10-3930-644-14&P).
    assert_eq!(sheet.engine.idle_crank_rpm.value(), Some(&650.0));
    let vacuum = sheet.vacuum.breakpoints.value().expect("a curve");
    assert!(
        (vacuum[1].crank_degrees - 12.0).abs() < 0.01 && (vacuum[1].depression_kpa - 12.0 * 3.386_389).abs() < 0.05,
        "{vacuum:?}"
    );
    assert!(text.contains("unit = [\"inHg depression\", \"crank degrees\"]"), "inHg stays inHg: {text}");
    for (key, typed, what) in [
        ("advance.initial", "8 degrees", "neither crank nor distributor"),
        ("centrifugal.breakpoints", "22 by 3000", ""),
        ("centrifugal.breakpoints", "0 at 450, 10 at 1650", "crank or of the distributor"),
        ("vacuum.breakpoints", "0 at 5, 10 at 12, crank", "measured in"),
        ("engine.cylinders", "four", "no whole number"),
        ("engine.cylinders", "40", "from 1 to"),
        ("engine.supply", "12 V", ""),
        ("pickup.kind", "hall", "write"),
        ("limits.least", "", "type an answer"),
        ("engine.idle", "0,7", "decimal comma"),
    ] {
        let wrong = answered("engine.toml", &new(), guide(key), typed).expect_err(typed);
        assert!(wrong.contains(what) && !wrong.is_empty(), "{key}: {typed}: {wrong}");
    }
    // A rule between two keys is told at once.
    let idle = with(&new(), &[("engine.idle", "700")]);
    let wrong = answered("engine.toml", &idle, guide("engine.greatest_speed"), "600").expect_err("below idle");
    assert!(wrong.contains("engine.idle") && wrong.contains("not below"), "{wrong}");
}

#[test]
fn no_unit_and_a_unit_after_all() {
    let none = with(
        &new(),
        &[("vacuum.breakpoints", "12 crank degrees"), ("vacuum.source", "ported"), ("vacuum.breakpoints", "none")],
    );
    let sheet = parse("", &none).expect("a sheet");
    assert!(sheet.vacuum.breakpoints.value().is_none() && sheet.assumptions().is_empty(), "{none}");
    let after_all = with(&none, &[("vacuum.breakpoints", "12 crank degrees, 5..12 inHg depression")]);
    let sheet = parse("", &after_all).expect("a sheet");
    assert!(sheet.vacuum.source.value().is_none() && sheet.vacuum.breakpoints.value().is_some(), "{after_all}");
    // A hose that was told stays told.
    let ported = with(
        &after_all,
        &[("vacuum.source", "ported"), ("vacuum.breakpoints", "10 crank degrees, 4..9 inHg depression")],
    );
    assert!(ported.contains("source = \"ported\""), "{ported}");
}

/// The starter's sparks come at the second flank, and both are only assumed: who knows one of them must not be held up by the other.
#[test]
fn what_is_assumed_stands_in_the_way_of_no_answer() {
    let whole = all_presumed("engine.toml", &engine(8, 5000)).expect("assumptions");
    for (key, typed, follows) in [
        ("advance.cranking", "6", "second_flank_angle = \"6 crank degrees BTDC\""),
        ("pickup.second_flank_angle", "7", "cranking = \"7 crank degrees\""),
        ("engine.idle", "400", "running_from = \"280 crank rpm\""),
        ("engine.greatest_speed", "6000", "no_spark_above = \"6200 crank rpm\""),
    ] {
        let now = with(&whole, &[(key, typed)]);
        assert!(now.contains(follows), "{key}: {now}");
        let sheet = parse("engine.toml", &now).expect("a sheet");
        assert!(sheet.assumptions().iter().all(|other| other != key), "{key}");
    }
}

#[test]
fn all_that_a_command_misses_comes_at_once_and_nothing_that_it_does_not_need() {
    let few = with(
        &new(),
        &[("advance.initial", "10"), ("centrifugal.breakpoints", "22 crank degrees, 900..3000 crank rpm")],
    );
    let sheet = parse("engine.toml", &few).expect("a sheet");
    let error = with_all_missing(&sheet, crate::sheet::model).expect_err("much is missing");
    let said = error.to_string();
    let named: BTreeSet<&str> = said.split('`').skip(1).step_by(2).collect();
    let wanted = [
        "advance.cranking",
        "advance.cranking_below",
        "advance.held",
        "advance.no_spark_above",
        "advance.running_from",
        "advance.spark_again_below",
        "limits.greatest",
        "limits.greatest_cranking",
        "limits.greatest_without_vacuum",
        "limits.least",
        "vacuum.breakpoints",
        "vacuum.greatest_rate",
        "vacuum.source",
    ];
    assert_eq!(named, BTreeSet::from(wanted), "{said}");
    assert!(error.is_missing_key());
    // One that is missing stays as it was, and a whole sheet is let through.
    let one = parse("engine.toml", &demo_text().replacen("held = ", "# held = ", 1)).expect("a sheet");
    assert_eq!(
        with_all_missing(&one, crate::sheet::model).expect_err("one").to_string(),
        one.advance.held_crank_degrees.get().expect_err("it").to_string()
    );
    let whole = parse("engine.toml", demo_text()).expect("the demo");
    with_all_missing(&whole, Settings::from_sheet).expect("nothing is missing");
}

/// Each key that the demo has: without it alone a bench either does not need it, or names it and nothing else.
#[test]
fn a_key_that_is_not_named_is_not_needed() {
    let named =
        |text: &str| with_all_missing(&parse("engine.toml", text).expect("a sheet"), Settings::from_sheet).err();
    let [held, clock] =
        ["held = \"8", "clock_tolerance = "].map(|key| demo_text().replacen(key, &format!("# {key}"), 1));
    assert_eq!(named(&held).as_ref().and_then(crate::sheet::SheetError::key), Some("advance.held"));
    assert!(named(&clock).is_none(), "settings have no clock");
}
