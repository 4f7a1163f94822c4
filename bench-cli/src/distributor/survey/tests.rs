use super::*;
use crate::distributor::readings::SpeedWas;

/// Answers the facts up to the first reading.
fn up_to_the_readings(stops: [&str; 2]) -> Survey {
    let mut survey = Survey::new(false);
    for answer in ["4711 A", "no", "yes", "yes", "yes", stops[0], stops[1], "yes", "yes", "1", "0", "700", "4000"] {
        let step = survey.next(None);
        assert!(matches!(step, Step::Fact(_)), "{step:?}");
        survey.answer(&step, answer).unwrap_or_else(|wrong| panic!("{answer}: {wrong}"));
    }
    survey
}

fn answer(survey: &mut Survey, text: &str) -> Result<String, String> {
    let step = survey.next(survey.fitted().as_ref());
    survey.answer(&step, text)
}

/// Source: arithmetic. Stopped at +36.75 before and -35.25 after, the middle is +0.75: at true top dead centre the wheel reads
/// 0.75 BTDC, which is subtracted from every reading.
#[test]
fn true_top_dead_centre_by_a_positive_stop_corrects_every_reading() {
    let mut survey = up_to_the_readings(["36.75 BTDC", "35.25 ATDC"]);
    assert!((survey.correction() - 0.75).abs() < 1e-12);
    answer(&mut survey, "700").expect("a speed");
    let said = answer(&mut survey, "8.75").expect("an angle");
    assert!((survey.readings()[0].crank_degrees - 8.0).abs() < 1e-12);
    assert!(said.contains("8.00 crank degrees BTDC"), "{said}");
    assert!(survey.text().contains("0.75 crank degrees are taken out"), "{}", survey.text());
}

#[test]
fn every_answer_is_kept_and_the_survey_goes_on_from_there() {
    let mut survey = Survey::new(false);
    let mut answers = vec![
        "none", "a little", "yes", "none", "yes", "36 BTDC", "36 ATDC", "yes", "yes", "0.5", "1.5 %", "650", "3800",
    ];
    answers.extend(["650", "8", "325 distributor rpm", "4 distributor degrees", "back", "650", "8", "660", "8", "500"]);
    for text in answers {
        let kept = Survey::parse("kept.csv", &survey.text()).expect("readable").expect("a survey");
        assert_eq!(kept.text(), survey.text());
        let step = survey.next(survey.fitted().as_ref());
        assert_eq!(kept.question(&kept.next(None)), survey.question(&step), "{text}");
        survey.answer(&step, text).unwrap_or_else(|wrong| panic!("{text}: {wrong}"));
    }
    assert_eq!(survey.readings().len(), 3);
    assert_eq!(Survey::parse("readings.csv", "hose,speed_was\n").expect("not ours"), None);
}

#[test]
fn wrong_answers_say_what_to_write_and_change_nothing() {
    let mut survey = up_to_the_readings(["36 BTDC", "36 ATDC"]);
    let before = survey.clone();
    for (text, says) in [
        ("about 700", "does not begin with a number"),
        ("700 rpm", "neither crank nor distributor"),
        ("25000", "outside"),
        ("700,5", "decimal comma"),
        ("", "missing"),
    ] {
        let wrong = answer(&mut survey, text).expect_err(text);
        assert!(wrong.contains(says), "{text}: {wrong}");
        assert_eq!(survey, before);
    }
}

#[test]
fn an_advance_that_moves_at_idle_is_said_at_once() {
    for (slow, says) in [("8", "is at rest at idle"), ("5", "has begun already")] {
        let mut survey = up_to_the_readings(["36 BTDC", "36 ATDC"]);
        for _ in 0..3 {
            answer(&mut survey, "700").expect("a speed");
            answer(&mut survey, "8").expect("an angle");
        }
        answer(&mut survey, "550").expect("a speed");
        let said = answer(&mut survey, slow).expect("an angle");
        assert!(said.contains(says), "{said}");
    }
}

#[test]
fn what_would_mislead_is_asked_again() {
    let mut survey = up_to_the_readings(["36 btdc", "36 ATDC"]);
    let wrong = answer(&mut survey, "done").expect_err("no reading yet");
    assert!(wrong.contains("6 readings at the least"), "{wrong}");
    for _ in 0..3 {
        answer(&mut survey, "700").expect("a speed");
        answer(&mut survey, "8").expect("an angle");
    }
    let wrong = answer(&mut survey, "690").expect_err("not below idle");
    assert!(wrong.contains("not below idle, 700 crank rpm"), "{wrong}");
}

