use super::*;
use crate::record::trials::{Heard, Listening, Measure, Place, Said, Top, Trial};
use crate::sheet::tests::demo_text;
use crate::sheet::{Sheet, parse as parse_sheet};

const HEAD: &str = "# place = full throttle\n# speed = 2000 crank rpm\n# listening = ear\n\
                    series,crank_degrees,torque_Nm,pinking,conditions\n";

fn sheet() -> Sheet {
    parse_sheet("engine.toml", demo_text()).expect("the demo")
}

fn log(rows: &str) -> Log {
    parse("trials.csv", format!("{HEAD}{rows}").as_bytes()).unwrap_or_else(|error| panic!("{error:?}"))
}

/// A row for each timing of a series, quiet, with the torque of an engine whose best is 24 and loses 1 % at 5 crank degrees.
fn quiet(series: u32, timings: &[f64]) -> String {
    let torque = |degrees: f64| 150.0 * (1.0 - 0.01 * ((degrees - 24.0) / 5.0).powi(2));
    timings
        .iter()
        .fold(String::new(), |rows, degrees| rows + &format!("{series},{degrees},{:.3},no,\n", torque(*degrees)))
}

fn following(log: &Log, series: u32) -> Next {
    next(log, &Ceiling::of(&sheet(), log).expect("a ceiling"), series)
}

#[track_caller]
fn tries(log: &Log, series: u32, crank_degrees: f64) {
    match following(log, series) {
        Next::Try(proposed) => assert!((proposed - crank_degrees).abs() < 0.01, "{proposed}, not {crank_degrees}"),
        ended @ Next::Ended(_) => panic!("{ended:?}"),
    }
}

/// The demo has 21.5 at 2 000 crank rpm and allows 30 without vacuum: it begins 4 later, and goes on by 1.
#[test]
fn it_goes_up_by_one_and_never_past_the_limit() {
    tries(&log(""), 1, 17.5);
    tries(&log(&quiet(1, &[17.5])), 1, 18.5);
    // What was set later than proposed is where it goes on from.
    tries(&log(&quiet(1, &[15.0])), 1, 16.0);
    let rising = "1,26,100,no,\n1,27,101,no,\n1,28,102,no,\n1,29,103,no,\n1,29.6,104,no,\n";
    tries(&log(rising), 1, 30.0);
    // At the limit it goes back over what was tried.
    tries(&log(&format!("{rising}1,30,105,no,\n")), 1, 30.0);
    tries(&log(&format!("{rising}1,30,105,no,\n1,30,105,no,\n")), 1, 29.6);
    tries(&log(&format!("{rising}1,30,105,no,\n1,30,105,no,\n1,29.6,104,no,\n")), 1, 29.0);
}

#[test]
fn past_the_top_it_goes_back_over_all_of_it_and_up_again() {
    let up: Vec<f64> = (0..10).map(|step| 18.5 + f64::from(step)).collect();
    tries(&log(&quiet(1, &up[..9])), 1, 27.5);
    let mut gone = up.clone();
    for planned in up.iter().rev() {
        tries(&log(&quiet(1, &gone)), 1, *planned);
        gone.push(*planned);
    }
    // These agree to the third place: it is settled after the first way back.
    assert_eq!(following(&log(&quiet(1, &gone)), 1), Next::Ended(Ended::Settled));
}

