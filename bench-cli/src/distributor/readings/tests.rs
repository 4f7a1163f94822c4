use miette::Diagnostic;

use super::*;

const GOOD: &str = "\
# timing light, hose off unless vacuum is given
hose,speed_was,crank_rpm,crank_degrees,vacuum_inHg
off,rising,450,8,
off,falling,1000,10, # the needle trembled

on,steady,1500,26,11
";

fn good() -> Readings {
    parse("old.csv", GOOD.as_bytes()).unwrap()
}

/// The message of a refusal and what to do next.
#[track_caller]
fn refusal(file: &str) -> (String, String) {
    let error = parse("old.csv", file.as_bytes()).expect_err(file);
    (error.to_string(), error.help().expect("every refusal has a remedy").to_string())
}

#[track_caller]
fn refuses(file: &str, message: &str, remedy: &str) {
    let (said, help) = refusal(file);
    assert_eq!(said, message, "{file}");
    assert!(help.contains(remedy), "{help}");
}

#[test]
fn a_file_with_comments_and_empty_lines_is_read() {
    let readings = good();
    let lines: Vec<_> = readings.readings.iter().map(|reading| reading.line).collect();
    assert_eq!(lines, [3, 4, 6]);
    let last = &readings.readings[2];
    assert_eq!((last.hose, last.speed_was), (Hose::On, SpeedWas::Steady));
    assert_eq!((last.crank_rpm, last.crank_degrees), (1500.0, 26.0));
    // 11 inHg of 3 386.389 Pa each (NIST SP 811, appendix B.8, from memory; pint agrees).
    assert!((last.depression_kpa.unwrap() - 37.250_279).abs() < 1e-9);
    assert_eq!(readings.hose_off().count(), 2);
    assert_eq!(readings.hose_on().count(), 1);
}

#[test]
fn ends_of_lines_a_byte_order_mark_and_the_order_of_columns_do_not_matter() {
    for ends in ["\r\n", "\r"] {
        let file = GOOD.replace('\n', ends);
        assert_eq!(parse("old.csv", file.as_bytes()).unwrap(), good(), "{ends:?}");
    }
    assert_eq!(parse("old.csv", format!("\u{feff}{GOOD}").as_bytes()).unwrap(), good());
    let turned = "vacuum_inHg, crank_degrees ,hose,crank_rpm,speed_was\n,8,off,450,rising\n";
    assert_eq!(
        parse("old.csv", turned.as_bytes()).unwrap().readings[0],
        Reading { line: 2, ..good().readings[0].clone() }
    );
}

#[test]
fn every_pressure_unit_comes_to_kpa_of_depression() {
    // Factors of NIST SP 811 (2008), appendix B.8, from memory; pint agrees.
    let cases = [
        ("vacuum_inHg", "10", 33.863_89),
        ("vacuum_kPa", "10", 10.0),
        ("vacuum_mmHg", "100", 13.332_24),
        ("vacuum_mbar", "100", 10.0),
        ("vacuum_psi", "1", 6.894_757),
        ("manifold_kPa_absolute", "60", 41.3),
    ];
    for (column, value, kpa) in cases {
        let file = format!(
            "# atmosphere = 101.3 kPa absolute\nhose,speed_was,crank_rpm,crank_degrees,{column}\non,steady,1500,26,{value}\n"
        );
        let readings = parse("old.csv", file.as_bytes()).unwrap();
        assert!((readings.readings[0].depression_kpa.unwrap() - kpa).abs() < 1e-9, "{column}");
        assert_eq!(readings.atmosphere_kpa, Some(101.3));
    }
}

#[test]
fn a_file_without_readings_is_refused() {
    refuses("", "old.csv, line 1: the file holds no readings", "begin with a line such as");
    refuses("# only a remark\n\n", "old.csv, line 1: the file holds no readings", "begin with a line such as");
    refuses(
        "hose,speed_was,crank_rpm,crank_degrees\n",
        "old.csv, line 1: the file names its columns but holds no readings",
        "a line for each reading",
    );
}