/// Source of the factor: 1 inHg = 3.386389 kPa (NIST Special Publication 811, B.8).
#[test]
fn a_gauge_in_inches_is_not_taken_for_kilopascals() {
    use crate::quantity::{as_depression, kpa_and_not_inhg};
    assert!(kpa_and_not_inhg("7", 25.0).expect_err("7 inHg are 23.7 kPa").contains("`7 inHg`"));
    for (text, asked) in [("24", 25.0), ("9", 10.0), ("7 inHg", 25.0), ("7 kPa", 25.0), ("50", 25.0)] {
        kpa_and_not_inhg(text, asked).unwrap_or_else(|wrong| panic!("{text}: {wrong}"));
    }
    let kpa = |text: &str| parse_pressure(&as_depression(text, "kPa")).map(|read| read.depression_kpa(101.325));
    assert!((kpa("12 inHg").expect("a depression") - 12.0 * 3.386_389).abs() < 0.01);
    assert!((kpa("12").expect("kPa") - 12.0).abs() < 1e-9);
    assert!((kpa("80 kPa absolute").expect("absolute") - 21.325).abs() < 1e-6);
    assert!(kpa("some").is_err());
}

#[test]
fn what_was_seen_by_hand_is_told_again() {
    let mut survey = Survey::new(false);
    for answer in ["none", "no", "no", "yes", "no", "skip"] {
        let step = survey.next(None);
        survey.answer(&step, answer).unwrap_or_else(|wrong| panic!("{answer}: {wrong}"));
    }
    let seen = survey.seen().join(" ");
    for part in ["They stick", "further than it was made for", "never held against true top dead centre"] {
        assert!(seen.contains(part), "{part}: {seen}");
    }
    assert!(up_to_the_readings(["36 BTDC", "36 ATDC"]).seen().is_empty());
}

#[test]
fn the_plot_grows_with_the_readings() {
    let reading = |crank_rpm: f64, crank_degrees: f64, speed_was| Reading {
        line: 1,
        hose: Hose::Off,
        speed_was,
        crank_rpm,
        crank_degrees,
        depression_kpa: None,
    };
    let mut readings = vec![reading(700.0, 8.0, SpeedWas::Steady)];
    assert_eq!(plot(&readings, None, Shaft::Crank), "");
    readings.push(reading(2000.0, 20.0, SpeedWas::Rising));
    readings.push(reading(1500.0, 15.0, SpeedWas::Falling));
    let drawn = plot(&readings, None, Shaft::Crank);
    let line = |sign: char| drawn.lines().skip(1).position(|line| line.contains(sign)).expect("it is drawn");
    assert!(line('+') < line('x') && line('x') < line('o'), "{drawn}");
    assert!(drawn.ends_with("crank rpm\n") && drawn.lines().all(|line| line.len() < 80), "{drawn}");
}

/// Source: JCGM 100:2008, 4.3.7: what wanders by a to either side has a standard deviation of a over the root of 3.
#[test]
fn a_mark_that_dances_and_a_tachometer_that_wanders_are_stated_in_the_readings() {
    let mut survey = Survey::new(false);
    for text in ["none", "much", "yes", "none", "yes", "36 BTDC", "36 ATDC", "yes", "yes", "6.0", "3", "650", "3800"] {
        answer(&mut survey, text).expect(text);
    }
    answer(&mut survey, "650").expect("a speed");
    answer(&mut survey, "8").expect("an angle");
    let kept = crate::distributor::readings::parse("kept.csv", survey.text().as_bytes()).expect("readable");
    assert_eq!(kept.angle_scatter, Some(1.73));
    assert!((kept.speed_scatter - 0.0173).abs() < 1e-9);
    let still = up_to_the_readings(["36 BTDC", "36 ATDC"]);
    assert!(!still.text().contains("scatter"), "{}", still.text());
}

#[test]
fn what_somebody_wrote_of_the_meters_stays_in_the_file() {
    let stated = "# tachometer_accuracy = 2 %\n# gauge_accuracy = 2.5 kPa\n";
    let written = up_to_the_readings(["36 BTDC", "36 ATDC"]).text().replacen('\n', &format!("\n{stated}"), 1);
    let mut survey = Survey::parse("kept.csv", &written).expect("readable").expect("a survey");
    answer(&mut survey, "700").expect("a speed");
    answer(&mut survey, "8").expect("an angle");
    assert!(survey.text().contains(stated), "{}", survey.text());
}

