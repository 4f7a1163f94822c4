//! What holds of orders for arbitrary streams of edges, clocks and samples. Each of these laws is asserted in
//! `tools/support/firmware.rs` at every answer; here are the streams.
//!
//! `BOBWEIGHT_STREAMS` sets how many there are.

// Times and places of these tests are small and positive, far inside every cast.
#![allow(clippy::cast_precision_loss, clippy::cast_possible_truncation, clippy::cast_sign_loss)]

use bobweight::Flank;
use bobweight_tests::firmware::{Happening, Timer};
use bobweight_tests::plain::{Plain, depression, voltage};
use bobweight_tests::strategy;
use proptest::prelude::*;

/// How long after the one before it something happens, as a share of the period at 1 000 crank rpm, and what.
fn happening() -> impl Strategy<Value = (f64, Happening)> {
    let edge = (prop::sample::select(vec![Flank::Timing, Flank::Timing, Flank::Timing, Flank::Second]), 0u32..400)
        .prop_map(|(flank, handled_after)| Happening::Edge { flank, handled_after });
    let late_edge =
        (10_000u32..2_000_000).prop_map(|late| Happening::Edge { flank: Flank::Timing, handled_after: late });
    let what = prop_oneof![
        12 => edge,
        1 => late_edge,
        1 => (prop::option::of(0.0..100.0f64), any::<bool>()).prop_map(|(kpa, closed)| Happening::Sample(kpa.map(depression), closed)),
        1 => (0.0..20.0f64).prop_map(|volts| Happening::Battery(voltage(volts))),
        1 => any::<bool>().prop_map(Happening::Hold),
        2 => Just(Happening::Poll),
    ];
    let after = prop_oneof![
        6 => 0.2..2.0f64,
        // Neighbours alike, so that rhythms form and break.
        4 => prop::sample::select(vec![0.25, 0.5, 1.0, 1.0, 1.0, 2.0]),
        1 => 0.0..0.05f64,
        1 => 2.0..40.0f64,
    ];
    (after, what)
}

#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // Gaps are small and positive.
fn play(timer: &mut Timer<'_>, plain: &Plain, scale: f64, stream: &[(f64, Happening)]) {
    let mut at = timer.now();
    for &(gap, what) in stream {
        at = at.max(timer.now()) + (gap * scale * plain.period(1000.0) * plain.tick_rate) as u64;
        timer.happen(at, what);
    }
}

/// Plays good edges at a steady speed that the engine allows.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
fn steady(timer: &mut Timer<'_>, plain: &Plain, rpm: f64, edges: u64) {
    let period = (plain.period(rpm) * plain.tick_rate).round() as u64;
    let start = timer.now() + period;
    // A reluctor's pulses are whole.
    let to_crossing =
        plain.moving_flank.map(|(_, latest)| (latest - plain.pickup_angle) / plain.spacing() * period as f64);
    for i in 0..edges {
        let at = start + i * period;
        if let Some(before) = to_crossing {
            timer.happen(at - before as u64, Happening::Edge { flank: Flank::Second, handled_after: 0 });
        }
        timer.happen(at, Happening::Edge { flank: Flank::Timing, handled_after: 0 });
    }
}

/// 100 000 streams in the long run.
fn cases() -> u32 {
    match std::env::var("BOBWEIGHT_STREAMS") {
        Ok(text) => text.parse().expect("BOBWEIGHT_STREAMS is a whole number"),
        Err(_) if std::env::var_os("BOBWEIGHT_LONG").is_some() => 100_000,
        Err(_) => 10_000,
    }
}

