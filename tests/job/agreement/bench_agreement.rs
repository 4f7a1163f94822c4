//! The built-in bench with the core's ignition, and with the independent one in its place: the same plan, the same figures.

use bobweight_tests::plain::{Plain, voltage};
use bobweight_tests::truth::TruthIgnition;
use bobweight_tests::whole_bench::{Demo, VOLTS};
use bobweight_tool::proof::STARVED;
use bobweight_tool::proof::{CoreIgnition, Imperfections};
use bobweight_tool::record::verdict::Verdict;

/// The demo's figures in plain numbers, for the independent ignition.
fn demo() -> Plain {
    Plain { vacuum: vec![(5.0 * 3.386_389, 0.0), (12.0 * 3.386_389, 10.0)], ..Plain::fire_float() }
}

#[test]
fn both_ignitions_give_the_same_figures_on_the_built_in_bench() {
    let settings = demo();
    let core = settings.timetable().unwrap();
    let demo = Demo::read();
    let firmware = settings.core().unwrap().firmware;
    let ours = demo.run(CoreIgnition::new(&core, firmware, voltage(VOLTS)), Imperfections::default(), 1);
    let theirs = demo.run(TruthIgnition::new(&settings, VOLTS), Imperfections::default(), 1);
    assert_eq!(ours.verdict, Verdict::Pass);
    assert_eq!((ours.test_points.len(), theirs.test_points.len()), (78, 78));
    let mut furthest = 0.0_f64;
    for (one, other) in ours.test_points.iter().zip(&theirs.test_points) {
        // On this bench the independent ignition can begin no dwell before its edge, 60 crank degrees BTDC, and so starves the
        // coil at speed: the bench must see that, there and nowhere else. The demo's shortest dwell is 2.6 ms, at 16 V.
        let from_edge_ms = (60.0 - other.wanted_crank_degrees) / (6.0 * other.speed_crank_rpm) * 1e3;
        let starved = if from_edge_ms < STARVED * 2.6 { Verdict::Fail } else { Verdict::Pass };
        assert_eq!((one.verdict, other.verdict), (Verdict::Pass, starved), "{one:?} {other:?}");
        let [one_error, other_error] = [one, other].map(|point| point.mean_error_crank_degrees_early.unwrap());
        // One tick and 0.02 crank degrees.
        let allowed = 0.02 + 6.0 * one.speed_crank_rpm * 0.5e-6;
        furthest = furthest.max((one_error - other_error).abs() / allowed);
        assert!((one_error - other_error).abs() <= allowed, "{one_error} and {other_error}: {one:?} {other:?}");
    }
    println!("78 test points; furthest apart {furthest:.3} of one tick and 0.02 crank degrees");
    for (one, other) in ours.ramps.iter().zip(&theirs.ramps) {
        assert_eq!((one.verdict, other.verdict), (Verdict::Pass, Verdict::Pass));
        let apart = (one.mean_error_crank_degrees_early - other.mean_error_crank_degrees_early).abs();
        assert!(apart < 0.05, "{apart}: {one:?} {other:?}");
    }
    assert_eq!((ours.ramps.len(), ours.cranking.len(), ours.disturbed_pulses.len()), (2, 2, 6));
    for cranking in ours.cranking.iter().chain(&theirs.cranking) {
        assert_eq!(cranking.verdict, Verdict::Pass, "{cranking:?}");
    }
    // The independent ignition believes every edge, so the false one moves its spark: the bench must see that.
    assert!(ours.disturbed_pulses.iter().all(|pulse| pulse.verdict == Verdict::Pass), "{:?}", ours.disturbed_pulses);
    assert!(
        theirs.disturbed_pulses.iter().any(|pulse| pulse.verdict == Verdict::Fail),
        "{:?}",
        theirs.disturbed_pulses
    );
}
