//! What a saved result says of itself, held to its own parts.

use super::Record;
use crate::proof::measure::Summary;
use crate::proof::trials::BACK;
use crate::proof::verdict::{COVERAGE_FACTOR, Conformity, Judge, SingleSparks};
use crate::record::bench::{BenchResult, Counts, DrivenBy, RampResult, SIMULATION, TestPointResult};
use crate::record::check::CheckResult;
use crate::record::light::LightResult;
use crate::record::trials::{Heard, TrialsResult};
use crate::record::verdict::Verdict;
use crate::words::number::{short, whole};

/// Sums of saved numbers are the same within this.
const SAME: f64 = 1e-9;

/// Every contradiction, in sentences; none in a result as a command writes it.
pub(super) fn of(record: &Record) -> Vec<String> {
    match record {
        Record::Bench(result) => of_bench(result),
        Record::Light(result) => of_light(result),
        Record::Check(result) => of_check(result),
        Record::Trials(result) => of_trials(result),
        // Nothing in these is said twice.
        Record::Fit(_) | Record::Coil(_) | Record::Figures(_) | Record::Ignition(_) => Vec::new(),
    }
}

/// A verdict that is better than what it is made of.
fn too_good(said: Verdict, parts: Verdict, what: &str) -> Option<String> {
    (Verdict::of_all([said, parts]) != said)
        .then(|| format!("its verdict is \"{}\", and {what} make it \"{}\" at best", said.word(), parts.word()))
}

fn of_bench(result: &BenchResult) -> Vec<String> {
    let mut found = Vec::new();
    let counts = Counts::of(&result.test_points, result.counts.planned_test_points);
    if counts != result.counts {
        found.push(format!(
            "it counts {}, and its test points make {}",
            counts_in_words(&result.counts),
            counts_in_words(&counts)
        ));
    }
    if result.test_points.len() > result.counts.planned_test_points {
        found.push(format!(
            "it has {} test points of a plan of {}",
            result.test_points.len(),
            result.counts.planned_test_points
        ));
    }
    found.extend(too_good(result.verdict, result.verdict_of_parts(), "its parts"));
    found.extend(source(result));
    found.extend(single_sparks(result));
    found.extend(every_pulse(result));
    found.extend(result.test_points.iter().filter_map(|point| test_point(point, result)));
    let besides = result.cranking.iter().map(|part| ("cranking", part.missing + part.extra, part.verdict));
    let besides = besides.chain(result.ramps.iter().map(|part| ("a ramp", part.missing + part.extra, part.verdict)));
    found.extend(besides.filter(|(_, amiss, verdict)| *amiss > 0 && *verdict == Verdict::Pass).map(
        |(what, amiss, _)| {
            format!("{what} with {amiss} missing or extra sparks is called \"{}\"", Verdict::Pass.word())
        },
    ));
    found.extend(result.ramps.iter().filter_map(|ramp| of_ramp(ramp, result.settings.tolerance_ramp_crank_degrees)));
    let wrong = result.disturbed_pulses.iter().filter(|pulse| !pulse.right_again && pulse.verdict == Verdict::Pass);
    found.extend(wrong.map(|pulse| {
        format!(
            "a disturbed pulse at {} crank rpm after which all was not right again is called pass",
            whole(pulse.speed_crank_rpm)
        )
    }));
    found
}

fn counts_in_words(counts: &Counts) -> String {
    format!(
        "{} passed, {} failed, {} undecided, {} pulses, {} missing and {} extra sparks",
        counts.passed, counts.failed, counts.undecided, counts.pulses, counts.missing, counts.extra
    )
}

/// The sparks of all points are those of each, and their verdict follows from their counts.
fn single_sparks(result: &BenchResult) -> Option<String> {
    let single = result.single_sparks.as_ref()?;
    let points = &result.test_points;
    let judged: usize = points.iter().map(|point| point.pulses - point.missing + point.extra).sum();
    let outside: usize = points.iter().map(|point| point.outside).sum();
    let counted = SingleSparks { judged, outside, worst: 0.0 };
    let agrees = (single.judged, single.outside, single.verdict) == (judged, outside, counted.verdict())
        && (single.greatest_share - counted.greatest_share()).abs() <= SAME;
    (!agrees)
        .then(|| format!("its test points make {outside} of {judged} single sparks outside, and it says otherwise"))
}

fn every_pulse(result: &BenchResult) -> Option<String> {
    let every = result.every_pulse.as_ref()?;
    (every.verdict != every.counted().verdict()).then(|| {
        format!(
            "its pulses between test points are called \"{}\", and their counts say otherwise",
            every.verdict.word()
        )
    })
}

/// A simulation has a seed and says so in words; nothing else has either.
fn source(result: &BenchResult) -> Option<String> {
    let settings = &result.settings;
    let simulated = settings.driven_by == DrivenBy::Simulation;
    let agrees = settings.seed.is_some() == simulated
        && (settings.source == SIMULATION) == simulated
        && (settings.simulate.is_none() || simulated);
    let what = if simulated { "the simulation" } else { "a box" };
    (!agrees).then(|| format!("it says that {what} was benched, and `seed`, `simulate` or `source` say otherwise"))
}

