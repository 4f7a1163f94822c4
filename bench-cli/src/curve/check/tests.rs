mod reluctor;

use super::*;
use crate::quantity::of_core::{crank_degrees, depression, speed};
use crate::record::check::LimitName;
use crate::sheet::tests::demo_text;
use bobweight::Phase;

/// A text of the demo's sheet, and what stands in its place.
type Change = (&'static str, &'static str);

/// Crank rpm and kPa of a corner, the sum there and the margin.
type Corner = (Option<f64>, Option<f64>, f64, f64);

/// The demo's sheet with each text replaced once. Its figures are invented; the sums are arithmetic.
fn sheet(changes: &[(&str, &str)]) -> Sheet {
    let mut text = demo_text().to_owned();
    for (from, to) in changes {
        assert!(text.contains(from), "{from}");
        text = text.replacen(from, to, 1);
    }
    sheet::parse("sheet.toml", &text).unwrap_or_else(|error| panic!("{error:?}"))
}

fn checked(changes: &[(&str, &str)]) -> CheckResult {
    check(&sheet(changes)).unwrap_or_else(|error| panic!("{error:?}"))
}

/// 12 inHg in kPa, by NIST SP 811 (2008), appendix B.8 (from memory; `pint` agrees).
const FULL_VACUUM_KPA: f64 = 12.0 * 3.386_389;

#[test]
fn a_sheet_that_breaks_one_limit_fails_by_that_one_at_its_worst_corner() {
    use LimitName::{Greatest, GreatestCranking, GreatestWithoutVacuum, Least};
    let full = Some(FULL_VACUUM_KPA);
    let cases: &[(&[Change], LimitName, Corner)] = &[
        (&[("greatest = \"42", "greatest = \"37")], Greatest, (Some(3300.0), full, 38.0, -1.0)),
        (&[("vacuum = \"30", "vacuum = \"27.5")], GreatestWithoutVacuum, (Some(3300.0), None, 28.0, -0.5)),
        (&[("held = \"8", "held = \"31")], GreatestWithoutVacuum, (None, None, 31.0, -1.0)),
        (&[("[1700, 12]", "[1700, 24]")], GreatestWithoutVacuum, (Some(1700.0), None, 32.0, -2.0)),
        // What the vacuum curve gives at no depression is there at full throttle too.
        (&[("[[5, 0], [12", "[[0, 3], [12")], GreatestWithoutVacuum, (Some(3300.0), Some(0.0), 31.0, -1.0)),
        // The cranking advance keeps the limit, and what a swing of the crank makes of it does not; see below for its source.
        (&[("second_flank", "# second_flank")], GreatestCranking, (None, None, 28.546_35, -18.546_35)),
        (&[("least = \"0", "least = \"8.5")], Least, (Some(900.0), None, 8.0, -0.5)),
        (&[("held = \"8", "held = \"-1")], Least, (None, None, -1.0, -1.0)),
        // An input that trims a running engine either way; the held advance is trimmed by none.
        (
            &[("initial =", "trim_earlier = \"4.1 crank degrees\"\ninitial ="), ("vacuum = \"30", "vacuum = \"33")],
            Greatest,
            (Some(3300.0), full, 42.1, -0.1),
        ),
        (&[("initial =", "trim_later = \"8.2 crank degrees\"\ninitial =")], Least, (Some(900.0), None, -0.2, -0.2)),
        // A unit that retards.
        (&[("[12, 10]", "[12, -10]")], Least, (Some(900.0), full, -2.0, -2.0)),
    ];
    for (changes, limit, (speed, depression, sum, margin)) in cases {
        let result = checked(changes);
        assert!(!result.kept, "{changes:?}");
        let broken: Vec<_> = result.limits.iter().filter(|limit| !limit.kept).collect();
        let [broken] = broken.as_slice() else { panic!("{changes:?}: {broken:?}") };
        assert_eq!(broken.limit, *limit, "{changes:?}");
        assert_eq!(broken.speed_crank_rpm, *speed, "{broken:?}");
        let near = |a: f64, b: f64| (a - b).abs() < 1e-4;
        assert_eq!(broken.depression_kpa.is_some(), depression.is_some(), "{broken:?}");
        assert!(near(broken.depression_kpa.unwrap_or_default(), depression.unwrap_or_default()), "{broken:?}");
        assert!(near(broken.sum_crank_degrees, *sum) && near(broken.margin_crank_degrees, *margin), "{broken:?}");
        assert!(broken.statement.contains(": BROKEN by "), "{broken:?}");
        assert_eq!(result.clamp.len(), 1, "the clamp is told for the broken limit: {:?}", result.clamp);
        assert_eq!(result.clamp[0].limit, *limit);
    }
    let kept = checked(&[]);
    assert!(kept.kept && kept.limits.iter().all(|limit| limit.kept) && kept.clamp.is_empty());
    assert_eq!(kept.limits.iter().map(|limit| limit.margin_crank_degrees).collect::<Vec<_>>(), [4.0, 2.0, 2.0, 8.0]);
}

