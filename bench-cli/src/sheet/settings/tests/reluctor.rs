//! A reluctor behind a conditioner: what its sheet says, and what it may not.

use crate::quantity::of_core::angle_degrees;
use crate::sheet::parse;
use crate::sheet::settings::Settings;
use crate::sheet::tests::reluctor_text;
use crate::sheet::{Sheet, SheetError};

fn sheet(changes: &[(&str, &str)]) -> Result<Sheet, SheetError> {
    let text = changes.iter().fold(reluctor_text(), |text, (from, to)| {
        assert!(text.contains(from), "the sheet does not have {from}");
        text.replacen(from, to, 1)
    });
    parse("fire-float.toml", &text)
}

fn settings(changes: &[(&str, &str)]) -> Result<Settings, SheetError> {
    Settings::from_sheet(&sheet(changes)?)
}

#[track_caller]
fn refused(changes: &[(&str, &str)], key: &str, says: &[&str]) {
    let error = settings(changes).map(|_| ()).expect_err("a refusal");
    let whole = format!("{error:?}");
    assert_eq!(error.key(), Some(key), "{whole}");
    for says in says {
        assert!(whole.contains(says), "{says}: {whole}");
    }
}

const VANE: (&str, &str) = ("kind = \"coil\"", "kind = \"vane\"");
const MOVING: &str = "moving_flank = [\"18 crank degrees BTDC\", \"13 crank degrees BTDC\"]";

#[test]
fn a_reluctor_is_what_the_core_calls_one() {
    let settings = settings(&[]).unwrap_or_else(|error| panic!("{error:?}"));
    let pickup = settings.pickup.settings();
    let moving = pickup.moving_flank.expect("a moving flank");
    assert_eq!(
        [moving.earliest, moving.latest, pickup.angle].map(angle_degrees).map(f64::to_bits),
        [18.0, 13.0, 8.0].map(f64::to_bits)
    );
    assert_eq!(pickup.second_flank_angle, None);
}

#[test]
fn a_coil_may_be_used_by_its_crossing_alone() {
    let settings = settings(&[(MOVING, ""), ("signal_from", "# signal_from"), ("\nangle = \"8 ", "\nangle = \"60 ")]);
    assert_eq!(settings.unwrap_or_else(|error| panic!("{error:?}")).pickup.settings().moving_flank, None);
}

#[test]
fn what_is_of_a_coil_alone_stands_beside_no_other_pickup() {
    refused(&[VANE], "pickup.moving_flank", &["kind = \\\"coil\\\""]);
    refused(&[VANE, (MOVING, "")], "pickup.signal_from", &["coil"]);
    let second = (MOVING, "second_flank_angle = \"2 crank degrees BTDC\"");
    refused(&[second], "pickup.second_flank_angle", &["moves with the speed", "moving_flank = ["]);
}

#[test]
fn a_moving_flank_lies_before_its_crossing() {
    let lies = |to| (MOVING, to);
    let other_way_round = "moving_flank = [\"13 crank degrees BTDC\", \"18 crank degrees BTDC\"]";
    refused(&[lies(other_way_round)], "pickup.moving_flank", &["greater angle first"]);
    let after = "moving_flank = [\"18 crank degrees BTDC\", \"6 crank degrees BTDC\"]";
    refused(&[lies(after)], "pickup.moving_flank", &["the coil's two leads"]);
    // Half of a pulse of four in two turns is 90 crank degrees: arithmetic.
    let far = "moving_flank = [\"98.5 crank degrees BTDC\", \"13 crank degrees BTDC\"]";
    refused(&[lies(far)], "pickup.moving_flank", &["half a pulse is 90"]);
}

#[test]
fn the_crossing_is_the_cranking_advance_and_within_its_limit() {
    let cranking = ("cranking = \"8 crank", "cranking = \"6 crank");
    refused(&[cranking], "advance.cranking", &["the zero crossing", "cranking = \\\"8 crank degrees"]);
    refused(&[("greatest_cranking = \"10", "greatest_cranking = \"7")], "pickup.angle", &["above"]);
}

/// The least advance by arithmetic: that which is held, or the initial one with nothing added.
#[test]
fn no_spark_comes_after_the_crossing_and_the_sheet_that_is_told_is_taken() {
    let at = |angle: &str, cranking: &str| {
        [
            ("\nangle = \"8 ", format!("\nangle = \"{angle} ")),
            ("\ncranking = \"8 ", format!("\ncranking = \"{cranking} ")),
        ]
    };
    let nine = at("9", "9");
    let nine: Vec<(&str, &str)> = nine.iter().map(|(from, to)| (*from, to.as_str())).collect();
    let says = [
        "which is 8",
        "angle = \\\"8 crank degrees BTDC",
        "cranking = \\\"8 crank degrees",
        "\\\"17 crank degrees BTDC\\\", \\\"12 crank",
    ];
    refused(&nine, "pickup.angle", &says);
    let told = (MOVING, "moving_flank = [\"17 crank degrees BTDC\", \"12 crank degrees BTDC\"]");
    assert!(settings(&[told]).is_ok());
    // Held below it.
    refused(&[("held = \"8 crank", "held = \"5.5 crank")], "pickup.angle", &["which is 5.5", "angle = \\\"5.5 crank"]);
    // And before top dead centre there is no crossing for it.
    let late = [("held = \"8 crank", "held = \"-2 crank"), ("least = \"0 crank", "least = \"-4 crank")];
    refused(&late, "pickup.angle", &["which is -2", "never lie below 8"]);
}

#[test]
fn a_speed_without_room_is_told_what_will_do() {
    // 5 ms of spark, 0.5 ms of the shortest dwell and 1 ms of latency are more than the 6.25 ms of a pulse at 4 800 crank rpm: arithmetic.
    let long = [("burn_time = \"1.5 ms\"", "burn_time = \"5 ms\""), ("latency = \"100 us\"", "latency = \"1000 us\"")];
    refused(&long, "advance.no_spark_above", &["burn_time = \\\"4.", "no_spark_above = \\\"4"]);
}
