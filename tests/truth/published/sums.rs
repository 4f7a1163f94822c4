//! Plain sums of initial 10, centrifugal 22 and vacuum 14 crank degrees. The sums are arithmetic; that an advance consists of
//! these parts is common practice. That vacuum taken just above the closed throttle gives none at idle is told by U.S. Army
//! TM 9-8000, ignition timing controls (vacuum).

use bobweight::Phase;
use bobweight_tests::plain::{Plain, advance, depression, speed};
use bobweight_tool::curve::initial_for;

fn engine(ported: bool) -> Plain {
    Plain {
        initial: 10.0,
        cranking: 10.0,
        centrifugal: vec![(900.0, 0.0), (3000.0, 22.0)],
        vacuum: vec![(17.0, 0.0), (40.0, 14.0)],
        ported,
        greatest: 50.0,
        ..Plain::fire_float()
    }
}

fn total(ported: bool, phase: Phase, crank_rpm: f64, kpa: f64, throttle_closed: bool) -> f64 {
    let breakdown = engine(ported)
        .core()
        .unwrap()
        .model
        .advance(phase, speed(crank_rpm), Some(depression(kpa)), throttle_closed)
        .unwrap();
    assert!(!breakdown.clamped);
    assert_eq!(breakdown.sum.get(), breakdown.total.get());
    breakdown.total.get().to_num()
}

#[test]
fn cranking_idle_cruise_and_full_throttle() {
    for (what, got, expected) in [
        ("cranking", total(false, Phase::Cranking, 200.0, 50.0, true), 10.0),
        ("idle on manifold vacuum, the unit fully in", total(false, Phase::Running, 650.0, 60.0, true), 24.0),
        ("idle on ported vacuum", total(true, Phase::Running, 650.0, 60.0, true), 10.0),
        ("cruise, both fully in", total(false, Phase::Running, 3000.0, 45.0, false), 46.0),
        ("cruise on ported vacuum", total(true, Phase::Running, 3000.0, 45.0, false), 46.0),
        ("full throttle", total(false, Phase::Running, 3500.0, 3.0, false), 32.0),
    ] {
        assert!((got - expected).abs() < 1e-3, "{what}: {got} crank degrees, {expected} wanted");
    }
}

#[test]
fn a_full_throttle_total_of_34_takes_an_initial_of_12() {
    let initial = initial_for(&engine(false).core().unwrap().model, advance(34.0)).unwrap();
    assert_eq!(initial, advance(12.0));
}