#[test]
fn the_first_pinking_ends_it_and_nothing_comes_near_it_again() {
    let pinked = log(&format!("{}1,20.5,150,yes,hot\n", quiet(1, &[17.5, 18.5, 19.5])));
    assert_eq!(following(&pinked, 1), Next::Ended(Ended::Pinked(20.5)));
    assert!(ended_in_words(Ended::Pinked(20.5)).contains("set it back to 18.5 crank degrees or later"));
    let ceiling = Ceiling::of(&sheet(), &pinked).expect("a ceiling");
    assert!((ceiling.crank_degrees - 18.5).abs() < 1e-9 && ceiling.because.contains("pinked"), "{ceiling:?}");
    // Another series begins late again, and stops there.
    tries(&pinked, 2, 14.5);
    let again = log(&format!("{}1,20.5,150,yes,hot\n{}", quiet(1, &[17.5]), quiet(2, &[14.5, 15.5, 16.5, 17.5])));
    tries(&again, 2, 18.5);
    let at_top = log(&format!("1,20.5,150,yes,hot\n{}", quiet(2, &[14.5, 15.5, 16.5, 17.5, 18.5])));
    tries(&at_top, 2, 18.5);
    // What was quiet above a timing that pinked counts for nothing: heat, or an ear, made the difference.
    let above = log(&format!("{}1,19,150,yes,\n", quiet(1, &[17.5, 18.5, 19.5])));
    assert_eq!(judge(&sheet(), &above).expect("a result").last_quiet_crank_degrees, Some(18.5));
}

#[test]
fn where_nobody_can_tell_it_goes_no_further() {
    let unsure = format!("{}1,19.5,150,could not tell,\n", quiet(1, &[17.5, 18.5]));
    tries(&log(&unsure), 1, 19.5);
    assert_eq!(
        following(&log(&format!("{unsure}1,19.5,150,could not tell,\n")), 1),
        Next::Ended(Ended::CannotHear(19.5))
    );
    tries(&log(&format!("{unsure}1,19.5,150,no,\n")), 1, 20.5);
}

/// 3 300 crank rpm are more than half of the demo's 4 600.
#[test]
fn at_high_speed_and_full_load_silence_proves_nothing() {
    let loud = |listening: &str, rows: &str| {
        let head = HEAD.replace("2000", "3300").replace("listening = ear", &format!("listening = {listening}"));
        parse("trials.csv", format!("{head}{rows}").as_bytes()).expect("a log")
    };
    let by_ear = loud("ear", "");
    assert!(is_loud(&sheet(), &by_ear.said) && !is_loud(&sheet(), &log("").said));
    // 28 is what the engine had there, and 30 is allowed.
    let heard = Ceiling::of(&sheet(), &by_ear).expect("a ceiling");
    assert!(
        (heard.crank_degrees - 28.0).abs() < 0.01 && heard.because.contains("an ear hears no pinking here"),
        "{heard:?}"
    );
    let detected = Ceiling::of(&sheet(), &loud("knock detection", "")).expect("a ceiling");
    assert!((detected.crank_degrees - 30.0).abs() < 0.01, "{detected:?}");
    let result = judge(&sheet(), &loud("ear", &quiet(1, &[24.0, 25.0, 26.0, 27.0, 28.0]))).expect("a result");
    let said = result.statements.join(" ");
    for says in ["Silence proves nothing", "dynamometer with knock detection", "not called safe"] {
        assert!(said.contains(says), "{says}: {said}");
    }
    assert!(!said.contains("is safe"), "{said}");
    let quieter = judge(&sheet(), &log(&quiet(1, &[24.0]))).expect("a result");
    assert!(!quieter.statements.join(" ").contains("Silence"));
    assert!(quieter.not_proven.iter().any(|open| open.contains("no trial proves a timing safe")));
}

#[test]
fn what_is_beyond_the_limit_is_kept_and_counts_for_nothing() {
    let beyond = log(&format!("{}1,31,150,no,\n", quiet(1, &[26.0, 27.0, 28.0, 29.0, 30.0])));
    let result = judge(&sheet(), &beyond).expect("a result");
    assert_eq!((result.trials.len(), result.last_quiet_crank_degrees), (6, Some(30.0)));
    assert!(
        result.statements.iter().any(|said| said.contains("beyond the sheet's limit of 30.0")),
        "{:?}",
        result.statements
    );
    tries(&beyond, 1, 30.0);
}