/// The limits are demands on the sum: the clamp keeps every total inside, and the check fails all the same.
#[test]
fn a_sheet_whose_totals_never_leave_the_limits_fails_where_the_clamp_would_act() {
    let changes = [("greatest = \"42", "greatest = \"37")];
    let model = sheet::model(&sheet(&changes)).unwrap();
    for rpm in (0..=20_000).step_by(50) {
        for kpa in 0..=110 {
            let place = (speed(f64::from(rpm)), Some(depression(f64::from(kpa))));
            let total = model.advance(Phase::Running, place.0, place.1, false).unwrap().total;
            assert!((0.0..=37.0).contains(&crank_degrees(total)));
        }
    }
    let result = checked(&changes);
    assert!(!result.kept);
    // 28 + 10 pass 37 from 19 crank degrees of centrifugal advance on: on the line from 12 at 1700 to 20 at 3300, at 3100.
    let [speeds] = result.clamp[0].speeds_crank_rpm.as_slice() else { panic!("{:?}", result.clamp) };
    assert!((speeds.from - 3100.0).abs() < 0.01 && speeds.to > 19_999.9, "{speeds:?}");
    // And from 9 of vacuum advance on: nine tenths of the way from 5 to 12 inHg.
    let [depressions] = result.clamp[0].depressions_kpa.as_slice() else { panic!("{:?}", result.clamp) };
    assert!((depressions.from - 11.3 * 3.386_389).abs() < 0.001 && depressions.to > 109.9, "{depressions:?}");
}

/// Source: definition, at N crank rpm a time of t seconds is 6 N t crank degrees.
#[test]
fn the_lag_is_counted_at_the_greatest_speed() {
    let lag = checked(&[("lag = \"0 us", "lag = \"150 us")]).lag.unwrap();
    assert!((lag.earlier_crank_degrees - 6.0 * 4600.0 * 150e-6).abs() < 1e-9);
    assert!(lag.statement.contains("orders up to 4.1 crank degrees earlier at 4 600 crank rpm"), "{}", lag.statement);
    // 38 crank degrees of sum, and 6 N t at 4 800, above which there is no spark.
    assert!((lag.earliest_order_crank_degrees - (38.0 + 6.0 * 4800.0 * 150e-6)).abs() < 1e-3, "{lag:?}");
    assert!((lag.earliest_order_crank_rpm - 4800.0).abs() < 1e-9);
    let none = checked(&[]).lag.unwrap();
    assert!(none.earlier_crank_degrees == 0.0 && none.statement.contains("none is made up for"), "{none:?}");
}

#[test]
fn cranking_sparks_lie_between_the_second_flank_and_a_dwell_after_it() {
    let cranking = checked(&[]).cranking.unwrap();
    // Source: definition, 6 N t; 9.7 ms of dwell at 8 V, and 220 crank rpm that swing by 3 to 1: fastest at the root of 3 times as much.
    // Pulses may lie half a crank degree off; rounding and ticks are the rest.
    let fastest = 220.0 * 3.0_f64.sqrt();
    let latest = 8.0 - 6.0 * fastest * 9.7e-3 - 0.5;
    let beyond = |latest: f64, found: f64| (0.0..0.05).contains(&(latest - found));
    assert!(cranking.by_second_flank && beyond(latest, cranking.latest_crank_degrees), "{cranking:?}");
    assert!(beyond(cranking.earliest_crank_degrees, 8.5));
    assert!(cranking.statement.contains("14.7 crank degrees ATDC"), "{}", cranking.statement);
    // Lag makes them later still, for nothing makes up for it there.
    let lagging = checked(&[("lag = \"0 us", "lag = \"500 us")]).cranking.unwrap();
    assert!(beyond(latest - 6.0 * fastest * 500e-6, lagging.latest_crank_degrees), "{lagging:?}");
}