#[test]
fn wrong_columns_are_refused() {
    refuses(
        "hose,speed_was,Crank_RPM,crank_degrees\n",
        "old.csv, line 1: unknown column `Crank_RPM`",
        "write `crank_rpm`",
    );
    refuses(
        "# mine\nhose,speed_was,crank_rpm,crank_degrees,weather\n",
        "old.csv, line 2: unknown column `weather`",
        "take the column out",
    );
    refuses("hose,speed_was,crank_rpm,crank_degrees,\n", "old.csv, line 1: unknown column ``", "the comma too many");
    refuses("hose,hose\n", "old.csv, line 1: the column `hose` is named twice", "keep one");
    refuses(
        "hose,speed_was,crank_rpm,distributor_rpm\n",
        "old.csv, line 1: the columns `crank_rpm` and `distributor_rpm` exclude each other",
        "keep one",
    );
    refuses(
        "hose,speed_was,crank_rpm\noff,rising,450\n",
        "old.csv, line 1: the column `crank_degrees` or `distributor_degrees` is missing",
        "add the one that you read",
    );
    refuses(
        "hose,speed_was,crank_rpm,crank_degrees,manifold_kPa_absolute\n",
        "old.csv, line 1, column manifold_kPa_absolute: `manifold_kPa_absolute` says nothing of the depression while \
         the atmosphere is not given",
        "# atmosphere = 101.3 kPa absolute",
    );
}

#[test]
fn a_spreadsheet_of_another_country_is_named_not_misread() {
    refuses(
        "hose;speed_was;crank_rpm;crank_degrees\noff;rising;450;8,5\n",
        "old.csv, line 1: the columns are separated by semicolons, as a spreadsheet exports them where the comma is \
         the decimal sign",
        "commas between the columns",
    );
    refuses(
        "hose\tspeed_was\tcrank_rpm\tcrank_degrees\n",
        "old.csv, line 1: the columns are separated by tabs, as a spreadsheet exports them where the comma is the \
         decimal sign",
        "commas between the columns",
    );
    refuses(
        "hose,speed_was,crank_rpm,crank_degrees\noff,rising,450,8,5\n",
        "old.csv, line 2: 5 fields where 4 columns are named, as a decimal comma makes two of one number",
        "8.5, not 8,5",
    );
    refuses(
        "hose,speed_was,crank_rpm,crank_degrees\noff,rising,450,\"8,5\"\n",
        "old.csv, line 2, column crank_degrees: `8,5` has a decimal comma",
        "write `8.5`",
    );
}

#[test]
fn wrong_values_are_refused() {
    let cases = [
        ("off,rising,-450,8", "line 2, column crank_rpm: `-450` is outside above 0 to 20000 crank rpm"),
        ("off,rising,0,8", "line 2, column crank_rpm: `0` is outside above 0 to 20000 crank rpm"),
        ("off,rising,NaN,8", "line 2, column crank_rpm: `NaN` is not a number"),
        ("off,rising,inf,8", "line 2, column crank_rpm: `inf` is not a number"),
        ("off,rising,450 rpm,8", "line 2, column crank_rpm: `450 rpm` is not a number"),
        ("off,rising,,8", "line 2, column crank_rpm: the value is missing"),
        ("off,rising,450,91", "line 2, column crank_degrees: `91` is outside -30 to 90 crank degrees"),
        ("off,up,450,8", "line 2, column speed_was: `up` is not one of rising, falling, steady"),
        ("Off,rising,450,8", "line 2, column hose: `Off` is not one of on, off"),
        ("off,rising,450", "line 2: 3 fields where 4 columns are named"),
        ("on,rising,450,8", "line 2, column hose: the hose is on, but no vacuum is given"),
        ("\"off,rising,450,8\noff,rising,450,8", "line 2: a quotation mark that is not closed"),
    ];
    for (line, message) in cases {
        refuses(&format!("hose,speed_was,crank_rpm,crank_degrees\n{line}\n"), &format!("old.csv, {message}"), "");
    }
}