/// A point never counts as better than its figures: the same rule as on the bench, on the figures that were saved.
fn test_point(point: &TestPointResult, result: &BenchResult) -> Option<String> {
    let named = format!(
        "the test point at {} crank rpm, {:.1} kPa depression, speed {}",
        whole(point.speed_crank_rpm),
        point.depression_kpa,
        point.direction.word()
    );
    if (point.bound_parts.total() - point.bound_crank_degrees).abs() > SAME {
        return Some(format!("{named} has a bound B that its parts do not make"));
    }
    let settings = &result.settings;
    let judge =
        Judge::new(settings.tolerance_crank_degrees, result.counts.planned_test_points, settings.pulses_in_two_turns);
    #[expect(clippy::cast_precision_loss, reason = "counts of cycles")]
    let means = Summary {
        count: point.cycles,
        mean: point.mean_error_crank_degrees_early.unwrap_or(f64::NAN),
        standard_deviation: point.uncertainty_crank_degrees.unwrap_or(f64::NAN) / COVERAGE_FACTOR
            * (point.cycles as f64).sqrt(),
    };
    let conformity = judge.conformity(&means, point.bound_crank_degrees);
    let single = SingleSparks {
        judged: point.pulses.saturating_sub(point.missing) + point.extra,
        outside: point.outside,
        worst: point.worst_spark_crank_degrees_early.unwrap_or_default(),
    };
    let best = match conformity {
        _ if point.missing + point.extra > 0 => Verdict::Fail,
        _ if single.fails_alone(result.counts.planned_test_points) => Verdict::Fail,
        Conformity::Within => Verdict::Pass,
        Conformity::Beyond => Verdict::Fail,
        Conformity::Open => Verdict::Undecided,
    };
    let coil = settings.coil.as_ref();
    if let Some(dwell) = &point.dwell {
        let energy = coil.and_then(|coil| coil.energy_mj(dwell.least_ms));
        let same = match (energy, dwell.energy_mj) {
            (Some(energy), Some(said)) => (energy - said).abs() <= SAME * energy.abs().max(1.0),
            (energy, said) => energy.is_none() == said.is_none(),
        };
        if !same {
            return Some(format!("{named} has an energy that its dwell and its coil do not make"));
        }
    }
    let of_dwell = point.dwell.as_ref().map(|dwell| dwell.verdict(coil));
    let best = Verdict::of_all([best].into_iter().chain(of_dwell));
    too_good(point.verdict, best, "its own figures").map(|said| format!("{named}: {said}"))
}

fn of_ramp(ramp: &RampResult, tolerance: f64) -> Option<String> {
    let beyond = ramp.greatest_error_crank_degrees_early.abs() > tolerance;
    (beyond && ramp.verdict == Verdict::Pass).then(|| {
        format!("a ramp whose greatest error is beyond the {} crank degrees is called pass", short(tolerance, 2))
    })
}

fn of_light(result: &LightResult) -> Vec<String> {
    let mut found: Vec<String> = result
        .places
        .iter()
        .filter(|place| place.verdict_at(result.tolerance_crank_degrees) != place.verdict)
        .map(|place| {
            format!(
                "the readings at {} crank rpm and {:.1} kPa depression are called \"{}\", and their error makes them \"{}\"",
                whole(place.speed_crank_rpm),
                place.depression_kpa,
                place.verdict.word(),
                place.verdict_at(result.tolerance_crank_degrees).word()
            )
        })
        .collect();
    found.extend(too_good(result.verdict, result.verdict_of_parts(), "its places and causes"));
    let readings: usize = result.places.iter().map(|place| place.readings).sum();
    if readings != result.readings.len() {
        found.push(format!("it has {} readings, and its places count {readings}", result.readings.len()));
    }
    found
}

fn of_check(result: &CheckResult) -> Vec<String> {
    let mut found: Vec<String> = result
        .limits
        .iter()
        .filter(|limit| limit.kept != (limit.margin_crank_degrees >= 0.0))
        .map(|limit| {
            format!("a limit with {:.1} crank degrees to spare is called the opposite", limit.margin_crank_degrees)
        })
        .collect();
    if result.kept != result.limits.iter().all(|limit| limit.kept) {
        found.push(format!(
            "all limits are said to be {}, and they are not",
            if result.kept { "kept" } else { "not kept" }
        ));
    }
    found
}

/// No timing is told that the trials forbid.
fn of_trials(result: &TrialsResult) -> Vec<String> {
    let mut found = Vec::new();
    let heard = |heard: Heard| result.trials.iter().filter(move |trial| trial.heard == heard);
    let pinking = heard(Heard::Pinking).map(|trial| trial.crank_degrees).reduce(f64::min);
    if pinking != result.pinking_crank_degrees {
        found.push("the latest timing that pinked is not the one of its trials".to_owned());
    }
    let within =
        |degrees: f64| degrees <= result.limit_crank_degrees + SAME && pinking.is_none_or(|pinking| degrees < pinking);
    let quiet =
        heard(Heard::Quiet).map(|trial| trial.crank_degrees).filter(|degrees| within(*degrees)).reduce(f64::max);
    if quiet != result.last_quiet_crank_degrees {
        found.push("the last quiet timing is not the one of its trials".to_owned());
    }
    let told = result.best_crank_degrees.iter().flat_map(|best| [best.low, best.value, best.high]);
    if told.chain(result.set_to_crank_degrees).any(|told| quiet.is_none_or(|quiet| told > quiet + SAME)) {
        found.push("it tells a timing beyond the last that was quiet".to_owned());
    }
    if result.set_to_crank_degrees.is_some_and(|set_to| set_to > result.ceiling_crank_degrees + SAME)
        || result.ceiling_crank_degrees > result.limit_crank_degrees + SAME
        || pinking.is_some_and(|pinking| result.ceiling_crank_degrees > pinking - BACK + SAME)
    {
        found.push("it goes beyond the sheet's limit, or too near to where it pinked".to_owned());
    }
    found
}