#[test]
fn one_way_alone_tells_no_top_for_drift_looks_the_same() {
    let up: Vec<f64> = (0..10).map(|step| 18.5 + f64::from(step)).collect();
    let result = judge(&sheet(), &log(&quiet(1, &up))).expect("a result");
    assert_eq!((result.top, result.best_crank_degrees), (Top::OneWay, None));
    assert!(result.statements.iter().any(|said| said.contains("Go over them the other way")));
    let few = judge(&sheet(), &log(&quiet(1, &up[..3]))).expect("a result");
    assert_eq!(few.top, Top::TooFew);
    assert_eq!(judge(&sheet(), &log("")).expect("a result").top, Top::TooFew);
}

/// An engine that gains 0.3 % with every trial, as it warms: a way up and a way back take that out.
#[test]
fn a_drift_is_taken_out_by_the_way_back() {
    let there_and_back: Vec<f64> =
        (0..20).map(|at: i32| 18.5 + f64::from(if at < 10 { at } else { 19 - at })).collect();
    let rows: Vec<String> = there_and_back
        .iter()
        .enumerate()
        .map(|(trial, degrees)| {
            #[expect(clippy::cast_precision_loss, reason = "twenty")]
            let warmer = 1.0 + 0.003 * trial as f64;
            let torque = 150.0 * warmer * (1.0 - 0.01 * ((degrees - 24.0) / 5.0).powi(2));
            format!("1,{degrees},{torque:.3},no,\n")
        })
        .collect();
    let best = judge(&sheet(), &log(&rows.concat())).expect("a result").best_crank_degrees.expect("a top");
    assert!((best.value - 24.0).abs() < 0.3 && best.low <= 24.0 && best.high >= 24.0, "{best:?}");
}

/// Less time is better, and a percentage is the same whatever it is of.
#[test]
fn a_time_is_turned_round() {
    let rows: String = quiet(
        1,
        &[19.0, 20.0, 21.0, 22.0, 23.0, 24.0, 25.0, 26.0, 27.0, 26.0, 25.0, 24.0, 23.0, 22.0, 21.0, 20.0, 19.0],
    );
    let by_torque = judge(&sheet(), &log(&rows)).expect("a result").best_crank_degrees.expect("a top");
    let timed: Vec<String> = rows
        .lines()
        .map(|row| {
            let fields: Vec<&str> = row.split(',').collect();
            let torque: f64 = fields[2].parse().expect("a torque");
            format!("1,{},{:.6},no,\n", fields[1], 1_500.0 / torque)
        })
        .collect();
    let head = HEAD.replace("torque_Nm", "time_s");
    let timed = parse("trials.csv", format!("{head}{}", timed.concat()).as_bytes()).expect("a log");
    let by_time = judge(&sheet(), &timed).expect("a result").best_crank_degrees.expect("a top");
    assert!((by_torque.value - by_time.value).abs() < 1e-3 && (by_torque.value - 24.0).abs() < 0.1, "{by_torque:?}");
}

#[test]
fn a_log_is_read_in_other_columns_and_added_to_in_its_own() {
    let text = "# place = part throttle\n# speed = 1500 distributor rpm\n# depression = 10 inHg depression\n# listening = knock detection\n\
                pinking,distributor_degrees,time_s\nno,10,12.5\nyes,10.5,12.25\n";
    let log = parse("hill.csv", text.as_bytes()).expect("a log");
    assert_eq!(
        (log.said.place, log.said.measure, log.said.listening),
        (Place::PartThrottle, Measure::Time, Listening::KnockDetection)
    );
    assert!((log.said.speed_crank_rpm - 3_000.0).abs() < 1e-9 && (log.said.depression_kpa - 33.863_89).abs() < 1e-4);
    assert_eq!(log.trials.iter().map(|trial| trial.crank_degrees).collect::<Vec<_>>(), [20.0, 21.0]);
    assert!(!log.keeps_series() && log.last_series() == 1);
    let trial = Trial {
        line: 0,
        series: 1,
        crank_degrees: 19.0,
        measured: 12.75,
        heard: Heard::CouldNotTell,
        conditions: String::new(),
    };
    assert_eq!(log.row(&trial), "could not tell,9.5,12.75\n");
}

