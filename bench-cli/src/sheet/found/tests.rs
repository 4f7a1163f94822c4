use super::*;
use crate::cli::tests::without_figures;
use crate::distributor::fit::{FitOptions, fit};
use crate::distributor::readings;
use crate::sheet::tests::demo_text;
use crate::sheet::{read_text, replace, write_new};
use std::fmt::Write;

/// Readings of a curve that is known: initial 8, 12 more between 900 and 1700 crank rpm, vacuum 10 between 17 and 40 kPa.
/// The last digit swings, as eyes do.
fn fitted(with_vacuum: bool) -> FitRecord {
    let mut text = "hose,speed_was,crank_rpm,crank_degrees,vacuum_kPa\n".to_owned();
    let ramp = |x: f64, from: f64, to: f64, rise: f64| rise * ((x - from) / (to - from)).clamp(0.0, 1.0);
    for index in 0..24_u32 {
        let speed = 500.0 + 100.0 * f64::from(index);
        let error = 0.4 * (f64::from(index) * 2.3).sin();
        let was = if index % 2 == 0 { "rising" } else { "falling" };
        writeln!(text, "off,{was},{speed},{:.1},", 8.0 + ramp(speed, 900.0, 1700.0, 12.0) + error).expect("a text");
    }
    for index in 0..if with_vacuum { 12_u32 } else { 0 } {
        let kpa = 5.0 + 5.0 * f64::from(index);
        let error = 0.4 * (f64::from(index) * 3.1).sin();
        writeln!(text, "on,steady,2500,{:.1},{kpa}", 20.0 + ramp(kpa, 17.0, 40.0, 10.0) + error).expect("a text");
    }
    let readings = readings::parse("readings.csv", text.as_bytes()).unwrap_or_else(|error| panic!("{error:?}"));
    let found = fit(&readings, &FitOptions::default()).unwrap_or_else(|error| panic!("{error:?}"));
    FitRecord::new(&readings, &found, &[], Vec::new(), 0)
}

#[track_caller]
fn wrote(changed: Result<Changed, SheetError>) -> Changed {
    changed.unwrap_or_else(|error| panic!("{error:?}"))
}

#[test]
fn found_values_are_read_back_inside_their_intervals_in_the_units_of_the_sheet() {
    let fit = fitted(true);
    let changed = wrote(with_found("fire-float.toml", demo_text(), &fit));
    assert!(changed.text.starts_with(demo_text()), "what was there before stays");
    let found = parse("fire-float.toml", &changed.text).expect("a sheet").found.expect("a found curve");
    let initial = found.initial_crank_degrees.value().expect("an initial timing");
    let [low, high] = found.initial_interval_crank_degrees.value().expect("its interval");
    assert!((initial - fit.initial_crank_degrees.value).abs() <= 0.005 + 1e-9);
    assert!(
        *low <= fit.initial_crank_degrees.low && fit.initial_crank_degrees.high <= *high,
        "an interval is rounded outwards"
    );
    let centrifugal = found.centrifugal.value().expect("a curve");
    assert_eq!(centrifugal.len(), fit.centrifugal.len());
    for ((point, [x, y]), (knot, rise)) in centrifugal
        .iter()
        .zip(found.centrifugal_intervals.value().expect("intervals"))
        .zip(fit.centrifugal.iter().map(|point| (point.crank_rpm, point.crank_degrees)))
    {
        assert!(
            (point.crank_rpm - knot.value).abs() <= 0.5 && (point.crank_degrees - rise.value).abs() <= 0.005 + 1e-9
        );
        assert!(x[0] <= knot.low && knot.high <= x[1] && y[0] <= rise.low && rise.high <= y[1]);
    }
    let Some(vacuum) = &fit.vacuum else { panic!("a vacuum curve") };
    let points = found.vacuum.value().expect("a vacuum curve");
    // The demo's vacuum curve is in inHg: half a step of 0.01 inHg is 0.017 kPa.
    assert!((points[0].depression_kpa - vacuum.start_kpa_depression.value).abs() < 0.017);
    assert!((points[1].depression_kpa - vacuum.full_kpa_depression.value).abs() < 0.017);
    assert!(changed.text.contains("[found.vacuum]\nunit = [\"inHg depression\", \"crank degrees\"]"));
}

