//! A quantity, a supply or a meter's accuracy, as somebody types it.

use bobweight_tool::curve::{Known, KnownCentrifugal, KnownPlace, KnownVacuum};
use bobweight_tool::quantity::{
    ANGLE, Accuracy, FREQUENCY, INDUCTANCE, QuantityError, RESISTANCE, SPEED, TEMPERATURE, VOLTAGE, WAIT, parse,
    parse_accuracy, parse_supply,
};

/// What the readers make of bytes: no panic; a number that is accepted is finite, and below zero only where that can be; every refusal
/// says what to write instead.
pub fn quantity(bytes: &[u8]) {
    let text = String::from_utf8_lossy(bytes);
    let refused = |error: QuantityError| assert!(!error.help().is_empty() && !error.to_string().is_empty(), "{text}");
    for dimension in [&SPEED, &ANGLE, &RESISTANCE, &VOLTAGE, &INDUCTANCE, &FREQUENCY, &TEMPERATURE, &WAIT] {
        match parse(dimension, &text) {
            Ok(value) => {
                assert!(!value.is_nan(), "{text}");
                assert!(value >= 0.0 || dimension == &ANGLE || dimension == &TEMPERATURE, "{text}: {value}");
            }
            Err(error) => refused(error),
        }
    }
    match parse_accuracy(&RESISTANCE, &text) {
        Ok(Accuracy { share, besides }) => {
            assert!(share >= 0.0 && besides >= 0.0, "{text}");
            let again = parse_accuracy(&RESISTANCE, &format!("{} % + {besides} ohm", share * 100.0));
            let again = again.unwrap_or_else(|error| panic!("{text}: {error}"));
            assert!(
                (again.share - share).abs() <= 1e-12 * share && (again.besides - besides).abs() <= 1e-12 * besides,
                "{text}"
            );
        }
        Err(error) => refused(error),
    }
    match parse_supply(&text) {
        Ok(supply) => {
            assert_eq!(parse_supply(&supply.in_words()), Ok(supply));
            let (low, high) = supply.battery_volts();
            assert!(low < supply.volts && supply.volts < high);
        }
        Err(error) => refused(error),
    }
    known(&text);
}

/// What somebody knows of an ignition: read, it makes figures whose ends are in order; refused, it says what to write.
fn known(text: &str) {
    let told = |refused: String| assert!(refused.len() > 20, "{text}: {refused}");
    let centrifugal = text.parse::<KnownCentrifugal>().map_err(told).ok();
    let vacuum = text.parse::<KnownVacuum>().map_err(told).ok();
    let place = text.parse::<KnownPlace>().map_err(told).ok();
    let Some(initial) = "8 crank degrees by 1 crank rpm".parse::<KnownCentrifugal>().ok().map(|known| known.greatest)
    else {
        panic!("an advance");
    };
    let known = Known { initial, centrifugal, vacuum, source: None };
    for place in known.places().into_iter().chain(place) {
        let Ok(figures) = known.figures(place) else { continue };
        for [least, greatest] in [figures.centrifugal, figures.vacuum, figures.total] {
            assert!(least <= greatest && least >= 0.0 && greatest <= 90.0, "{text}: {figures:?}");
        }
    }
}
