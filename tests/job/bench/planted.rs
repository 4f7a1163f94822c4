//! Errors planted in the simulated ignition, found through the whole built-in bench: each named rightly, and measured within the
//! uncertainty that is stated. Sizes are random, seeds consecutive.

use std::time::Instant;

use bobweight_tests::numbers::Numbers;
use bobweight_tests::other_flank::OtherFlank;
use bobweight_tests::whole_bench::Demo;
use bobweight_tool::proof::{Imperfections, UnevenPulse};
use bobweight_tool::record::bench::BenchResult;
use bobweight_tool::record::bench::FindingKind;
use bobweight_tool::record::verdict::Verdict;

/// The first seed; `BOBWEIGHT_SEED` sets another.
const FIRST_SEED: u64 = 1;
/// So many runs in the long run; a fifth of them otherwise.
const RUNS: u64 = 200;

fn first_seed() -> u64 {
    std::env::var("BOBWEIGHT_SEED").ok().and_then(|seed| seed.parse().ok()).unwrap_or(FIRST_SEED)
}

fn runs() -> u64 {
    if std::env::var_os("BOBWEIGHT_LONG").is_some() { RUNS } else { RUNS / 5 }
}

/// How many of `runs` must be right where `of_200` of 200 are asked for: that share, less two binomial standard errors in the
/// short run.
#[allow(clippy::cast_precision_loss, clippy::cast_possible_truncation, clippy::cast_sign_loss)] // Small counts.
fn asked(of_200: u64) -> usize {
    let (n, p) = (runs() as f64, of_200 as f64 / RUNS as f64);
    let slack = if runs() < RUNS { 2.0 * (n * p * (1.0 - p)).sqrt() } else { 0.0 };
    (n * p - slack).ceil() as usize
}

/// Runs a planted error over all seeds and counts where `right` says that it was found.
fn count(what: &str, mut run: impl FnMut(u64, &mut Numbers) -> (BenchResult, bool)) -> usize {
    let (mut right, mut sparks, begun) = (0, 0, Instant::now());
    for seed in first_seed()..first_seed() + runs() {
        let (result, found) = run(seed, &mut Numbers::new(seed));
        right += usize::from(found);
        sparks += result.counts.pulses - result.counts.missing + result.counts.extra;
        if !found {
            let besides: Vec<_> = (result.ramps.iter().map(|ramp| ramp.verdict))
                .chain(result.cranking.iter().map(|cranking| cranking.verdict))
                .chain(result.disturbed_pulses.iter().map(|pulse| pulse.verdict))
                .collect();
            let lag = result
                .regression
                .as_ref()
                .and_then(|all| all.lag_us.as_ref())
                .map(|lag| (lag.value, lag.expanded_uncertainty));
            let kinds: Vec<_> = result.findings.iter().map(|finding| finding.kind).collect();
            println!("{what}, seed {seed}: {:?} {:?} {kinds:?} lag {lag:?} {besides:?}", result.verdict, result.counts);
        }
    }
    #[allow(clippy::cast_precision_loss)] // A rough figure for the reader.
    let rate = sparks as f64 / begun.elapsed().as_secs_f64();
    println!("{what}: {right} of {}; {rate:.0} simulated and judged sparks a second", runs());
    right
}

fn names(result: &BenchResult, kind: FindingKind) -> bool {
    result.findings.iter().any(|finding| finding.kind == kind)
}

/// The size that a finding tells and its uncertainty, in crank degrees, early positive: read from the sentence, as a person does.
fn told(result: &BenchResult, kind: FindingKind) -> Option<(f64, f64)> {
    let sentence = &result.findings.iter().find(|finding| finding.kind == kind)?.sentence;
    let (size, rest) = sentence.split_once(" crank degrees early (give or take ").map_or_else(
        || sentence.split_once(" crank degrees late (give or take ").map(|(before, rest)| ((before, -1.0), rest)),
        |(before, rest)| Some(((before, 1.0), rest)),
    )?;
    let last_word = size.0.rsplit(' ').next()?;
    Some((size.1 * last_word.parse::<f64>().ok()?, rest.split(')').next()?.parse().ok()?))
}

