use super::*;
use crate::quantity::KPA_PER_INHG;

fn known(initial: f64, centrifugal: Option<&str>, vacuum: Option<&str>) -> Known {
    Known {
        initial: crate::quantity::of_core::advance(initial).expect("an advance"),
        centrifugal: centrifugal.map(|text| text.parse().unwrap_or_else(|error: String| panic!("{error}"))),
        vacuum: vacuum.map(|text| text.parse().unwrap_or_else(|error: String| panic!("{error}"))),
        source: None,
    }
}

fn at(known: &Known, place: &str) -> KnownFigures {
    known
        .figures(place.parse().unwrap_or_else(|error: String| panic!("{error}")))
        .unwrap_or_else(|error| panic!("{error}"))
}

fn near(found: Ends, wanted: Ends) -> bool {
    found.iter().zip(wanted).all(|(found, wanted)| (found - wanted).abs() < 0.002)
}

/// Reckoned by pencil: common practice, no source. 14 and 22 are 36 at full throttle, and with 12 of vacuum 48.
#[test]
fn three_numbers_give_the_sums_that_a_pencil_gives() {
    let known = known(14.0, Some("22 crank degrees by 3000 crank rpm"), Some("12 crank degrees"));
    let figures: Vec<KnownFigures> =
        known.places().into_iter().map(|place| known.figures(place).expect("a curve")).collect();
    let [off, on] = figures.as_slice() else { panic!("{figures:?}") };
    assert!(near(off.total, [36.0, 36.0]) && (off.plain_sum - 36.0).abs() < 0.002, "{off:?}");
    assert!(near(on.total, [48.0, 48.0]) && (on.plain_sum - 48.0).abs() < 0.002, "{on:?}");
    assert_eq!([off.place.hose, on.place.hose], [None, Some(Hose::Whole)]);
    // 36 wanted of 22: 14; 34 wanted: 12.
    let wanted = crate::quantity::of_core::advance(34.0).expect("an advance");
    assert_eq!(known.initial_for(wanted), crate::quantity::of_core::advance(12.0));
}

/// What is not said goes from one end of what can be to the other; what is said is exact.
#[test]
fn what_is_left_open_is_a_range_and_what_is_said_is_a_figure() {
    let open = known(14.0, Some("22 crank degrees by 3000 crank rpm"), Some("12 crank degrees"));
    // At half of the way from a standstill, half of 22 at most; no less than nothing.
    let half = at(&open, "1500 crank rpm, 10 inHg depression");
    assert!(near(half.centrifugal, [0.0, 11.0]) && near(half.vacuum, [0.0, 12.0]), "{half:?}");
    assert!(near(half.total, [14.0, 37.0]), "{half:?}");
    assert!((half.plain_sum - 48.0).abs() < 0.002);
    // 900 to 3 000: at 1 950 half of it. 5 to 12 inHg: at 8.5 half of it.
    let said =
        known(14.0, Some("22 crank degrees, 900..3000 crank rpm"), Some("12 crank degrees, 5..12 inHg depression"));
    let half = at(&said, "1950 crank rpm, 8.5 inHg depression");
    assert!(
        near(half.centrifugal, [11.0, 11.0]) && near(half.vacuum, [6.0, 6.0]) && near(half.total, [31.0, 31.0]),
        "{half:?}"
    );
    let idle = at(&said, "800 crank rpm");
    assert!(near(idle.total, [14.0, 14.0]) && (idle.plain_sum - 14.0).abs() < 0.002, "{idle:?}");
    // Where only its end is known, a straight line from no vacuum at most.
    let by = known(14.0, None, Some("12 crank degrees by 12 inHg depression"));
    assert!(near(at(&by, "1000 crank rpm, 6 inHg depression").vacuum, [0.0, 6.0]));
    assert!(near(at(&by, "1000 crank rpm, 12 inHg depression").vacuum, [12.0, 12.0]));
    assert!(near(at(&by, "1000 crank rpm, 0 inHg depression").vacuum, [0.0, 0.0]));
    assert!(said.left_open().len() < open.left_open().len());
    assert!((KPA_PER_INHG - 3.386_389).abs() < 1e-6);
}

/// Every distributor of one straight line that fits what was said lies between the ends, and some come to each of them.
#[test]
fn the_ends_hold_every_straight_line_that_fits() {
    let open = known(10.0, Some("20 crank degrees by 3200 crank rpm"), None);
    for rpm in (100..4_000).step_by(150) {
        let ends = at(&open, &format!("{rpm} crank rpm")).centrifugal;
        let mut reached = [f64::MAX, f64::MIN];
        for begins in (1..3_170).step_by(13) {
            let line = known(10.0, Some(&format!("20 crank degrees, {begins}..3200 crank rpm")), None);
            let [gives, _] = at(&line, &format!("{rpm} crank rpm")).centrifugal;
            assert!(
                gives >= ends[0] - 0.15 && gives <= ends[1] + 0.002,
                "{rpm} crank rpm, from {begins}: {gives} of {ends:?}"
            );
            reached = [reached[0].min(gives), reached[1].max(gives)];
        }
        assert!(reached[0] - ends[0] < 0.2 && ends[1] - reached[1] < 0.2, "{rpm} crank rpm: {reached:?} of {ends:?}");
    }
}

#[test]
fn what_cannot_be_is_refused_with_what_to_write() {
    let refused = |result: Result<String, String>| result.expect_err("refused");
    let centrifugal = |text: &str| refused(text.parse::<KnownCentrifugal>().map(|known| format!("{known:?}")));
    let vacuum = |text: &str| refused(text.parse::<KnownVacuum>().map(|known| format!("{known:?}")));
    let place = |text: &str| refused(text.parse::<KnownPlace>().map(|known| format!("{known:?}")));
    assert!(centrifugal("22").contains("distributor"), "{}", centrifugal("22"));
    assert!(centrifugal("22 crank degrees").contains("by 3000 crank rpm"));
    assert!(centrifugal("22 crank degrees by 3000 rpm").contains("distributor"));
    assert!(centrifugal("22 crank degrees, 3000..900 crank rpm").contains("begins before"));
    assert!(centrifugal("0 crank degrees by 3000 crank rpm").contains("adds nothing"));
    assert!(vacuum("12 crank degrees by 12 inHg").contains("depression"));
    assert!(vacuum("12 crank degrees, 5..120 inHg depression").contains("unit"));
    assert!(place("2500").contains("crank"));
    assert!(place("2500 crank rpm, 15").contains("depression") && place("5 crank rpm").contains("31"));
    // Steeper than any weights: a wrong unit or a slip.
    let steep = known(10.0, Some("60 crank degrees, 1000..1040 crank rpm"), None);
    assert!(steep.figures("1020 crank rpm".parse().expect("a place")).is_err());
}