#[test]
fn a_second_fit_writes_over_the_first_and_keeps_every_comment() {
    let first = wrote(with_found("sheet.toml", demo_text(), &fitted(true))).text;
    let noted = first.replace("[found.advance]\ninitial", "[found.advance]   # light borrowed\n# by eye\ninitial");
    assert_ne!(noted, first);
    let again = wrote(with_found("sheet.toml", &noted, &fitted(true)));
    assert_eq!((again.text.as_str(), again.changes.len()), (noted.as_str(), 0), "the same readings change nothing");
    let without = wrote(with_found("sheet.toml", &noted, &fitted(false)));
    assert!(without.text.contains("[found.advance]   # light borrowed\n# by eye\ninitial"));
    assert!(!without.text.contains("[found.vacuum]"), "a vacuum curve that these readings do not have is taken out");
    let gone = without.changes.iter().find(|change| change.key == "found.vacuum").expect("a change");
    assert!(gone.before.as_ref().is_some_and(|text| text.contains("breakpoints_interval")) && gone.after.is_none());
    assert!(parse("sheet.toml", &without.text).is_ok());
}

#[test]
fn choosing_copies_the_curve_and_says_what_it_replaced() {
    let book = "\n[specified.advance]\ninitial = \"6 crank degrees\"\n[specified.centrifugal]\n\
                unit = [\"distributor rpm\", \"distributor degrees\"]\nbreakpoints = [[450, 0], [1650, 9]]\n";
    let text = format!("{}{book}", demo_text());
    let chosen = wrote(choose("fire-float.toml", &text, Choice::Specified));
    let sheet = parse("fire-float.toml", &chosen.text).expect("a sheet");
    assert_eq!(sheet.advance.initial_crank_degrees.value(), Some(&6.0));
    let last = sheet.centrifugal.breakpoints.value().expect("breakpoints")[1];
    assert_eq!((last.crank_rpm, last.crank_degrees), (3300.0, 18.0));
    let said: Vec<_> = chosen
        .changes
        .iter()
        .map(|change| (change.key.as_str(), change.before.as_deref().unwrap_or_default(), change.after.as_deref()))
        .collect();
    assert_eq!(
        said,
        [
            ("advance.initial", "\"8 crank degrees\"", Some("\"6 crank degrees\"")),
            (
                "centrifugal.unit",
                "[\"crank rpm\", \"crank degrees\"]",
                Some("[\"distributor rpm\", \"distributor degrees\"]")
            ),
            ("centrifugal.breakpoints", "[[900, 0], [1700, 12], [3300, 20]]", Some("[[450, 0], [1650, 9]]")),
        ]
    );
    let changed = chosen.text.lines().zip(text.lines()).filter(|(now, before)| now != before).count();
    assert_eq!((changed, chosen.text.lines().count()), (3, text.lines().count()), "three lines change, no more");
    assert!(chosen.text.contains("# or [\"distributor rpm\", \"distributor degrees\"]"), "comments stay");
}

#[test]
fn choosing_what_is_not_there_is_refused() {
    for choice in [Choice::Found, Choice::Specified] {
        let error = choose("fire-float.toml", demo_text(), choice).expect_err("nothing to choose");
        assert!(matches!(error, SheetError::File(_)), "{error:?}");
    }
}

#[test]
fn a_windows_sheet_keeps_its_line_ends_and_its_mark() {
    let windows = format!("\u{feff}{}", demo_text().replace('\n', "\r\n"));
    let changed = wrote(with_found("sheet.toml", &windows, &fitted(true))).text;
    assert!(changed.starts_with(&windows));
    assert_eq!(changed.matches('\n').count(), changed.matches("\r\n").count());
    let chosen = wrote(choose("sheet.toml", &changed, Choice::Found)).text;
    assert_eq!(chosen.matches('\n').count(), chosen.matches("\r\n").count());
}