#[test]
fn vacuums_that_contradict_the_hose_or_the_range_are_refused() {
    let cases = [
        ("on,steady,1500,26,", "the hose is on, but no vacuum is given"),
        ("off,steady,1500,26,11", "a vacuum of `11` is given while the hose is off"),
        ("on,steady,1500,26,-2", "`-2` is outside 0 to 32.5 inHg depression"),
        ("on,steady,1500,26,40", "`40` is outside 0 to 32.5 inHg depression"),
    ];
    for (line, message) in cases {
        let file = format!("hose,speed_was,crank_rpm,crank_degrees,vacuum_inHg\n{line}\n");
        refuses(&file, &format!("old.csv, line 2, column vacuum_inHg: {message}"), "");
    }
    refuses(
        "# atmosphere = 95 kPa absolute\nhose,speed_was,crank_rpm,crank_degrees,manifold_kPa_absolute\non,steady,1500,26,96\n",
        "old.csv, line 3, column manifold_kPa_absolute: `96` is outside 0 to 95 kPa absolute, the atmosphere of this file",
        "correct the value",
    );
}

#[test]
fn scatter_is_stated_once_and_in_range_or_taken_for_none() {
    let text = |stated: &str| format!("{stated}hose,speed_was,crank_rpm,crank_degrees\noff,rising,900,8\n");
    let scatter = |stated: &str| parse("old.csv", text(stated).as_bytes()).unwrap().speed_scatter;
    assert!((scatter("# speed_scatter = 2.5 %\n") - 0.025).abs() < 1e-12);
    assert!(scatter("# the speed_scatter is small\n").abs() < 1e-12);
    for value in ["11 %", "2", "-1 %", "nan %", "some %"] {
        refuses(
            &text(&format!("# speed_scatter = {value}\n")),
            &format!("old.csv, line 1: `{value}` is no scatter of the speeds"),
            "# speed_scatter = 2 %",
        );
    }
    for (answer, holds) in [("yes", Some(true)), ("no", Some(false)), ("skip", None)] {
        let kept = text(&format!("# answer: leak_test = {answer}\n"));
        assert_eq!(parse("old.csv", kept.as_bytes()).unwrap().unit_holds, holds);
    }
    let parsed = parse("old.csv", text("# angle_scatter = 1.5 crank degrees\n").as_bytes()).unwrap();
    assert_eq!(parsed.angle_scatter, Some(1.5));
    refuses(
        &text("# angle_scatter = 1.5\n"),
        "old.csv, line 1: `1.5` is no scatter of the timings",
        "# angle_scatter = 2 crank degrees",
    );
    refuses(
        &text("# speed_scatter = 2 %\n# speed_scatter = 2 %\n"),
        "old.csv, line 2: the scatter of the speeds is given twice",
        "keep the line",
    );
}

