use super::*;
use crate::curve::figures::conditions::conditions;
use crate::record::figures::Topic;
use crate::sheet::tests::demo_text;
use crate::sheet::{model, parse};

fn topics(changes: &[(&str, &str)]) -> Vec<Topic> {
    let mut text = demo_text().to_owned();
    for (from, to) in changes {
        assert!(text.contains(from), "{from}");
        text = text.replacen(from, to, 1);
    }
    let sheet = parse("fire-float.toml", &text).unwrap_or_else(|error| panic!("{error:?}"));
    let model = model(&sheet).unwrap_or_else(|error| panic!("{error:?}"));
    let own = if sheet.operating_conditions.is_empty() { Vec::new() } else { conditions(&sheet).expect("conditions") };
    advice(&Facts { sheet: &sheet, model: &model, conditions: &own }).into_iter().map(|piece| piece.topic).collect()
}

/// Each piece appears when its facts are there.
#[test]
fn each_piece_appears_with_its_facts_and_not_without() {
    let no_second = ("second_flank_angle = \"8 crank degrees BTDC\"", "");
    let cases: &[(Topic, &[(&str, &str)])] = &[
        (Topic::VacuumAtFullThrottle, &[("[[5, 0], [12, 10]]", "[[0, 0], [12, 10]]")]),
        (Topic::VacuumAtIdle, &[("\"17 inHg depression\"", "\"13 inHg depression\"")]),
        (Topic::VacuumAtIdle, &[("\"17 inHg depression\"", "\"10 inHg depression\"")]),
        (Topic::Hunting, &[("[[900, 0], ", "[[600, 0], ")]),
        (
            Topic::Cranking,
            &[
                no_second,
                ("cranking = \"8 crank", "cranking = \"14 crank"),
                ("greatest_cranking = \"10", "greatest_cranking = \"15"),
            ],
        ),
        (Topic::PickupFarFromCranking, &[no_second]),
        (
            Topic::ZeroCrossing,
            &[
                ("kind = \"vane\"", "kind = \"coil\""),
                ("\nangle = \"60 ", "\nangle = \"8 "),
                (
                    "second_flank_angle = \"8 crank degrees BTDC\"",
                    "moving_flank = [\"18 crank degrees BTDC\", \"13 crank degrees BTDC\"]",
                ),
            ],
        ),
        (Topic::Expected, &[("[\"20 crank degrees\", \"30", "[\"26 crank degrees\", \"30")]),
        (Topic::Expected, &[("[\"20 crank degrees\", \"30", "[\"20 crank degrees\", \"24")]),
        (Topic::VacuumUnits, &[("unit = [\"inHg depression\", ", "unit = [\"kPa depression\", ")]),
        (Topic::VacuumUnits, &[("[12, 10]]", "[12, 5]]")]),
        (Topic::DistributorFigures, &[("[[900, 0], [1700, 12], [3300, 20]]", "[[900, 0], [1700, 10]]")]),
    ];
    let before = topics(&[]);
    assert_eq!(before, [Topic::Altitude, Topic::PortedOrManifold], "the demo as it is");
    for (topic, changes) in cases {
        assert!(!before.contains(topic), "{topic:?} without its facts");
        assert!(topics(changes).contains(topic), "{topic:?} with its facts");
    }
    let on_the_coast = topics(&[("highest_place = \"600 m\"", "highest_place = \"0 m\"")]);
    assert!(!on_the_coast.contains(&Topic::Altitude));
}

#[test]
fn a_sheet_without_conditions_gets_no_advice_that_hangs_on_one() {
    let cut = demo_text().find("[[operating_condition]]").expect("a condition");
    let end = demo_text().find("[tolerance]").expect("tolerances");
    let text = format!("{}{}", &demo_text()[..cut], &demo_text()[end..]);
    let sheet = parse("fire-float.toml", &text).expect("a sheet");
    let model = model(&sheet).expect("a model");
    assert!(advice(&Facts { sheet: &sheet, model: &model, conditions: &[] }).is_empty());
}