/// Plays a distributor in a chuck that turns 200 to 1 800 distributor rpm, and gives back everything that is said.
fn off_engine(steps: usize) -> (Survey, String) {
    let mut survey = Survey::new(true);
    let mut all = String::new();
    for _ in 0..steps {
        let fitted = survey.fitted();
        let step = survey.next(fitted.as_ref());
        if step == Step::Finished {
            break;
        }
        let question = survey.question(&step);
        let text = match (&step, question.question.as_str()) {
            (Step::Reading(proposal), asked) if asked.starts_with("speed") => (proposal.crank_rpm / 2.0).to_string(),
            (Step::Reading(proposal), asked) if asked.starts_with("advance") => {
                ((proposal.crank_rpm / 2.0 - 500.0) / 80.0).clamp(0.0, 10.0).to_string()
            }
            (Step::Reading(proposal), _) => proposal.depression_kpa.expect("asked for").to_string(),
            (Step::Fact(fact), _) if fact.key == "lowest" => "200".to_owned(),
            (Step::Fact(fact), _) if fact.key == "highest" => "1800".to_owned(),
            (Step::Fact(fact), _) if fact.key == "speed_wanders" => "0".to_owned(),
            (Step::Fact(fact), _) if fact.key == "shaft_shake" => "much".to_owned(),
            (Step::Fact(_) | Step::Finished, _) => "yes".to_owned(),
        };
        let said = survey.answer(&step, &text).unwrap_or_else(|wrong| panic!("{text}: {wrong}"));
        let plotted = plot(&survey.readings(), fitted.as_ref(), survey.shaft());
        all = [all, question.before, question.question, said, plotted].join("\n");
    }
    (survey, all)
}

#[test]
fn off_the_engine_everything_is_asked_and_told_of_the_distributor() {
    let (survey, said) = off_engine(200);
    assert!(survey.readings().len() > 15, "{said}");
    for engine in ["crank", "idle", "TDC", "throttle", "timing", "cylinder", "engine", "mark"] {
        assert!(!said.contains(engine), "`{engine}` in: {said}");
    }
    // 1 800 of the distributor are 3 600 of the crank, and are asked for as 1 800.
    assert!(said.contains("about 1 800 distributor rpm") && said.contains("which speed, distributor rpm?"), "{said}");
    assert_eq!(
        (survey.fact("lowest"), survey.fact("highest")),
        (Some("200 distributor rpm"), Some("1800 distributor rpm"))
    );
    assert!(survey.readings().iter().any(|reading| (reading.crank_rpm - 3_600.0).abs() < 1e-9));
    let kept = Survey::parse("kept.csv", &survey.text()).expect("readable").expect("a survey");
    assert_eq!(kept.text(), survey.text());
}

#[test]
fn a_chuck_is_guarded_and_turns_the_right_way_before_anything_spins() {
    let (_, said) = off_engine(200);
    let at = |part: &str| said.find(part).unwrap_or_else(|| panic!("`{part}`: {said}"));
    assert!(
        at("guard about the chuck") < at("turns in use") && at("turns in use") < at("slowest speed that the drill")
    );
    let mut survey = Survey::new(true);
    for text in ["none", "no", "y", "y", "y"] {
        answer(&mut survey, text).expect(text);
    }
    assert!(answer(&mut survey, "n").expect_err("not guarded").contains("winds up"), "{survey:?}");
    assert!(answer(&mut survey, "perhaps").expect_err("unclear").contains("answer yes or no"));
    answer(&mut survey, "Y").expect("guarded");
    assert!(answer(&mut survey, "n").expect_err("the wrong way").contains("direction round"));
    answer(&mut survey, "y").expect("the right way");
    answer(&mut survey, "0").expect("still");
    let wrong = answer(&mut survey, "9000").expect_err("too fast");
    assert!(wrong.contains("write 50 to 6 000 distributor rpm"), "{wrong}");
}

#[test]
fn nothing_is_sucked_at_by_mouth_and_no_cap_comes_off_under_power() {
    for place in [false, true] {
        let mut survey = Survey::new(place);
        let mut said = String::new();
        for text in ["none", "no", "yes", "yes"] {
            let step = survey.next(None);
            said = [said, survey.question(&step).before].join("\n");
            survey.answer(&step, text).expect(text);
        }
        assert!(said.contains("never by mouth") && !said.contains("suck"), "{said}");
        assert_eq!(said.contains("Key off and battery off, and only then the cap off"), !place, "{said}");
    }
}