#[test]
fn a_meter_s_accuracy_is_stated_once_and_in_its_maker_s_words_or_not_at_all() {
    let text = |stated: &str| format!("{stated}hose,speed_was,crank_rpm,crank_degrees\noff,rising,900,8\n");
    let parsed = |stated: &str| parse("old.csv", text(stated).as_bytes()).unwrap();
    let nothing = parsed("");
    assert_eq!((nothing.tachometer_accuracy, nothing.gauge_accuracy), (None, None));
    let both = parsed("# tachometer_accuracy = 1 % + 20 crank rpm\n# gauge_accuracy = 1 inHg\n");
    // By hand: 1 % of 3 000 and 20 are 50; an inch of mercury is 3.386 kPa (NIST SP 811, B.8).
    assert!((both.tachometer_accuracy.unwrap().within(3000.0) - 50.0).abs() < 1e-9);
    assert!((both.gauge_accuracy.unwrap().within(50.0) - 3.386).abs() < 1e-3);
    let of_the_shaft = parsed("# tachometer_accuracy = 10 distributor rpm\n").tachometer_accuracy.unwrap();
    assert!((of_the_shaft.within(900.0) - 20.0).abs() < 1e-9);
    for wrong in ["2", "11 %", "-1 %", "1 % + 201 crank rpm", "20 rpm", "1 % + 0.5 kPa", "nan %"] {
        refuses(
            &text(&format!("# tachometer_accuracy = {wrong}\n")),
            &format!("old.csv, line 1: `{wrong}` is no accuracy of a tachometer"),
            "# tachometer_accuracy = 1 % + 20 crank rpm",
        );
    }
    for wrong in ["21 %", "1 in", "10.1 kPa", "1 % + 20 crank rpm", "2 kPa depression"] {
        refuses(
            &text(&format!("# gauge_accuracy = {wrong}\n")),
            &format!("old.csv, line 1: `{wrong}` is no accuracy of a vacuum gauge"),
            "# gauge_accuracy = 4 % + 0.5 kPa",
        );
    }
    refuses(
        &text("# gauge_accuracy = 4 %\n# gauge_accuracy = 4 %\n"),
        "old.csv, line 2: the accuracy of the vacuum gauge is said twice",
        "keep the line",
    );
}

#[test]
fn an_atmosphere_that_cannot_be_is_refused() {
    for value in ["101.3 kPa", "1013 kPa absolute", "NaN kPa absolute", "101,3 kPa absolute"] {
        refuses(
            &format!("\n# atmosphere = {value}\n"),
            &format!("old.csv, line 2: `{value}` is no atmosphere"),
            "# atmosphere = 101.3 kPa absolute",
        );
    }
    let twice = "# atmosphere = 101.3 kPa absolute\n# atmosphere = 99 kPa absolute\n";
    refuses(twice, "old.csv, line 2: the atmosphere is given twice", "keep the line");
}

#[test]
fn bytes_that_are_not_text_are_refused_in_their_line() {
    let error = parse("old.csv", b"# one\n# two \xe4\n").unwrap_err();
    assert_eq!(error.to_string(), "old.csv, line 2: the file is not UTF-8 text");
}

#[test]
fn the_span_of_a_refusal_is_the_value() {
    let file = "\u{feff}# head\r\n\r\nhose,speed_was,crank_rpm,crank_degrees\r\noff, rising , -450 ,8\r\n";
    let Err(ReadingsError::Refused(refusal)) = parse("old.csv", file.as_bytes()) else { panic!("accepted") };
    let written = file.trim_start_matches('\u{feff}');
    assert_eq!(&written[refusal.span.offset()..][..refusal.span.len()], "-450");
    assert_eq!(refusal.line, 4);
}

#[test]
fn a_folder_and_a_missing_file_are_refused_with_a_remedy() {
    let folder = tempfile::tempdir().unwrap();
    let error = read(folder.path()).unwrap_err();
    assert!(error.to_string().ends_with("this is a folder, not a file of readings"), "{error}");
    let error = read(&folder.path().join("none.csv")).unwrap_err();
    assert!(error.to_string().ends_with("none.csv: there is no such file"), "{error}");
    assert!(error.help().is_some());
}

#[test]
fn a_file_without_permission_is_refused() {
    // Root may read everything, so the refusal of the operating system is made here.
    let cause = std::io::Error::from(std::io::ErrorKind::PermissionDenied);
    let error = ReadingsError::from_io("old.csv".to_owned(), Path::new("old.csv"), cause);
    assert_eq!(error.to_string(), "old.csv: you have no permission to read this file");
    assert!(error.help().unwrap().to_string().contains("chmod"));
}