#[test]
fn a_new_sheet_waits_for_everything_but_what_the_readings_tell() {
    let text = new_sheet("survey.toml", "survey \"one\".csv").expect("a sheet");
    let text = wrote(with_found("survey.toml", &text, &fitted(true))).text;
    let sheet = parse("survey.toml", &text).expect("a sheet");
    assert_eq!(sheet.readings.value().map(String::as_str), Some("survey \"one\".csv"));
    assert!(sheet.advance.initial_crank_degrees.value().is_none(), "nothing is chosen unasked");
    let chosen = wrote(choose("survey.toml", &text, Choice::Found)).text;
    let sheet = parse("survey.toml", &chosen).expect("a sheet");
    let found = sheet.found.expect("a found curve");
    assert_eq!(sheet.advance.initial_crank_degrees.value(), found.initial_crank_degrees.value());
    assert_eq!(sheet.centrifugal.breakpoints.value(), found.centrifugal.value());
    assert_eq!(sheet.vacuum.breakpoints.value(), found.vacuum.value());
    assert!(!chosen.contains("# initial ="), "the answer stands where its question waited");
    insta::assert_snapshot!("new_sheet_of_readings", without_figures(&chosen));
}

#[test]
fn a_line_that_somebody_commented_out_is_left_alone() {
    let text = "bobweight_sheet = 1\n[advance]\n# initial = \"9 crank degrees\" pinked on the hill\nheld = \"8 crank degrees\"\n\
                [specified.advance]\ninitial = \"7 crank degrees\"\n";
    let chosen = wrote(choose("sheet.toml", text, Choice::Specified)).text;
    let wanted =
        text.replace("held = \"8 crank degrees\"\n", "held = \"8 crank degrees\"\ninitial = \"7 crank degrees\"\n");
    assert_eq!(chosen, wanted);
}

#[test]
fn a_table_on_one_line_is_not_added_to() {
    let text = "bobweight_sheet = 1\nadvance = { held = \"8 crank degrees\" }\n[specified]\n\
                advance.initial = \"7 crank degrees\"\n";
    let error = choose("sheet.toml", text, Choice::Specified).expect_err("nowhere to add it");
    assert_eq!((error.key(), error.line()), (Some("advance"), Some(2)));
}

#[test]
fn files_are_never_written_over_unread() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("sheet.toml");
    write_new(&path, "first").expect("a new file");
    assert!(write_new(&path, "second").is_err());
    assert!(replace(&path, "something else", "second").is_err(), "it was changed meanwhile");
    assert_eq!(read_text(&path).expect("the file"), "first");
    replace(&path, "first", "second").expect("it is as it was read");
    assert_eq!(read_text(&path).expect("the file"), "second");
    assert_eq!(std::fs::read_dir(folder.path()).expect("the folder").count(), 1, "nothing is left beside it");
}

#[cfg(unix)]
#[test]
fn a_link_stays_a_link_and_permissions_stay_as_they_are() {
    use std::os::unix::fs::PermissionsExt;
    let folder = tempfile::tempdir().expect("a folder");
    let (path, link) = (folder.path().join("sheet.toml"), folder.path().join("link.toml"));
    write_new(&path, "first").expect("a new file");
    std::fs::set_permissions(&path, std::fs::Permissions::from_mode(0o664)).expect("permissions");
    std::os::unix::fs::symlink(&path, &link).expect("a link");
    replace(&link, "first", "second").expect("the file behind the link");
    assert_eq!(read_text(&path).expect("the file"), "second");
    assert!(link.symlink_metadata().expect("the link").is_symlink());
    assert_eq!(path.metadata().expect("the file").permissions().mode() & 0o777, 0o664);
    std::fs::set_permissions(&path, std::fs::Permissions::from_mode(0o444)).expect("permissions");
    assert!(matches!(replace(&path, "second", "third"), Err(SheetError::Unwritten(_))));
}
