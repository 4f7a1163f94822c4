use super::*;

fn fire_float() -> PlanInput {
    PlanInput {
        idle_crank_rpm: 650.0,
        greatest_speed_crank_rpm: 4600.0,
        centrifugal_crank_rpm: vec![900.0, 1700.0, 3300.0],
        vacuum: VacuumSource::Manifold,
        vacuum_kpa: vec![17.0, 41.0],
        greatest_acceleration_crank_rpm_per_s: 6000.0,
    }
}

fn settled(input: &PlanInput) -> Vec<TestPoint> {
    plan(input)
        .unwrap()
        .into_iter()
        .filter_map(|step| if let Step::Settled(point) = step { Some(point) } else { None })
        .collect()
}

fn holds(speeds: &[f64], speed: f64) -> bool {
    speeds.iter().any(|&s| (s - speed).abs() < 1e-9)
}

#[test]
fn three_breakpoints_and_a_vacuum_unit_give_78_settled_test_points() {
    let points = settled(&fire_float());
    assert_eq!(points.len(), 78);
    assert_eq!(points.iter().filter(|p| p.direction == Direction::Rising).count(), 39);
    for (series, depression) in points.chunks(26).zip([0.0, 29.0, 41.0]) {
        assert!(series.iter().all(|p| p.depression_kpa.to_bits() == f64::to_bits(depression)));
        assert!(series[..13].windows(2).all(|w| w[0].speed_crank_rpm < w[1].speed_crank_rpm));
        assert!(series[13..].windows(2).all(|w| w[0].speed_crank_rpm > w[1].speed_crank_rpm));
    }
}

#[test]
fn idle_every_breakpoint_the_middle_of_each_ramp_and_the_top_are_run() {
    let speeds = speeds(&fire_float());
    assert_eq!(speeds.len(), SPEEDS);
    for speed in [650.0, 900.0, 1300.0, 1700.0, 2500.0, 3300.0, 4600.0] {
        assert!(holds(&speeds, speed), "{speed} crank rpm is not in {speeds:?}");
    }
    let widest = speeds.windows(2).map(|w| w[1] - w[0]).fold(0.0, f64::max);
    assert!(widest <= 400.0 + 1e-9, "a gap of {widest} crank rpm in {speeds:?}");
}

#[test]
fn two_breakpoints_fill_up_to_thirteen_and_sixteen_drop_none() {
    let mut input = fire_float();
    input.centrifugal_crank_rpm = vec![1000.0, 3000.0];
    assert_eq!(speeds(&input).len(), SPEEDS);
    input.centrifugal_crank_rpm = (0..16).map(|k| 800.0 + 200.0 * f64::from(k)).collect();
    let many = speeds(&input);
    // idle, top, 16 breakpoints, 15 middles
    assert_eq!(many.len(), 33);
    assert!(input.centrifugal_crank_rpm.iter().all(|&speed| holds(&many, speed)));
}

#[test]
fn breakpoints_out_of_reach_are_left_out_and_their_ramps_cut() {
    let mut input = fire_float();
    input.centrifugal_crank_rpm = vec![450.0, 1050.0, 6600.0];
    let speeds = speeds(&input);
    assert!(speeds.iter().all(|&s| (650.0..=4600.0).contains(&s)));
    for middle in [850.0, 2825.0] {
        assert!(holds(&speeds, middle), "{middle} crank rpm is not in {speeds:?}");
    }
}

#[test]
fn without_a_vacuum_unit_there_is_one_depression() {
    let mut input = fire_float();
    input.vacuum = VacuumSource::None;
    input.vacuum_kpa.clear();
    assert_eq!(settled(&input).len(), 26);
}

#[test]
fn the_throttle_is_closed_at_idle_alone() {
    let mut input = fire_float();
    input.vacuum = VacuumSource::Ported;
    for point in settled(&input) {
        assert_eq!(point.throttle_closed, point.speed_crank_rpm <= 650.0);
    }
}

#[test]
fn disturbed_pulses_come_while_cranking_at_idle_and_at_2000_or_at_the_greatest_speed_below_it() {
    let mut input = fire_float();
    for speed_crank_rpm in [200.0, 650.0] {
        let steps = plan(&input).unwrap();
        assert!(steps.contains(&Step::LostPulse { speed_crank_rpm }));
        assert!(steps.contains(&Step::FalsePulse { speed_crank_rpm }));
    }
    assert!(plan(&input).unwrap().contains(&Step::LostPulse { speed_crank_rpm: 2000.0 }));
    input.greatest_speed_crank_rpm = 1800.0;
    assert!(plan(&input).unwrap().contains(&Step::FalsePulse { speed_crank_rpm: 1800.0 }));
}

#[test]
fn ramps_run_both_ways_at_a_third_of_the_greatest_acceleration() {
    let steps = plan(&fire_float()).unwrap();
    let ramp = |from_crank_rpm, to_crank_rpm| Step::Ramp {
        from_crank_rpm,
        to_crank_rpm,
        acceleration_crank_rpm_per_s: 2000.0,
    };
    assert!(steps.contains(&ramp(650.0, 4600.0)) && steps.contains(&ramp(4600.0, 650.0)));
}

#[test]
fn what_cannot_be_planned_is_refused_with_the_value() {
    let mut input = fire_float();
    input.centrifugal_crank_rpm = vec![900.0, f64::NAN];
    assert!(plan(&input).unwrap_err().to_string().contains("breakpoint 2 of the centrifugal curve"));
    input = fire_float();
    input.idle_crank_rpm = 5000.0;
    assert!(plan(&input).unwrap_err().to_string().contains("must be above idle"));
    input = fire_float();
    input.vacuum_kpa.truncate(1);
    assert_eq!(plan(&input), Err(PlanError::VacuumBreakpoints(1)));
    input = fire_float();
    input.greatest_acceleration_crank_rpm_per_s = 0.0;
    assert_eq!(plan(&input), Err(PlanError::Acceleration(0.0)));
}
