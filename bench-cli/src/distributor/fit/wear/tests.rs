use super::wear;
use crate::distributor::fit::{Asked, FitOptions, FitResult, VacuumOutcome, fit, questions, sentences};
use crate::distributor::readings::{Readings, parse};
use crate::record::fit::{Answer, Subject};
use crate::sheet::{Specification, Specified};
use std::fmt::Write;

/// 8 crank degrees, 16 more from 1 000 to 2 000 crank rpm, times a share; columns named as asked. Hose on at 2 500 crank rpm as
/// given, kPa and crank degrees.
fn survey(columns: [&str; 3], share: [f64; 2], on: &[(f64, f64)]) -> Readings {
    let mut text = format!("hose,speed_was,{},{},{}\n", columns[0], columns[1], columns[2]);
    for at in 0..24_u32 {
        let speed = 600.0 + 100.0 * f64::from(at);
        let angle = 8.0 + ((speed - 1000.0) / 1000.0).clamp(0.0, 1.0) * 16.0 + [0.3, -0.4, 0.2, -0.1][at as usize % 4];
        let was = if at % 2 == 0 { "rising" } else { "falling" };
        writeln!(text, "off,{was},{},{:.1},", speed * share[0], angle * share[1]).expect("a text");
    }
    for &(kpa, advance) in on {
        writeln!(text, "on,steady,{},{:.1},{kpa}", 2500.0 * share[0], 24.0 * share[1] + advance).expect("a text");
    }
    parse("old.csv", text.as_bytes()).expect("readings")
}

const CRANK: [&str; 3] = ["crank_rpm", "crank_degrees", "vacuum_kPa"];

fn fitted(readings: &Readings) -> FitResult {
    fit(readings, &FitOptions::default()).expect("a curve")
}

#[track_caller]
fn found(readings: &Readings, book: &Specification, subject: Subject) -> (Answer, String) {
    let findings = wear(&fitted(readings), book);
    let finding = findings.into_iter().find(|finding| finding.subject == subject).expect("it is judged");
    (finding.answer, finding.sentence)
}

/// A ramp from 17 to 40 kPa up to 10 crank degrees.
fn unit() -> Vec<(f64, f64)> {
    [5.0, 9.0, 13.0, 20.0, 25.0, 30.0, 35.0, 45.0, 50.0, 55.0]
        .into_iter()
        .map(|kpa| (kpa, ((kpa - 17.0) / 23.0_f64).clamp(0.0, 1.0) * 10.0))
        .collect()
}

#[test]
fn a_unit_that_falls_at_one_depression_is_told_not_to_hold() {
    let held: Vec<_> = [0.0; 5].iter().map(|fall| (30.0, 5.6 - fall)).collect();
    let falls: Vec<_> = (0..5).map(|at| (30.0, 5.6 - 1.5 * f64::from(at))).collect();
    let judged = |repeats: &[(f64, f64)]| {
        let readings = survey(CRANK, [1.0; 2], &[unit().as_slice(), repeats].concat());
        found(&readings, &Specification::default(), Subject::VacuumLeaks)
    };
    let (answer, sentence) = judged(&falls);
    assert_eq!(answer, Answer::Accused, "{sentence}");
    assert!(sentence.contains("lines 36 to 40") && sentence.contains("54 kPa depression (16 inHg)"), "{sentence}");
    // Light never proves that it holds.
    assert_eq!(judged(&held).0, Answer::CannotTell);
    assert_eq!(judged(&[]).0, Answer::CannotTell);
}

#[test]
fn what_the_pump_showed_is_not_doubted_and_of_a_leaking_unit_nothing_else_is_judged() {
    let with = |holds| Readings { unit_holds: Some(holds), ..survey(CRANK, [1.0; 2], &unit()) };
    let (answer, sentence) = found(&with(false), &Specification::default(), Subject::VacuumLeaks);
    assert_eq!(answer, Answer::Accused);
    assert!(sentence.contains("you saw it at the pump"), "{sentence}");
    let leaking = fitted(&with(false));
    let judged: Vec<_> = wear(&leaking, &Specification::default()).iter().map(|finding| finding.subject).collect();
    assert!(!judged.contains(&Subject::VacuumShort) && !judged.contains(&Subject::VacuumLate), "{judged:?}");
    assert!(sentences(&leaking).iter().any(|said| said.contains("does not hold") && said.contains("no curve to copy")));
    assert_eq!(found(&with(true), &Specification::default(), Subject::VacuumLeaks).0, Answer::Sound);
}