/// Whether a finding tells this size, in crank degrees, within the uncertainty that it states; both are told to 0.01. An interval
/// wider than half the bench's tolerance of 0.5 would tell nothing (no source but sense).
fn tells(result: &BenchResult, kind: FindingKind, size: f64) -> bool {
    told(result, kind).is_some_and(|(told, u)| (told - size).abs() <= u + 0.01 && u <= 0.25)
}

fn scattered() -> Imperfections {
    Imperfections { scatter_degrees: 0.3, ..Imperfections::default() }
}

/// What a tolerance of 0.5 has room for; of 0.3 one spark in 15 is outside it, and no such ignition passes.
fn fit_to_pass() -> Imperfections {
    Imperfections { scatter_degrees: 0.15, ..Imperfections::default() }
}

/// A clock within its stated tolerance costs U; with an exact clock the offset is known to the 0.05 crank degrees and 2.5 us asked.
fn exact_clock() -> Demo {
    Demo::changed(|text| text.replace("clock_tolerance = \"0.5 %\"", "clock_tolerance = \"0 %\""))
}

#[test]
fn a_pickup_angle_is_found_and_measured() {
    let demo = exact_clock();
    let right = count("pickup angle", |seed, numbers| {
        let early = numbers.one_of(&[-1.0, 1.0]) * numbers.between(1.0, 4.0);
        let result = demo.run_other(&demo.settings, Imperfections { pickup_early_degrees: early, ..scattered() }, seed);
        let offset = result.regression.as_ref().unwrap().offset_crank_degrees_early.clone().unwrap();
        let measured =
            (offset.value - early).abs() <= offset.expanded_uncertainty && offset.expanded_uncertainty <= 0.05;
        let found = names(&result, FindingKind::Offset) && measured && result.verdict == Verdict::Fail;
        (result, found)
    });
    assert!(right >= asked(190), "{right}");
}

#[test]
fn a_lag_is_found_and_measured() {
    let demo = exact_clock();
    let right = count("lag", |seed, numbers| {
        let lag_us = numbers.between(60.0, 300.0).round();
        let result = demo.run_other(&demo.settings, Imperfections { lag_us, ..scattered() }, seed);
        let lag = result.regression.as_ref().unwrap().lag_us.clone().unwrap();
        // The ignition takes each edge for the tick that had begun, half a tick of 0.5 us early on average: its own lag is so much
        // less than the planted one.
        let measured =
            (lag.value - (lag_us - 0.25)).abs() <= lag.expanded_uncertainty && lag.expanded_uncertainty <= 2.5;
        let found = names(&result, FindingKind::Lag) && measured && result.verdict == Verdict::Fail;
        (result, found)
    });
    assert!(right >= asked(190), "{right}");
}

/// The sheet names one flank, the ignition times its sparks by the other: the distance between them, everywhere.
#[test]
fn the_other_flank_is_named() {
    let right = count("flank", |seed, numbers| {
        let second = numbers.between(4.0, 10.0).round();
        let text = |text: String| {
            let place = format!("second_flank_angle = \"{second} crank degrees BTDC\"");
            text.replace("clock_tolerance = \"0.5 %\"", "clock_tolerance = \"0 %\"")
                .replace("second_flank_angle = \"8 crank degrees BTDC\"", &place)
                .replace("cranking = \"8 crank degrees\"", &format!("cranking = \"{second} crank degrees\""))
        };
        let sheet = Demo::changed(text);
        let result = sheet.run_wrapped(OtherFlank, scattered(), seed);
        let offset = result.regression.as_ref().unwrap().offset_crank_degrees_early.clone().unwrap();
        let measured = (offset.value - (second - 60.0)).abs() <= offset.expanded_uncertainty
            && offset.expanded_uncertainty <= 0.05;
        let found = names(&result, FindingKind::Flank) && measured && result.verdict == Verdict::Fail;
        (result, found)
    });
    assert!(right >= asked(190), "{right}");
}

