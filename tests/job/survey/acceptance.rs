//! The survey's proposals held to invented distributors whose truth is known: how many readings until the band of the curve
//! is narrow, how well the corners are known then, and does the truth lie inside?

use bobweight_tests::invented::Distributor;
use bobweight_tests::seeds::{Seeds, Tally};
use bobweight_tool::distributor::{ENOUGH_CRANK_DEGREES, Proposal, Step, Survey};
use bobweight_tool::distributor::{Estimate, FitResult};
use bobweight_tool::distributor::{Hose, Reading, SpeedWas};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, Normal};

/// Distributors of each kind in the long run.
const DISTRIBUTORS: u32 = 100;
/// Standard deviation of a reading, crank degrees.
const SCATTER: f64 = 0.5;
/// So many readings are judged for their corners.
const JUDGED_AT: usize = 24;

/// Answers the facts, so that readings are asked for from `low` to `high` crank rpm.
fn begun(low: f64, high: f64) -> Survey {
    let mut survey = Survey::new(false);
    for answer in [
        "none",
        "no",
        "yes",
        "yes",
        "yes",
        "36 BTDC",
        "36 ATDC",
        "yes",
        "yes",
        "1",
        "0",
        &low.to_string(),
        &high.to_string(),
    ] {
        let step = survey.next(None);
        survey.answer(&step, answer).expect("a right answer");
    }
    survey
}

/// A reading by eye, to a tenth of a degree, near the proposed speed.
fn read(distributor: &Distributor, proposal: &Proposal, rng: &mut ChaCha8Rng) -> Reading {
    let crank_rpm = ((proposal.crank_rpm + rng.random_range(-30.0..30.0)) / 10.0).round() * 10.0;
    let direction = match proposal.speed_was {
        SpeedWas::Rising => 1.0,
        SpeedWas::Falling => -1.0,
        SpeedWas::Steady => 0.0,
    };
    let last = distributor.knots.len() - 1;
    let on_a_ramp = crank_rpm > distributor.knots[0] && crank_rpm < distributor.knots[last];
    let shift = if on_a_ramp { -direction / 2.0 * distributor.up_down } else { 0.0 };
    let scatter = Normal::new(0.0, SCATTER).expect("a standard deviation").sample(rng);
    Reading {
        line: 1,
        hose: proposal.hose,
        speed_was: proposal.speed_was,
        crank_rpm,
        crank_degrees: ((distributor.steady(crank_rpm) + shift + scatter) * 10.0).round() / 10.0,
        depression_kpa: None,
    }
}

/// What one survey came to.
struct Played {
    distributor: Distributor,
    ends: (f64, f64),
    /// Readings with the hose off when it had enough.
    enough_at: usize,
    /// The fit at 24 readings, or where it ended later than that, at its end.
    fitted: FitResult,
}

fn play(ramps: usize, seed: u64) -> Played {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let distributor = Distributor::invent(ramps, &mut rng);
    let low = distributor.knots[0] - rng.random_range(300.0..450.0);
    let high = distributor.knots[ramps] + rng.random_range(500.0..800.0);
    let mut survey = begun(low.round(), high.round());
    let (mut fitted, mut enough_at) = (None, None);
    loop {
        let count = survey.readings().len();
        let proposal = match survey.next(fitted.as_ref()) {
            Step::Reading(proposal) if proposal.hose == Hose::Off => proposal,
            // It has enough; go on to the count at which corners are judged, where the criterion says.
            _ => {
                enough_at.get_or_insert(count);
                let found: &FitResult = fitted.as_ref().expect("enough is a curve");
                let (crank_rpm, speed_was) = found.next_reading(low, high);
                Proposal { hose: Hose::Off, crank_rpm, speed_was, depression_kpa: None, slower_than_idle: false }
            }
        };
        if count >= JUDGED_AT && (enough_at.is_some() || count >= 40) {
            break;
        }
        if proposal.slower_than_idle {
            survey.answer(&Step::Reading(proposal), "skip").expect("it may be passed over");
            continue;
        }
        survey.push(read(&distributor, &proposal, &mut rng));
        fitted = survey.fitted();
        if survey.readings().len() == JUDGED_AT && enough_at.is_some() {
            break;
        }
    }
    let fitted = fitted.expect("a curve");
    Played { distributor, ends: (low, high), enough_at: enough_at.unwrap_or(usize::MAX), fitted }
}

#[track_caller]
fn surveys(ramps: usize, most_readings: usize) {
    let (mut soon, mut corners, mut covered) = (Tally::default(), Tally::default(), Tally::default());
    let (mut inside, mut counts) = (Tally::default(), Vec::new());
    for seed in Seeds::of(DISTRIBUTORS).iter() {
        let Played { distributor, ends, enough_at, fitted } = play(ramps, seed);
        counts.push(enough_at);
        soon.count(enough_at <= most_readings);
        let right = fitted.ramps == ramps;
        let worth = |at: usize| Estimate::half_width(&fitted.knots[at]) * fitted.found.change_of_slope(at).abs();
        println!(
            "seed {seed}: {enough_at} ramps {} worth {:?}",
            fitted.ramps,
            (0..fitted.knots.len()).map(|at| (worth(at) * 100.0).round() / 100.0).collect::<Vec<_>>()
        );
        corners.count((0..fitted.knots.len()).all(|at| worth(at) <= 1.3));
        for at in 0..=ramps {
            covered.count(right && fitted.knots[at].holds(distributor.knots[at]));
            covered.count(right && fitted.levels[at].holds(distributor.levels[at]));
        }
        for step in 0..=20 {
            let speed = ends.0 + (ends.1 - ends.0) * f64::from(step) / 20.0;
            let band = fitted.band_at(speed);
            inside.count((band.low..=band.high).contains(&distributor.steady(speed)));
        }
    }
    counts.sort_unstable();
    println!("readings until {ENOUGH_CRANK_DEGREES} crank degrees, sorted: {counts:?}");
    soon.at_least(&format!("enough by {most_readings} readings"), 0.85);
    corners.at_least("every corner's half-width times its change of slope at most 1.3 crank degrees", 0.85);
    covered.at_least("knots and levels in their intervals", 0.88);
    inside.at_least("the curve in its band", 0.90);
}

#[test]
fn one_ramp_has_enough_by_20_readings() {
    surveys(1, 20);
}

#[test]
fn two_ramps_have_enough_by_26_readings() {
    surveys(2, 26);
}