#[test]
fn what_is_written_is_read_back_whatever_the_conditions_say() {
    let said = Said {
        place: Place::PartThrottle,
        speed_crank_rpm: 2_400.0,
        depression_kpa: 33.864,
        measure: Measure::Delivery,
        listening: Listening::Ear,
    };
    let log = Log::new("trials.csv", said);
    for conditions in ["", "warm, tank half", "the \"good\" fuel; # 3", "it's windy\nand wet", "  blanks  ", "Öl 80 °C"]
    {
        let trial = Trial {
            line: 0,
            series: 3,
            crank_degrees: 22.25,
            measured: 401.5,
            heard: Heard::Quiet,
            conditions: conditions.into(),
        };
        let text = format!("{}{}", log.head(), log.row(&trial));
        let again = parse("trials.csv", text.as_bytes()).unwrap_or_else(|error| panic!("{error:?}\n{text}"));
        assert_eq!(again.said, said);
        let [read] = again.trials.as_slice() else { panic!("{again:?}") };
        assert_eq!((read.series, read.crank_degrees, read.measured, read.heard), (3, 22.25, 401.5, Heard::Quiet));
        assert_eq!(again.row(read), log.row(&trial), "{text}");
    }
}

#[test]
fn a_log_that_cannot_be_read_says_where_and_what_to_do() {
    let changed = |old: &str, new: &str| format!("{HEAD}1,20,150,no,\n").replace(old, new);
    for (text, line, says) in [
        (String::new(), 1, "holds no readings"),
        (changed("# place = full throttle\n", ""), 3, "nothing says the place"),
        (changed("full throttle", "flat out"), 1, "`flat out` is not to be read"),
        (changed("full throttle", "part throttle"), 4, "nothing says the depression"),
        (changed("2000 crank rpm", "2000"), 2, "`2000` is not to be read"),
        (changed("2000 crank rpm", "25000 crank rpm"), 2, "is not to be read"),
        (changed("# listening = ear\n", ""), 3, "nothing says the listening"),
        (changed("# listening = ear\n", "# listening = ear\n# listening = ear\n"), 4, "listening is said twice"),
        (changed("torque_Nm", "torque"), 4, "unknown column `torque`"),
        (changed("torque_Nm,", "torque_Nm,time_s,"), 4, "exclude each other"),
        (changed("series,", "series,series,"), 4, "named twice"),
        (changed("torque_Nm,", ""), 4, "of what was measured is missing"),
        (changed("pinking,", ""), 4, "`pinking` is missing"),
        (changed("1,20,", "1,91,"), 5, "outside -30 to 90 crank degrees"),
        (changed("1,20,150,", "1,20,0,"), 5, "outside 0.001 to 1000000 Nm"),
        (changed("1,20,150,", "1,20,NaN,"), 5, "not a number"),
        (changed("150,no", "150,none"), 5, "`none` is not one of no, yes, could not tell"),
        (changed("1,20,150,no,\n", "2,20,150,no,\n1,21,150,no,\n"), 6, "outside the whole numbers from 2"),
        (changed("1,20,150,no,\n", "1.5,20,150,no,\n"), 5, "outside the whole numbers from 1"),
        (changed("1,20,150,no,\n", "1,20,150,no,\n1,21,15"), 6, "the last line is not whole"),
        // What is added below would stand inside the quotation.
        (changed("1,20,150,no,\n", "1,20,150,no,\n1,21,151,no,\"dry, wa"), 6, "a quotation mark that is not closed"),
        (changed("1,20,150,no,\n", "1,21,15\n1,20,150,no,\n"), 5, "3 fields where 5 columns"),
        (changed(",", ";"), 4, "separated by semicolons"),
    ] {
        match parse("trials.csv", text.as_bytes()) {
            Ok(log) => panic!("{says}: {log:?}"),
            Err(crate::distributor::readings::ReadingsError::Refused(refusal)) => {
                assert!(refusal.to_string().contains(says), "{refusal}, not {says}");
                assert_eq!(refusal.line, line, "{refusal}");
                assert!(!refusal.remedy.is_empty());
            }
            Err(error) => panic!("{error}"),
        }
    }
}
