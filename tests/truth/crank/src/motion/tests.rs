use super::*;

/// Source: definition; 6 N t degrees.
#[test]
fn steady_speed_sweeps_six_degrees_a_second_for_each_rpm() {
    let motion = Motion::steady(3000.0);
    assert!((motion.angle_at(0.003) - 54.0).abs() < 1e-12);
    assert!((motion.speed_at(7.0) - 3000.0).abs() < 1e-12);
    assert!((motion.time_of_angle(54.0, 0.0).unwrap() - 0.003).abs() < 1e-15);
    assert_eq!(motion.time_of_angle(54.0, 0.1), None);
    assert_eq!(motion.time_of_angle(-1.0, 0.0), None);
}

/// Closed form: s = 6 (N t + a t^2 / 2).
#[test]
fn ramp_has_its_closed_form() {
    let motion = Motion::starting(10.0, 1000.0).hold(0.5).ramp_to(4000.0, 6000.0).hold(1.0);
    assert!((motion.end_time() - 2.0).abs() < 1e-12);
    assert!((motion.end_speed() - 4000.0).abs() < 1e-9);
    for step in 0..=50 {
        let t = f64::from(step) * 0.01;
        let exact = 10.0 + 3000.0 + 6.0 * (1000.0 * t + 3000.0 * t * t);
        assert!((motion.angle_at(0.5 + t) - exact).abs() < 1e-9);
        assert!((motion.speed_at(0.5 + t) - (1000.0 + 6000.0 * t)).abs() < 1e-9);
    }
}

/// Closed form: from 60 rpm at -120 rpm/s the crank stands still after 0.5 s and 90 degrees, and is back after 1 s.
#[test]
fn crank_turns_back_and_passes_an_angle_twice() {
    let motion = Motion::steady(60.0).stop_and_reverse(120.0, 30.0);
    assert!((motion.angle_at(0.5) - 90.0).abs() < 1e-12);
    assert!((motion.speed_at(0.6) + 12.0).abs() < 1e-9);
    let passages = motion.passages(86.4, 720.0, 10.0);
    assert_eq!(passages.len(), 2);
    assert!(passages[0].forward && !passages[1].forward);
    // 3.6 degrees before the standstill: t = sqrt(2 * 3.6 / 720) = 0.1 s to either side.
    assert!((passages[0].time - 0.4).abs() < 1e-12 && (passages[1].time - 0.6).abs() < 1e-12);
    assert!((motion.time_of_angle(86.4, 0.5).unwrap() - 0.6).abs() < 1e-12);
    // Pushed back to 30 rpm in 0.25 s and stopped in as long: 2 * 22.5 degrees.
    assert!((motion.angle_at(5.0) - 45.0).abs() < 1e-9);
    assert!(motion.speed_at(5.0).abs() < 1e-12);
}

/// A motion of many pieces: the passages of a row of angles are where the angle says, in order, each once.
#[test]
fn passages_are_complete_and_lie_on_their_angles() {
    let motion = Motion::starting(3.0, 200.0)
        .by_angle(500.0, |angle| 200.0 + 80.0 * (angle / 30.0).sin())
        .ramp_to(3000.0, 5000.0)
        .blip(6000.0, 0.2)
        .hold(0.123)
        .ramp_to(100.0, 8000.0);
    let until = motion.end_time();
    let passages = motion.passages(-7.5, 60.0, until);
    let expected = ((motion.angle_at(until) + 7.5) / 60.0).floor() as i64;
    assert_eq!(passages.iter().map(|p| p.index).collect::<Vec<_>>(), (1..=expected).collect::<Vec<_>>());
    assert!(passages.windows(2).all(|pair| pair[0].time < pair[1].time));
    for passage in passages {
        let angle = -7.5 + passage.index as f64 * 60.0;
        assert!((motion.angle_at(passage.time) - angle).abs() < 1e-9, "{passage:?}");
        let found = motion.time_of_angle(angle, 0.0).unwrap();
        assert!((found - passage.time).abs() < 1e-12);
    }
}

/// There and back within 1e-9 s, wherever the crank turns.
#[test]
fn time_of_angle_undoes_angle_at() {
    let motion = Motion::starting(0.0, 30.0)
        .by_angle(1440.0, |angle| 200.0 * (1.0 - 0.5 * (angle * std::f64::consts::TAU / 180.0).cos()))
        .ramp_to(20_000.0, 9000.0)
        .hold(100.0)
        .ramp_to(60.0, 30_000.0);
    let mut worst: f64 = 0.0;
    for step in 0..20_000 {
        let time = f64::from(step) * motion.end_time() / 20_000.0;
        let back = motion.time_of_angle(motion.angle_at(time), 0.0).unwrap();
        worst = worst.max((back - time).abs());
    }
    println!("there and back: worst {worst:.1e} s");
    assert!(worst < 1e-9);
}

#[test]
fn joins_of_pieces_are_passed_once() {
    // The second piece begins exactly on 90 degrees.
    let motion = Motion::steady(60.0).hold(0.25).hold(0.25).accelerate(0.0, 0.5);
    assert_eq!(motion.passages(0.0, 90.0, 0.9).iter().map(|p| p.index).collect::<Vec<_>>(), [1, 2, 3]);
}
