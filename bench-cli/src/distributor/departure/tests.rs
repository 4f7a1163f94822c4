use super::*;
use crate::distributor::fit::{FitOptions, fit};
use crate::distributor::readings;
use crate::sheet::tests::demo_text;
use crate::sheet::{Specification, Specified, model, parse};
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, Normal};
use std::fmt::Write;

fn ramp(x: f64, from: f64, to: f64, rise: f64) -> f64 {
    rise * ((x - from) / (to - from)).clamp(0.0, 1.0)
}

/// A survey of the very curve of the demo sheet, with a scatter of 0.5 crank degrees, read to 0.1.
fn surveyed(seed: u64) -> FitResult {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let scatter = Normal::new(0.0, 0.5).expect("a scatter");
    let hose_off = |speed: f64| 8.0 + ramp(speed, 900.0, 1700.0, 12.0) + ramp(speed, 1700.0, 3300.0, 8.0);
    let mut text = "hose,speed_was,crank_rpm,crank_degrees,vacuum_inHg\n".to_owned();
    for index in 0..20 {
        let speed = 500.0 + 180.0 * f64::from(index);
        let was = if index % 2 == 0 { "rising" } else { "falling" };
        writeln!(text, "off,{was},{speed},{:.1},", hose_off(speed) + scatter.sample(&mut rng)).expect("a text");
    }
    for index in 0..10 {
        let vacuum = 2.0 + 1.4 * f64::from(index);
        let advance = hose_off(2000.0) + ramp(vacuum, 5.0, 12.0, 10.0) + scatter.sample(&mut rng);
        writeln!(text, "on,steady,2000,{advance:.1},{vacuum:.1}").expect("a text");
    }
    let readings = readings::parse("readings.csv", text.as_bytes()).unwrap_or_else(|error| panic!("{error:?}"));
    fit(&readings, &FitOptions::default()).unwrap_or_else(|error| panic!("{error:?}"))
}

fn model_with(from: &str, to: &str) -> AdvanceModel {
    assert!(demo_text().contains(from), "{from}");
    let sheet = parse("sheet.toml", &demo_text().replacen(from, to, 1)).unwrap_or_else(|error| panic!("{error:?}"));
    model(&sheet).unwrap_or_else(|error| panic!("{error:?}"))
}

/// No more than the band states: five in a hundred, which is at most six in sixty (binomial, 95 %). 300 other surveys gave
/// 10 and 8.
#[test]
fn a_curve_chosen_just_as_it_was_surveyed_is_seldom_said_to_depart() {
    let chosen = model_with("cylinders", "cylinders");
    let fits: Vec<_> = (1..=60).map(surveyed).collect();
    let off = fits.iter().filter(|fit| hose_off(&chosen, fit).is_some()).count();
    let on = fits.iter().filter(|fit| vacuum(&chosen, fit).is_some_and(|departure| departure.is_some())).count();
    println!("said to depart in 60 surveys: {off} without vacuum, {on} of the vacuum curves");
    assert!(off <= 6 && on <= 6, "{off} and {on} of 60");
}

/// The book's curve, 2.5 crank degrees from what was read: chosen on purpose, so it is said to be so as it was chosen.
#[test]
fn the_book_s_curve_is_said_to_be_as_chosen_where_the_readings_differ() {
    let early = model_with("initial = \"8", "initial = \"10.5");
    let point = |x: f64, rise: f64| Specified::without_band(x, rise, 0.0);
    let centrifugal = vec![point(900.0, 0.0), point(1700.0, 12.0), point(3300.0, 20.0)];
    let book = Specification { initial: Some(10.5), centrifugal, vacuum: Vec::new() };
    let fit = surveyed(1);
    let of_the_book = departure_in_words(&early, &fit, &book).join("\n");
    assert!(
        of_the_book.contains("without vacuum is the book's, as you chose, and not what was read: at "),
        "{of_the_book}"
    );
    let another = Specification { initial: Some(9.0), ..book };
    let of_another = departure_in_words(&early, &fit, &another).join("\n");
    assert!(of_another.contains("without vacuum departs from the readings"), "{of_another}");
}

#[test]
fn a_curve_that_departs_is_said_to_be_early_or_late() {
    let early = model_with("initial = \"8", "initial = \"10.5");
    let late_vacuum = model_with("[12, 10]", "[12, 7]");
    for seed in 1..=10 {
        let fit = surveyed(seed);
        let departure = hose_off(&early, &fit).expect("2.5 crank degrees are seen");
        assert!(departure.beyond_crank_degrees() > 0.0);
        let departure = vacuum(&late_vacuum, &fit).expect("both have one").expect("3 crank degrees are seen");
        assert!(departure.beyond_crank_degrees() < 0.0);
    }
}