#[test]
fn a_moved_breakpoint_is_named_and_measured() {
    let demo = Demo::read();
    let right = count("breakpoint", |seed, numbers| {
        let higher = numbers.one_of(&[-1.0, 1.0]);
        let (from, speed, degrees) = numbers.one_of(&[("[1700, 12]", 1700, 12.0), ("[3300, 20]", 3300, 20.0)]);
        let other = Demo::changed(|text| text.replace(from, &format!("[{speed}, {}]", degrees + higher)));
        let result = demo.run_other(&other.settings, scattered(), seed);
        let kinds = result.findings.iter().filter(|finding| finding.kind != FindingKind::Breakpoint).count();
        let named = kinds == 0 && unspaced(&result.findings[0].sentence).contains(&format!("({speed}crankrpm"));
        let measured = tells(&result, FindingKind::Breakpoint, higher);
        (result.clone(), named && measured && result.verdict == Verdict::Fail)
    });
    assert!(right >= asked(190), "{right}");
}

#[test]
fn missing_vacuum_advance_is_found_and_measured() {
    let demo = Demo::read();
    let right = count("vacuum", |seed, numbers| {
        let vacuum_share = numbers.between(0.7, 0.9);
        let result = demo.run_other(&demo.settings, Imperfections { vacuum_share, ..scattered() }, seed);
        let missing = result.regression.as_ref().unwrap().vacuum_shortfall_crank_degrees.clone().unwrap();
        let measured = (missing.value - 10.0 * (1.0 - vacuum_share)).abs() <= missing.expanded_uncertainty;
        let found = names(&result, FindingKind::VacuumShortfall) && measured && result.verdict == Verdict::Fail;
        (result, found)
    });
    assert!(right >= asked(190), "{right}");
}

#[test]
fn one_pulse_apart_is_named_and_measured() {
    let demo = Demo::read();
    let right = count("pulse", |seed, numbers| {
        let uneven = UnevenPulse { pulse: numbers.one_of(&[0, 1, 2, 3]), early_degrees: numbers.one_of(&[-2.0, 2.0]) };
        let result = demo.run_other(&demo.settings, Imperfections { uneven: Some(uneven), ..scattered() }, seed);
        let number = format!("pulse {} of 4", uneven.pulse + 1);
        let named = result.findings.iter().any(|finding| finding.sentence.starts_with(&number));
        let measured = tells(&result, FindingKind::Pulse, uneven.early_degrees);
        let found = named && measured && result.verdict == Verdict::Fail;
        (result, found)
    });
    assert!(right >= asked(190), "{right}");
}

#[test]
fn a_lost_spark_in_four_hundred_fails_the_run() {
    let demo = Demo::read();
    let right = count("lost sparks", |seed, _| {
        let result = demo.run_other(&demo.settings, Imperfections { lose: 1.0 / 400.0, ..scattered() }, seed);
        let found =
            names(&result, FindingKind::Missing) && result.verdict == Verdict::Fail && result.counts.missing > 0;
        (result, found)
    });
    assert!(right >= asked(190), "{right}");
}

#[test]
fn a_perfect_ignition_passes_and_is_accused_of_nothing() {
    let demo = Demo::read();
    let right = count("perfect", |seed, _| {
        let result = demo.run_other(&demo.settings, fit_to_pass(), seed);
        let found = result.findings.is_empty() && result.verdict == Verdict::Pass;
        (result, found)
    });
    assert!(right >= asked(196), "{right}");
}

#[test]
fn a_clock_within_its_tolerance_passes() {
    let demo = Demo::read();
    let right = count("clock", |seed, numbers| {
        let clock_fast = numbers.between(-0.005, 0.005);
        let result = demo.run_other(&demo.settings, Imperfections { clock_fast, ..fit_to_pass() }, seed);
        let found = result.verdict == Verdict::Pass;
        (result, found)
    });
    assert!(right >= asked(196), "{right}");
}

/// Without any space: figures are told in groups of three.
fn unspaced(text: &str) -> String {
    text.split_whitespace().collect()
}