#[test]
fn readings_after_the_first_of_a_fall_do_not_pull_the_curve_down() {
    let falls: Vec<_> = (0..5).map(|at| (30.0, 5.6 - 1.1 * f64::from(at))).collect();
    let readings = survey(CRANK, [1.0; 2], &[unit().as_slice(), &falls].concat());
    let VacuumOutcome::Fitted(vacuum) = fitted(&readings).vacuum else { panic!("ten readings are enough") };
    assert_eq!(vacuum.readings, 11);
    assert!(vacuum.start.holds(17.0) && vacuum.full.holds(40.0) && vacuum.greatest.holds(10.0), "{vacuum:?}");
}

#[test]
fn a_survey_at_steady_speeds_cannot_tell_whether_weights_stick() {
    let mut readings = survey(CRANK, [1.0; 2], &[]);
    readings.readings.iter_mut().for_each(|reading| reading.speed_was = crate::distributor::readings::SpeedWas::Steady);
    let (answer, sentence) = found(&readings, &Specification::default(), Subject::StickingWeights);
    assert_eq!(answer, Answer::CannotTell);
    assert!(sentence.contains("once rising and once falling"), "{sentence}");
}

#[track_caller]
fn asks(readings: &Readings, book: &Specification, asked: Asked, what: Option<&str>) {
    let said = questions(readings, &fitted(readings), book, asked);
    match what {
        Some(what) => assert!(said.iter().any(|question| question.contains(what)), "{what}: {said:?}"),
        None => assert!(said.is_empty(), "{said:?}"),
    }
}

#[test]
fn figures_in_the_wrong_column_are_asked_about_and_right_ones_are_not() {
    let asked = Asked { idle: Some(620.0) };
    let book = Specification {
        centrifugal: vec![Specified::without_band(1000.0, 0.0, 0.0), Specified::without_band(2000.0, 16.0, 0.0)],
        ..Specification::default()
    };
    asks(&survey(CRANK, [1.0; 2], &unit()), &book, asked, None);
    let distributor = ["distributor_rpm", "distributor_degrees", "vacuum_kPa"];
    asks(&survey(distributor, [0.5; 2], &[]), &book, asked, None);
    // The distributor's figures under the crank's names, and the other way round.
    asks(&survey(CRANK, [0.5, 1.0], &[]), &book, asked, Some("name the column `distributor_rpm`"));
    asks(&survey(CRANK, [1.0, 0.5], &[]), &book, asked, Some("name the column `distributor_degrees`"));
    asks(&survey(distributor, [1.0, 0.5], &[]), &book, asked, Some("name the column `crank_rpm`"));
    asks(&survey(distributor, [0.5, 1.0], &[]), &book, asked, Some("name the column `crank_degrees`"));
    // inHg in a column of kPa.
    let inches: Vec<_> =
        unit().into_iter().map(|(kpa, advance)| ((kpa / 0.3386_f64).round() / 10.0, advance)).collect();
    asks(&survey(CRANK, [1.0; 2], &inches), &book, asked, Some("name the column `vacuum_inHg`"));
}

#[test]
fn springs_are_judged_by_a_book_s_own_band() {
    let readings = survey(CRANK, [1.0; 2], &[]);
    let book = |speeds: [f64; 2]| Specification {
        centrifugal: vec![Specified::without_band(speeds[0], 0.0, 0.0), Specified::without_band(speeds[1], 16.0, 0.0)],
        ..Specification::default()
    };
    assert_eq!(found(&readings, &book([1000.0, 2000.0]), Subject::WeakSprings).0, Answer::Sound);
    let (answer, sentence) = found(&readings, &book([1400.0, 2400.0]), Subject::WeakSprings);
    assert_eq!(answer, Answer::Accused, "{sentence}");
    assert!(
        sentence.contains("weak or wrong springs") && sentence.contains("crank rpm where it says at most"),
        "{sentence}"
    );
    assert_eq!(found(&readings, &book([700.0, 1500.0]), Subject::StrongSprings).0, Answer::Accused);
    // A band that a book states is kept, however wide it is.
    let mut wide = book([1400.0, 2400.0]);
    wide.centrifugal.iter_mut().for_each(|point| point.x_allowed = [point.x - 500.0, point.x]);
    assert_eq!(found(&readings, &wide, Subject::WeakSprings).0, Answer::Sound);
}