/// Source: `tests/rig/cranking.py` works the same swing out by another form of the integral and finds it on the simulated chip:
/// over 52 of 180 crank degrees a spark comes 20.55 crank degrees early, over 15 of them 6.31 (recomputed with Python).
#[test]
fn the_earliest_spark_without_a_second_flank_is_held_to_the_cranking_limit() {
    let far = checked(&[("second_flank", "# second_flank")]);
    assert!(!far.kept, "a wrist is broken by the spark that comes, not by the one that is ordered");
    let broken: Vec<_> = far.limits.iter().filter(|limit| !limit.kept).collect();
    let [broken] = broken.as_slice() else { panic!("{broken:?}") };
    assert_eq!(broken.limit, LimitName::GreatestCranking);
    assert!((broken.sum_crank_degrees - 28.546_35).abs() < 1e-3, "{broken:?}");
    assert!(
        broken.statement.starts_with("greatest advance while cranking: BROKEN by 18.55 crank degrees")
            && broken.statement.contains("(28.55, and 10 is allowed, the earliest spark there"),
        "{}",
        broken.statement
    );
    let sparks = far.cranking.unwrap();
    assert!(!sparks.by_second_flank);
    // The pulses' spread of 0.5 moves the edge, and by 52/180 of twice as much the spark.
    let spread = 0.5 * (1.0 + 2.0 * 52.0 / 180.0);
    let beyond = sparks.earliest_crank_degrees - broken.sum_crank_degrees - spread;
    assert!((0.0..0.05).contains(&beyond), "one figure, and the spread of the pulses: {sparks:?}");
    assert!(far.warnings[0].contains("no starting handle") && far.warnings[0].contains("breaks wrists"));
    assert!(far.warnings[0].contains("a second flank"), "{:?}", far.warnings);
    // An engine whose own limit leaves room for it keeps it, and the handle stays forbidden.
    let near = |limit: &str| {
        let limit = format!("greatest_cranking = \"{limit} crank");
        checked(&[
            ("second_flank", "# second_flank"),
            ("angle = \"60 crank degrees BTDC", "angle = \"23 crank degrees BTDC"),
            ("initial = \"8", "initial = \"1"),
            ("held = \"8", "held = \"1"),
            ("[3300, 20]", "[3300, 13]"),
            ("[12, 10]", "[12, 1]"),
            ("burn_time = \"1.5 ms", "burn_time = \"0.2 ms"),
            ("latency = \"100 us", "latency = \"10 us"),
            ("greatest_cranking = \"10 crank", &limit),
        ])
    };
    assert!(near("14.4").kept && !near("14.2").kept, "{:?}", near("14.2").limits);
    assert!(near("14.4").warnings[0].contains("no starting handle"), "{:?}", near("14.4").warnings);
    // Room for 6.2 is 14.7 crank degrees of way, which leaves the flank before the 15 of the running engine; room for 2 does not.
    assert!(
        near("14.2").warnings[0].contains("or place its flank within 14.7 crank degrees"),
        "{:?}",
        near("14.2").warnings
    );
    assert!(!near("10").warnings[0].contains("or place its flank"), "{:?}", near("10").warnings);
    // A second flank is where cranking sparks come, whatever the crank does before it.
    assert!(checked(&[]).kept && checked(&[]).warnings.is_empty());
}

/// A pickup that is not chosen yet: the curve's own figure is judged, and that the rest is open is told.
#[test]
fn the_cranking_limit_is_judged_as_soon_as_flank_and_pulses_are_known() {
    let no_lag = checked(&[("second_flank", "# second_flank"), ("lag = ", "# lag = ")]);
    assert!(!no_lag.kept, "a lag that is not known hides nothing: {:?}", no_lag.limits);
    let no_angle = checked(&[("second_flank", "# second_flank"), ("\nangle = ", "\n# angle = ")]);
    assert!(no_angle.kept && !no_angle.not_told.is_empty(), "{:?}", no_angle.not_told);
}

/// Source: U.S. Standard Atmosphere 1976, 21.8 kPa less at 2 000 m (recomputed in `tests/truth/reference/atmosphere.py`).
#[test]
fn a_climb_adds_falsely_what_the_curve_gives_for_the_pressure_that_is_lost() {
    let climbed = |changes: &[(&str, &str)]| checked(changes);
    let high = [("highest_place = \"600", "highest_place = \"2000"), ("[[5, 0], [12", "[[2, 0], [12")];
    let climb = climbed(&high).climb.unwrap();
    assert!((climb.false_depression_kpa - 21.8).abs() < 0.05, "{climb:?}");
    // Ten crank degrees over ten inHg, from two on.
    let inches = climb.false_depression_kpa / 3.386_389;
    assert!((climb.added_at_full_throttle_crank_degrees - (inches - 2.0)).abs() < 1e-3, "{climb:?}");
    assert!((climb.added_at_most_crank_degrees - inches).abs() < 1e-3, "{climb:?}");
    assert!(
        climbed(&high).warnings[0].contains("32.4 crank degrees at 3 300 crank rpm"),
        "{:?}",
        climbed(&high).warnings
    );
    // A constant atmosphere lies above the place by less, and a differential sensor has none to lie.
    let constant = [high[0], high[1], ("\"read at key-on\"", "\"94 kPa absolute\"")];
    let climb = climbed(&constant).climb.unwrap();
    assert!((climb.false_depression_kpa - (94.0 - (101.325 - 21.8))).abs() < 0.05, "{climb:?}");
    let differential = [
        high[0],
        ("kind = \"absolute\"", "kind = \"differential\""),
        ("[\"V\", \"kPa absolute\"]", "[\"V\", \"kPa depression\"]"),
        ("[[0.5, 20], [4.5, 110]]", "[[0.5, 0], [4.5, 90]]"),
        ("atmosphere = ", "# atmosphere = "),
    ];
    let none = climbed(&differential);
    assert!(none.climb.is_none() && none.not_told.is_empty() && none.warnings.is_empty());
    // Below the sea the sensor shows too little, and nothing is added.
    let low = climbed(&[("highest_place = \"600", "highest_place = \"-400")]).climb.unwrap();
    assert!(low.false_depression_kpa < 0.0 && low.added_at_most_crank_degrees == 0.0, "{low:?}");
}

