use super::*;
use crate::quantity::of_core::crank_degrees;
use crate::sheet::tests::demo_text;
use crate::sheet::{model, parse};

fn rotor(text: &str) -> Result<RotorFigures, SheetError> {
    let sheet = parse("fire-float.toml", text)?;
    figures(&sheet, &model(&sheet)?)
}

/// Source: geometry. Advances from 8 to 52 crank degrees: 22 distributor degrees in all, 11 to each side when lined up at
/// 30 crank degrees before top dead centre; towers stand 45, 60 and 90 distributor degrees apart.
#[test]
fn travel_is_half_the_span_of_the_advance() {
    for (cylinders, apart) in [(8.0, 45.0), (6.0, 60.0), (4.0, 90.0)] {
        let travel = Travel {
            latest_crank_degrees: 8.0,
            earliest_crank_degrees: 52.0,
            towers_apart_distributor_degrees: 360.0 / cylinders,
        };
        assert!((travel.towers_apart_distributor_degrees - apart).abs() < 1e-9);
        assert!((travel.line_up_crank_degrees() - 30.0).abs() < 1e-9);
        assert!((travel.in_all_distributor_degrees() - 22.0).abs() < 1e-9);
        assert!((travel.before_tower(52.0) - 11.0).abs() < 1e-9 && (travel.before_tower(8.0) + 11.0).abs() < 1e-9);
        assert!((travel.other_tower_distributor_degrees() - (apart - 11.0)).abs() < 1e-9);
    }
}

/// Source: geometry. Two arcs of 16 and 8 degrees touch when their middles are 12 apart.
#[test]
fn overlap_is_the_same_to_either_side() {
    for apart in [0.0, 4.5, 12.0, 20.0] {
        assert!((overlap(16.0, 8.0, apart) - (12.0 - apart)).abs() < 1e-9);
        assert!((overlap(16.0, 8.0, -apart) - overlap(16.0, 8.0, apart)).abs() < 1e-9);
    }
}

/// The new curve is the old one here, so weights that work take the centrifugal advance out of the rotor's way: what is left is
/// the cranking advance with the weights at rest, 8, and initial and vacuum advance, 18.
#[test]
fn working_weights_carry_the_rotor_along_and_need_readings() {
    let cam = demo_text().replacen("place = \"distributor\"", "place = \"cam\"", 1);
    let working = cam.replacen("old_advance = \"locked\"", "old_advance = \"working\"", 1);
    let refused = rotor(&working).expect_err("nothing is known of the weights");
    assert_eq!(refused.key(), Some("distributor.old_advance"));
    let found = format!(
        "{working}\n[found.centrifugal]\nunit = [\"crank rpm\", \"crank degrees\"]\nbreakpoints = [[900, 0], [1700, 12], \
         [3300, 20]]\nbreakpoints_interval = [[[900, 900], [0, 0]], [[1700, 1700], [12, 12]], [[3300, 3300], [20, 20]]]\n"
    );
    let seen = rotor(&found).expect("a rotor");
    assert!(seen.weights_work);
    assert!((seen.travel.earliest_crank_degrees - 18.0).abs() < 0.01, "{:?}", seen.travel);
    // Held at 8 and read up to 1500 crank rpm, where the weights have gone 9 degrees on.
    assert!((seen.travel.latest_crank_degrees - (8.0 - 9.0)).abs() < 0.01, "{:?}", seen.travel);
    let locked = rotor(&cam).expect("a rotor");
    assert!((locked.travel.earliest_crank_degrees - 38.0).abs() < 0.01 && locked.pickup == Some(PickupShaft::Cam));
}

/// The corners find what a walk over every speed and depression finds.
#[test]
fn no_spark_between_the_corners_lies_outside_the_ends() {
    let sheet = parse("fire-float.toml", demo_text()).expect("the demo");
    let model = model(&sheet).expect("its model");
    let travel = figures(&sheet, &model).expect("a rotor").travel;
    let mut greatest = f64::MIN;
    for rpm in (450..=4800).step_by(10) {
        for tenths in 0..=600 {
            let at = crate::quantity::of_core::depression(f64::from(tenths) / 10.0);
            let spark = model.advance(Phase::Running, speed(f64::from(rpm)), Some(at), false).expect("it runs");
            let total = crank_degrees(spark.total);
            assert!(total >= travel.latest_crank_degrees && total <= travel.earliest_crank_degrees);
            greatest = greatest.max(total);
        }
    }
    assert!((greatest - travel.earliest_crank_degrees).abs() < 0.01);
}

/// Source: geometry. The rotor turns half as fast as the crank, so that a twin that fires 270 and 450 crank degrees apart has its
/// towers 135 and 225 distributor degrees apart, and one of three with 180, 180 and 360 has 90, 90 and 180.
#[test]
fn towers_of_an_engine_that_fires_unevenly_stand_half_of_its_intervals_apart() {
    let uneven = |cylinders: u32, order: &str, intervals: &str| {
        let text = demo_text()
            .replacen("cylinders = 4\n", &format!("cylinders = {cylinders}\nfiring_intervals = {intervals}\n"), 1)
            .replacen("[1, 3, 4, 2]", order, 1)
            .replacen("pulses_in_two_turns = 4", "# pulses_in_two_turns =", 1);
        rotor(&text).unwrap_or_else(|error| panic!("{intervals}: {error}"))
    };
    // The interval from 2 to 1 stands first in the sheet, so that from the tower of 1 the other comes 225 degrees on.
    let twin = uneven(2, "[2, 1]", "[\"270 crank degrees\", \"450 crank degrees\"]");
    assert_eq!((twin.towers.clone(), twin.towers_at_distributor_degrees.clone()), (vec![1, 2], Some(vec![0.0, 225.0])));
    assert!((twin.travel.towers_apart_distributor_degrees - 135.0).abs() < 1e-9);
    // Sparks from 8 to 38 crank degrees: 7.5 distributor degrees to each side.
    assert!((twin.other_tower_distributor_degrees - (135.0 - 7.5)).abs() < 1e-9, "{twin:?}");
    let three = uneven(3, "[1, 2, 3]", "[\"180 crank degrees\", \"180 crank degrees\", \"360 crank degrees\"]");
    assert_eq!(three.towers_at_distributor_degrees, Some(vec![0.0, 90.0, 180.0]));
    let said = three.towers_at_in_words().expect("it is said");
    assert!(said.contains("cylinder 3 at 180") && said.contains("measure it"), "{said}");
    let even = rotor(demo_text()).expect("a rotor");
    assert_eq!((even.towers_at_distributor_degrees.clone(), even.towers_at_in_words()), (None, None));
}

/// An old distributor has contacts and no pickup.
#[test]
fn a_rotor_needs_no_pickup() {
    let cut = |text: &str, key: &str| text.replacen(&format!("\n{key} = "), &format!("\n# {key} = "), 1);
    let without = cut(&cut(demo_text(), "place"), "angle");
    let with = rotor(demo_text()).expect("a rotor");
    let seen = rotor(&without).expect("a rotor");
    assert_eq!(seen.travel, with.travel);
    assert_eq!(
        (seen.pickup, seen.flank_crank_degrees, seen.at_flank_before_tower_distributor_degrees),
        (None, None, None)
    );
    assert_eq!(with.flank_crank_degrees, Some(60.0));
}
