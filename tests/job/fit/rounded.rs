//! Distributors as weights and springs make them, with round corners, and angles read to whole degrees. The corners of such a
//! curve are nowhere, so initial, greatest and the band are judged.

use bobweight_tests::flyweight::Flyweight;
use bobweight_tests::invented::{BY_EYE, Distributor, Reader, Survey};
use bobweight_tests::seeds::{Seeds, Tally};
use bobweight_tool::distributor::{FitOptions, fit};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

const READ_RIGHT: Reader = Reader { misread: false, ..BY_EYE };

/// One spring or two, in turn; the corners are where the weight lets go, where the second spring comes in, and the stop.
fn with_weights(seed: u64) -> Survey {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let mut distributor = Distributor::invent(1, &mut rng);
    let two = seed.is_multiple_of(2);
    let weights = Flyweight {
        start: rng.random_range(900.0..1400.0),
        stiffness: rng.random_range(2.0..4.0),
        second: two.then(|| (rng.random_range(0.35..0.6), rng.random_range(2.0..3.0))),
        swing: rng.random_range(0.2..0.5),
        greatest: rng.random_range(14.0..28.0),
    };
    let shares: Vec<f64> = (0..=50).map(|share| f64::from(share) / 50.0).collect();
    assert!(shares.windows(2).all(|pair| weights.equilibrium(pair[0]) < weights.equilibrium(pair[1])), "{weights:?}");
    let initial = distributor.levels[0];
    distributor.knots = vec![weights.equilibrium(0.0), weights.equilibrium(1.0)];
    distributor.levels = vec![initial, initial + weights.greatest];
    distributor.rounded = Some(weights);
    Survey::of(distributor, &READ_RIGHT, seed, &mut rng)
}

/// Equilibrium of a known weight by hand: the radius doubles and the force is eight times that at rest, so w is twice.
#[test]
fn a_weight_stands_where_its_forces_are_equal() {
    let weights = Flyweight { start: 1000.0, stiffness: 7.0, second: None, swing: 1.0, greatest: 20.0 };
    assert!((weights.equilibrium(1.0) - 2000.0).abs() < 1e-9);
    assert!((weights.crank_degrees(2000.0) - 20.0).abs() < 1e-9 && weights.crank_degrees(1000.0).abs() < 1e-9);
    // Half out: w^2 is 4.5 / 1.5 of that at the start.
    assert!((weights.crank_degrees(1000.0 * 3.0_f64.sqrt()) - 10.0).abs() < 1e-9);
}

fn covered(what: &str, survey: impl Fn(u64) -> Survey) {
    let (mut initial, mut greatest, mut band) = (Tally::default(), Tally::default(), Tally::default());
    for seed in Seeds::of(200).iter() {
        let survey = survey(seed);
        let truth = &survey.distributor;
        let found = fit(&survey.readings, &FitOptions::default()).expect("a whole survey is fitted");
        let levels = &truth.levels;
        initial.count(found.initial.holds(levels[0]));
        greatest.count(found.levels.last().is_some_and(|level| level.holds(levels[levels.len() - 1])));
        for step in 0..=20 {
            let speed = found.lowest.speed + (found.highest.speed - found.lowest.speed) * f64::from(step) / 20.0;
            let at = found.band_at(speed);
            band.count((at.low..=at.high).contains(&truth.steady(speed)));
        }
    }
    println!("{what}: initial {:.3}, greatest {:.3}, band {:.3}", initial.share(), greatest.share(), band.share());
    // Speeds of one survey hang together, so the allowance is that of the surveys.
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a count")]
    let whole = Tally { held: (band.share() * f64::from(initial.of)).round() as u32, of: initial.of };
    (initial + greatest + whole).at_least(&format!("{what}, pooled"), 0.86);
}

#[test]
fn round_corners_are_covered() {
    covered("weights and springs in equilibrium", with_weights);
}

#[test]
fn whole_degrees_are_covered() {
    let reader = Reader { mark: 1.0, ..READ_RIGHT };
    covered("whole degrees", |seed| Survey::invent(1 + usize::from(seed.is_multiple_of(2)), &reader, seed));
}