#[test]
fn a_sensor_that_sticks_adds_the_whole_vacuum_advance_to_full_throttle() {
    let stuck = checked(&[]).stuck_sensor.unwrap();
    assert_eq!((stuck.full_throttle_crank_degrees, stuck.sum_crank_degrees), (28.0, 38.0));
    assert!(stuck.statement.contains("8.0 beyond the greatest allowed without vacuum"), "{}", stuck.statement);
}

#[test]
fn a_curve_that_ends_where_there_is_no_spark_is_asked_about() {
    let crank_as_distributor =
        [("[\"crank rpm\", \"crank degrees\"]", "[\"distributor rpm\", \"distributor degrees\"]")];
    let [warning] = checked(&crank_as_distributor).warnings.try_into().unwrap();
    assert!(warning.contains("ends at 6 600 crank rpm, above 4 800"), "{warning}");
    assert!(checked(&[]).warnings.is_empty(), "{:?}", checked(&[]).warnings);
}

#[test]
fn an_engine_without_vacuum_advance_has_neither_sensor_nor_climb() {
    let none = checked(&[("source = \"manifold\"", "source = \"none\""), ("breakpoints = [[5", "# breakpoints = [[5")]);
    assert!(none.kept && none.stuck_sensor.is_none() && none.climb.is_none() && none.not_told.is_empty());
}

#[test]
fn what_the_sheet_does_not_say_yet_is_named_and_the_limits_are_proven_all_the_same() {
    let early = checked(&[("lag = ", "# lag = "), ("highest_place = ", "# highest_place = ")]);
    assert!(early.kept && early.lag.is_none() && early.cranking.is_none() && early.climb.is_none());
    let said = early.not_told.join("\n");
    assert!(said.contains("`pickup.lag` is missing") && said.contains("`sensor.highest_place` is missing"), "{said}");
    assert!(said.contains("sheet.toml, line"), "{said}");
}

#[test]
fn a_sheet_without_limits_or_whose_sparks_cannot_be_timed_is_refused() {
    let error = check(&sheet(&[("greatest_without_vacuum = ", "# greatest_without_vacuum = ")])).unwrap_err();
    assert!(error.is_missing_key() && error.key() == Some("limits.greatest_without_vacuum"), "{error:?}");
    let error = check(&sheet(&[("angle = \"60", "angle = \"30")])).unwrap_err();
    assert!(!error.is_missing_key() && error.to_string().contains("cannot be timed"), "{error:?}");
}

#[test]
fn the_text_says_everything_in_lines_that_fit() {
    let result = checked(&[
        ("greatest = \"42", "greatest = \"37"),
        ("second_flank", "# second_flank"),
        ("highest_place = ", "# highest_place = "),
    ]);
    let text = crate::page::check::render(&result);
    let unwrapped = text.split_whitespace().collect::<Vec<_>>().join(" ");
    for statement in result.limits.iter().map(|limit| &limit.statement).chain([
        &result.clamp[0].statement,
        &result.lag.as_ref().unwrap().statement,
        &result.cranking.as_ref().unwrap().statement,
        &result.stuck_sensor.as_ref().unwrap().statement,
        &result.warnings[0],
        &result.not_told[0],
    ]) {
        assert!(unwrapped.contains(statement), "{statement}\n{text}");
    }
    // The kick of a starting engine is a limit and a demand on its sparks.
    assert!(text.ends_with("\nlimits: 3 BROKEN\n"), "{text}");
    assert!(crate::page::check::render(&checked(&[])).ends_with("\nlimits: all kept\n"));
    assert!(text.lines().all(|line| line.len() <= 110), "{text}");
}
