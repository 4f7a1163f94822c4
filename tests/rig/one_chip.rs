//! The ignition's firmware on its simulated chip through the whole plan of the demo's sheet: the stimulator's logic makes the edges
//! and the coil's pin, worked out by the data sheet's rules, is judged. The rig's suite builds what this runs.

mod chip_bench;

use bobweight_bench::record::bench::BenchResult;
use bobweight_bench::record::bench::FindingKind;
use bobweight_bench::record::verdict::Verdict;
use bobweight_tests::numbers::Numbers;
use bobweight_tests::whole_bench::Demo;
use chip_bench::ChipBench;

/// The first seed; `BOBWEIGHT_SEED` sets another.
const FIRST_SEED: u64 = 1;

fn numbers() -> Numbers {
    Numbers::new(std::env::var("BOBWEIGHT_SEED").ok().and_then(|seed| seed.parse().ok()).unwrap_or(FIRST_SEED))
}

fn at_tolerance(crank_degrees: &str) -> Demo {
    Demo::changed(|text| {
        text.replace("bench = \"0.5 crank degrees\"", &format!("bench = \"{crank_degrees} crank degrees\""))
    })
}

/// Runs the plan with the ignition switched on at a random moment, and prints its table.
fn run(demo: &Demo, firmware: &str, keys: &[String]) -> BenchResult {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let after = numbers().between(0.0, 100_000.0) as u64;
    let result = demo.run_link(ChipBench::switch_on(firmware, keys, after).link());
    println!("{firmware} {keys:?}: {:?}, {:?}", result.verdict, result.counts);
    for point in &result.test_points {
        println!("{point:?}");
    }
    println!("{:#?}\n{:#?}\n{:#?}\n{:#?}", result.cranking, result.ramps, result.disturbed_pulses, result.regression);
    for finding in &result.findings {
        println!("{}", finding.sentence);
    }
    result
}

fn keys(keys: &[&str]) -> Vec<String> {
    keys.iter().map(|key| (*key).to_owned()).collect()
}

#[test]
fn the_whole_plan_passes_with_equal_clocks_and_with_a_crystals_error() {
    let demo = at_tolerance("0.3");
    for keys in [keys(&[]), keys(&["ppm=100"])] {
        let result = run(&demo, "ignition.elf", &keys);
        assert_eq!(result.verdict, Verdict::Pass);
        assert_eq!((result.counts.missing, result.counts.extra), (0, 0));
    }
}

#[test]
fn a_resonators_clock_errs_by_no_more_than_the_slope_of_the_curve_allows() {
    let result = run(&at_tolerance("0.6"), "ignition.elf", &keys(&["ppm=-5000"]));
    assert_eq!(result.verdict, Verdict::Pass);
    for point in &result.test_points {
        // The steepest ramp of the demo's curve: 12 crank degrees over 800 crank rpm.
        let bound = 0.3 + 12.0 / 800.0 * point.speed_crank_rpm * 0.005;
        assert!(point.mean_error_crank_degrees_early.is_none_or(|mean| mean.abs() <= bound), "{point:?}");
    }
}

#[test]
fn a_degree_built_into_the_ignition_is_found_and_measured() {
    let result = run(&at_tolerance("0.3"), "ignition_one_degree.elf", &[]);
    assert_eq!(result.verdict, Verdict::Fail);
    assert!(result.findings.iter().any(|finding| finding.kind == FindingKind::Offset));
    let offset = result.regression.and_then(|all| all.offset_crank_degrees_early).expect("an offset").value;
    assert!((offset.abs() - 1.0).abs() <= 0.05, "{offset}");
}

#[test]
fn a_hundred_microseconds_in_the_wire_are_found_and_measured() {
    let result = run(&at_tolerance("0.3"), "ignition.elf", &keys(&["late_ns=100000"]));
    assert_eq!(result.verdict, Verdict::Fail);
    assert!(result.findings.iter().any(|finding| finding.kind == FindingKind::Lag));
    let lag = result.regression.and_then(|all| all.lag_us).expect("a lag").value;
    assert!((lag - 100.0).abs() <= 5.0, "{lag}");
}