/// Any stream, the same with another clock, then a steady engine, then a stop.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
fn keeps_the_law(
    plain: &Plain,
    scale: f64,
    stream: &[(f64, Happening)],
    starts: u32,
    rpm_share: f64,
) -> Result<(), TestCaseError> {
    let Ok(table) = plain.timetable() else { return Err(TestCaseError::reject("refused")) };
    let mut timer = Timer::new(plain, &table, 0);
    play(&mut timer, plain, scale, stream);
    let mut shifted = Timer::new(plain, &table, starts);
    play(&mut shifted, plain, scale, stream);
    let relative = |timer: &Timer<'_>, starts: u32| -> Vec<_> {
        use bobweight::Answer::{Cancel, MoveOff, Nothing, Order};
        timer
            .answers
            .iter()
            .map(|&(now, answer)| {
                (
                    now,
                    match answer {
                        Nothing | Cancel => answer,
                        Order { on, off } => Order { on: on.wrapping_sub(starts), off: off.wrapping_sub(starts) },
                        MoveOff { off } => MoveOff { off: off.wrapping_sub(starts) },
                    },
                )
            })
            .collect()
    };
    prop_assert_eq!(relative(&timer, 0), relative(&shifted, starts));

    // After whatever it was, a steady engine: no edge is refused after the sixth, and each pulse has its spark at its
    // angle after five good edges more. Where a slower one is believed for sure, that holds once the engine has had the time
    // to come from that speed to this one: before, it is noise.
    timer.happen(timer.now(), Happening::Hold(false));
    timer.happen(timer.now(), Happening::Sample(None, false));
    let rpm = plain.running_from + rpm_share * (plain.spark_again_below - plain.running_from) * 0.99;
    steady(&mut timer, plain, rpm, 6);
    let period = plain.period(rpm) * plain.tick_rate;
    if let Some(believed) = timer.sequencer.period().map(f64::from)
        && believed > 4.0 / 3.0 * period
    {
        let seconds = rpm * (1.0 - period / believed) / plain.acceleration;
        steady(&mut timer, plain, rpm, (seconds / plain.period(rpm)) as u64 + 2);
    }
    let refused = timer.sequencer.counters().refused;
    steady(&mut timer, plain, rpm, 5);
    prop_assert_eq!(
        timer.sequencer.counters().refused,
        refused,
        "an edge was refused after the sixth: {:?}",
        timer.sequencer
    );
    let (before, counters) = (timer.dwells.len(), *timer.sequencer.counters());
    steady(&mut timer, plain, rpm, 20);
    let sparks = timer.dwells.len() - before;
    prop_assert!(
        (19..=21).contains(&sparks),
        "{} sparks of 20 good edges at {} crank rpm: {:?}",
        sparks,
        rpm,
        timer.sequencer
    );
    // Each at its angle: so many ticks after a good edge.
    let period = timer.sequencer.period().unwrap();
    let delay = i64::from(table.delay(timer.sequencer.phase(), period, timer.sequencer.vacuum()));
    let last_edge = timer.now().cast_signed();
    for dwell in &timer.dwells[before + 1..] {
        let after_edge = (dwell.off.cast_signed() - last_edge).rem_euclid(i64::from(period));
        // A reluctor's can lie at its own crossing, a whole period after the one before.
        prop_assert_eq!(
            after_edge,
            delay % i64::from(period),
            "a spark of a steady engine in the wrong place, {:?}",
            timer.sequencer
        );
    }
    let after = *timer.sequencer.counters();
    prop_assert_eq!(after.lost, counters.lost, "an edge was missed");
    prop_assert_eq!(after.forced, counters.forced, "a spark was forced");

    // And after a stop no dwell begins.
    let dwells = timer.dwells.len();
    let stopped_at = timer.now();
    timer.run_to(stopped_at + (5.0 * plain.tick_rate) as u64);
    prop_assert!(timer.dwells.len() <= dwells + 2);
    for dwell in &timer.dwells[dwells..] {
        prop_assert!(dwell.on <= stopped_at + (plain.period(30.0) * plain.tick_rate) as u64);
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: cases(), max_global_rejects: u32::MAX, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn arbitrary_streams_keep_the_law_and_a_shifted_clock_changes_nothing(
        plain in strategy::plain(),
        scale in prop_oneof![0.15..4.0f64, Just(1.0)],
        stream in prop::collection::vec(happening(), 1..80),
        starts in any::<u32>(),
        rpm_share in 0.15..0.95f64,
    ) {
        keeps_the_law(&plain, scale, &stream, starts, rpm_share)?;
    }

    #[test]
    fn arbitrary_streams_of_a_reluctor_keep_the_law_and_a_shifted_clock_changes_nothing(
        plain in strategy::reluctor(),
        scale in prop_oneof![0.15..4.0f64, Just(1.0)],
        stream in prop::collection::vec(happening(), 1..80),
        starts in any::<u32>(),
        rpm_share in 0.15..0.95f64,
    ) {
        keeps_the_law(&plain, scale, &stream, starts, rpm_share)?;
    }
}
