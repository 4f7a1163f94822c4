//! The driver on a simulated counter: whatever holds its interrupts up, within the stated latency each dwell is at its tick; beyond it, the driver
//! says so itself.

// Times of these tests are small and positive, far inside every cast.
#![allow(clippy::cast_possible_truncation, clippy::cast_possible_wrap, clippy::cast_sign_loss)]

mod machine;

use bobweight::{Answer, Flank, Timetable};
use bobweight_crank as crank;
use bobweight_crank::Motion;
use bobweight_driver::{Ignition, Level, OpenError};
use bobweight_tests::firmware::{Happening, Timer};
use bobweight_tests::plain::Plain;
use machine::{DEAREST, Delays, Machine};
use proptest::prelude::*;

/// A dwell as the pin had it.
type Dwelt = (u64, u64);

fn dwells(moves: &[(u64, Level)]) -> Vec<Dwelt> {
    let offs = moves.iter().skip(1).step_by(2);
    moves.iter().step_by(2).zip(offs).map(|((on, _), (off, _))| (*on, *off)).collect()
}

/// The latency of the tests, ticks: 300 us.
const LATENCY: u32 = 600;

fn plain() -> Plain {
    Plain { latency: 300e-6, ..Plain::fire_float() }
}

fn table() -> Timetable {
    plain().timetable().expect("the demo can be timed")
}

/// What is ordered in a test without a sequencer, in ticks from now.
#[derive(Clone, Copy, Debug)]
enum Order {
    Dwell { on: i32, length: u32 },
    Move { by: i32 },
    MoveTo { ahead: u32 },
    Cancel,
}

fn orders() -> impl Strategy<Value = Vec<(u32, Order)>> {
    let after = prop_oneof![3 => 0u32..3_000, 2 => 0u32..80_000, 1 => 0u32..200_000];
    let what = prop_oneof![
        5 => (prop_oneof![3 => -100i32..4_000, 1 => -100i32..150_000], 1_200u32..20_000)
            .prop_map(|(on, length)| Order::Dwell { on, length }),
        3 => (-4_000i32..24_000).prop_map(|by| Order::Move { by }),
        2 => (0u32..200).prop_map(|ahead| Order::MoveTo { ahead }),
        1 => Just(Order::Cancel),
    ];
    prop::collection::vec((after, what), 1..40)
}

fn delays(most: u32) -> impl Strategy<Value = Delays> {
    (0..=most, 0..=most, 0..=most).prop_map(|(matches, half_wraps, captures)| Delays {
        matches,
        half_wraps,
        captures,
        main_loop: 0,
    })
}

/// A dwell that orders ask for: the first and the last tick of either end.
#[derive(Clone, Copy, Debug)]
struct Wanted {
    on: [u64; 2],
    off: [u64; 2],
    /// Whether its end was moved when it may have been on: then it is not left out for being short.
    may_have_been_on: bool,
    /// Whether it was so short for a while that it may have been left out.
    was_short: bool,
}

/// An order that comes so long before its moment is in time whatever it costs to write it.
const EARLY: u64 = 12 * DEAREST as u64;
/// Less dwell than 0.5 ms does not happen.
const SHORTEST: u64 = 1_000;

impl Wanted {
    /// A moment that is ordered now: at its tick if there is time, else as soon as can be.
    fn moment(at: u64, now: u64) -> [u64; 2] {
        if at >= now + EARLY { [at, at] } else { [at.max(now), now + EARLY] }
    }

    fn ordered(on: u64, off: u64, now: u64) -> Self {
        Self { on: Self::moment(on, now), off: [off, off], may_have_been_on: false, was_short: false }
    }

    fn moved(self, off: u64, now: u64, match_delay: u32) -> Self {
        let ends = self.off[0] < now + EARLY;
        let [off, mut latest] = Self::moment(off, now);
        // A dwell that has just begun, or is about to, is ended by its match interrupt at the soonest.
        let served = self.on[1] + u64::from(match_delay) + EARLY;
        if served > now {
            latest = latest.max(served);
        }
        let off = [off, latest];
        // One that is about to end may have ended before the order arrives.
        let may_have_been_on = self.may_have_been_on || self.on[0] <= now + EARLY;
        let was_short = self.is_left_out()[0];
        Self {
            may_have_been_on,
            was_short,
            off: if ends { [off[0].min(self.off[0]), off[1].max(self.off[1])] } else { off },
            ..self
        }
    }

    /// At most the largest dwell, and as soon as can be where that is over already.
    fn no_longer_than(self, largest: u64, now: u64) -> Self {
        let off = [self.off[0].min(self.on[0] + largest), self.off[1].min((self.on[1] + largest).max(now + EARLY))];
        Self { off, ..self }
    }

    /// Whether it may be left out, and whether it must be.
    fn is_left_out(self) -> [bool; 2] {
        [
            self.was_short || self.off[0] < self.on[1] + SHORTEST,
            self.off[1] < self.on[0] + SHORTEST && !self.may_have_been_on,
        ]
    }

    fn is(self, (on, off): Dwelt) -> bool {
        (self.on[0]..=self.on[1]).contains(&on) && (self.off[0]..=self.off[1]).contains(&off)
    }
}

/// Plays orders as a sequencer may give them: none for a dwell that may have begun but to move its end.
fn plays_orders<const BITS: u32>(
    orders: &[(u32, Order)],
    delays: Delays,
    starts_at: u32,
    seed: u64,
) -> Result<(), TestCaseError> {
    let table = table();
    let largest = u64::from(table.largest_dwell());
    let mut machine = Machine::<BITS>::new(delays, starts_at, seed);
    machine.driver.open(&table).expect("the same rate");
    let mut waits: Option<Wanted> = None;
    let mut wanted: Vec<Wanted> = Vec::new();
    for &(after, order) in orders {
        let at = machine.now() + u64::from(after);
        machine.run_to(at);
        let clock = machine.driver.now();
        let now = machine.now();
        if waits.is_some_and(|dwell| dwell.off[1] + EARLY < now) {
            wanted.extend(waits.take());
        }
        machine.driver.finished();
        let begun = waits.is_some_and(|dwell| dwell.on[0] <= now + u64::from(LATENCY));
        let tick = |moment: u64| clock.wrapping_add(moment.wrapping_sub(now) as u32);
        match (order, waits) {
            (Order::Dwell { on, length }, _) if !begun => {
                let on = now.saturating_add_signed(i64::from(on));
                let off = on + u64::from(length).min(largest);
                machine.driver.take(Answer::Order { on: tick(on), off: tick(off) }, clock);
                waits = Some(Wanted::ordered(on, off, now));
            }
            (Order::Move { .. } | Order::MoveTo { .. }, Some(dwell)) if begun => {
                // A sequencer does not ask for more than the largest dwell; if one did, it would not get it.
                let off = match order {
                    Order::Move { by } => dwell.off[0].saturating_add_signed(i64::from(by)),
                    Order::MoveTo { ahead } => now + u64::from(ahead),
                    Order::Dwell { .. } | Order::Cancel => unreachable!("it moves"),
                };
                machine.driver.take(Answer::MoveOff { off: tick(off) }, clock);
                waits = Some(dwell.moved(off, now, delays.matches).no_longer_than(largest, now));
            }
            (Order::Cancel, Some(_)) if !begun => {
                machine.driver.take(Answer::Cancel, clock);
                waits = None;
            }
            _ => {}
        }
        // One that was left out is over at once.
        machine.driver.finished();
    }
    let end = machine.now() + 400_000;
    machine.run_to(end);
    wanted.extend(waits);
    let seen = dwells(&machine.pin_moves());
    let mut left = seen.iter().copied().peekable();
    for dwell in &wanted {
        let [may_be_left_out, is_left_out] = dwell.is_left_out();
        if left.peek().is_some_and(|&seen| dwell.is(seen)) && !is_left_out {
            let (on, off) = left.next().expect("it was looked at");
            prop_assert!(off - on <= largest + EARLY, "on for {} of {largest}", off - on);
        } else {
            prop_assert!(may_be_left_out, "{:?} is not {dwell:?}, of {wanted:?} and {seen:?}", left.peek());
        }
    }
    prop_assert_eq!(left.next(), None, "a dwell that nobody asked for, of {:?} and {:?}", &wanted, &seen);
    prop_assert_eq!(machine.driver.timer().pin, Level::Low);
    prop_assert!(!machine.driver.has_fault());
    let watch = *machine.driver.watch();
    prop_assert_eq!(watch.complaint(), None, "{:?}", watch);
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 4_000, ..ProptestConfig::default() })]

    #[test]
    fn whatever_delays_its_interrupts_a_dwell_is_at_its_ticks(
        orders in orders(),
        delays in delays(LATENCY - 8 * DEAREST),
        starts_at in any::<u32>(),
        seed in any::<u64>(),
    ) {
        plays_orders::<16>(&orders, delays, starts_at, seed)?;
        plays_orders::<24>(&orders, delays, starts_at, seed)?;
    }
}

/// Speeds that a crank is taken through, in crank rpm, each with its acceleration as a share of the greatest and how long it is held, in seconds.
fn speeds() -> impl Strategy<Value = Vec<(f64, f64, f64)>> {
    prop::collection::vec((460.0..4_700.0f64, 0.2..1.0f64, 0.02..0.3f64), 1..5)
}

/// The edges of a start and what follows it, in ticks.
fn edges_of(plain: &Plain, speeds: &[(f64, f64, f64)]) -> Vec<(u64, Flank)> {
    let mut motion = Motion::starting(100.0, 200.0).hold(0.8);
    for &(rpm, share, seconds) in speeds {
        motion = motion.ramp_to(rpm, share * plain.acceleration).hold(seconds);
    }
    motion = motion.ramp_to(0.0, plain.acceleration).hold(0.1);
    let edges = plain.crank_pickup().edges(&motion, motion.end_time());
    let flank = |edge: &crank::Edge| if edge.flank == crank::Flank::Timing { Flank::Timing } else { Flank::Second };
    edges.iter().map(|edge| ((edge.time * plain.tick_rate) as u64, flank(edge))).collect()
}

/// The dwells of a sequencer that is asked at each edge's own tick, by a timer that is never late.
fn dwells_without_delay(plain: &Plain, table: &Timetable, edges: &[(u64, Flank)]) -> Vec<Dwelt> {
    let mut timer = Timer::new(plain, table, 0);
    for &(at, flank) in edges {
        timer.happen(at, Happening::Edge { flank, handled_after: 0 });
    }
    timer.run_to(timer.now() + 2_000_000);
    timer.dwells.iter().map(|dwell| (dwell.on, dwell.off)).collect()
}

/// What the program around the driver does wrong.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Wrong {
    Nothing,
    /// The main loop sleeps for so many ticks at a time.
    Sleeps(u64),
    /// The main loop takes edges alone.
    NoPolls,
    /// The clock jumps back by so many ticks before each edge is taken.
    Backwards(u32),
    /// The capture unit's clock is so many ticks ahead.
    CapturesAhead(u32),
}

/// Runs a program on the machine until the edges are over, and gives its dwells.
fn run_program<const BITS: u32>(
    machine: &mut Machine<BITS>,
    table: &Timetable,
    edges: &[(u64, Flank)],
    wrong: Wrong,
) -> Vec<Dwelt> {
    machine.driver.open(table).expect("the same rate");
    if let Wrong::CapturesAhead(ticks) = wrong {
        machine.driver.timer().capture_ahead = ticks;
    }
    machine.will_see(edges.iter().copied());
    let end = edges.last().map_or(0, |(at, _)| at + 2_000_000);
    let mut ignition = Ignition::new(table);
    let mut polled = 0;
    while machine.now() < end {
        let sleep = if let Wrong::Sleeps(ticks) = wrong { ticks } else { 20 };
        let until = machine.now() + sleep;
        machine.run_to(until);
        if let Wrong::Backwards(ticks) = wrong
            && machine.driver.has_edge()
        {
            machine.driver.timer().jump_back(ticks);
        }
        if wrong == Wrong::NoPolls {
            while let Some((edge, now)) = machine.driver.next_edge() {
                let answer = ignition.sequencer().edge(edge.flank, edge.at, now);
                machine.driver.take(answer, edge.at);
            }
            continue;
        }
        if machine.driver.has_edge() || machine.driver.is_finished() {
            ignition.run(machine);
        }
        if machine.now() > polled + 60_000 && ignition.is_calm(&mut machine.driver) {
            polled = machine.now();
            ignition.poll(machine);
        }
    }
    dwells(&machine.pin_moves())
}

/// Whether every spark is where it was ordered: a running one at its tick, one of the starter no earlier and at most the latency later.
fn are_alike(seen: &[Dwelt], wanted: &[Dwelt]) -> Result<usize, String> {
    let mut exact = 0;
    for (place, (&(on, seen), &(wanted_on, wanted))) in seen.iter().zip(wanted).enumerate() {
        // A dwell that could begin at once begins when the order arrives.
        if on < wanted_on || on > wanted_on + u64::from(LATENCY) {
            return Err(format!("dwell {place} from {on}, ordered from {wanted_on}"));
        }
        match seen.checked_sub(wanted) {
            Some(0) => exact += 1,
            Some(late) if late <= u64::from(LATENCY) => {}
            _ => return Err(format!("spark {place} at {seen}, ordered for {wanted}")),
        }
    }
    if seen.len() == wanted.len() { Ok(exact) } else { Err(format!("{} sparks of {}", seen.len(), wanted.len())) }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, ..ProptestConfig::default() })]

    /// Within the stated latency every spark of a start, and of a running engine whose speed changes, is where it was ordered.
    #[test]
    fn a_program_that_keeps_the_contract_sparks_where_the_sequencer_says(
        speeds in speeds(),
        delays in delays(200),
        main_loop in 0u32..60,
        starts_at in any::<u32>(),
        seed in any::<u64>(),
    ) {
        let (plain, table) = (plain(), table());
        let edges = edges_of(&plain, &speeds);
        let wanted = dwells_without_delay(&plain, &table, &edges);
        let mut machine = Machine::<16>::new(Delays { main_loop, ..delays }, starts_at, seed);
        let seen = run_program(&mut machine, &table, &edges, Wrong::Nothing);
        let watch = *machine.driver.watch();
        prop_assert_eq!(watch.complaint(), None, "{:?}", watch);
        let exact = are_alike(&seen, &wanted).map_err(|why| TestCaseError::fail(format!("{why}: {watch:?}")))?;
        prop_assert!(exact * 2 > seen.len(), "{exact} of {} sparks at their tick", seen.len());
    }
}

/// A wrong program, of each kind and size.
fn wrongs() -> impl Strategy<Value = Wrong> {
    prop_oneof![
        2 => (0u64..20_000).prop_map(Wrong::Sleeps),
        1 => Just(Wrong::NoPolls),
        1 => (1u32..3_000).prop_map(Wrong::Backwards),
        2 => Just(Wrong::Nothing),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 600, ..ProptestConfig::default() })]

    /// Where a spark is not at its place, the driver has a complaint: no broken contract is silent.
    #[test]
    fn a_program_that_breaks_the_contract_is_told(
        speeds in speeds(),
        delays in delays(3_000),
        wrong in wrongs(),
        main_loop in 0u32..1_000,
        starts_at in any::<u32>(),
        seed in any::<u64>(),
    ) {
        let (plain, table) = (plain(), table());
        let edges = edges_of(&plain, &speeds);
        let wanted = dwells_without_delay(&plain, &table, &edges);
        let mut machine = Machine::<16>::new(Delays { main_loop, ..delays }, starts_at, seed);
        let seen = run_program(&mut machine, &table, &edges, wrong);
        let watch = *machine.driver.watch();
        for &(on, off) in &seen {
            // Whatever holds the interrupt up, and the time it takes itself.
            let most = u64::from(table.largest_dwell().max(delays.matches + 12 * DEAREST));
            // A clock that jumps back lengthens what it times.
            prop_assert!(matches!(wrong, Wrong::Backwards(_)) || off - on <= most, "on for {}, {wrong:?}, {delays:?}", off - on);
        }
        if watch.complaint().is_none() {
            are_alike(&seen, &wanted).map_err(|why| TestCaseError::fail(format!("silent: {why}: {watch:?}")))?;
        }
    }
}

const STEADY: [(f64, f64, f64); 1] = [(2_000.0, 1.0, 1.0)];
const PUNCTUAL: Delays = Delays { matches: 40, half_wraps: 40, captures: 40, main_loop: 40 };

fn complaint_about(wrong: Wrong, delays: Delays) -> Option<&'static str> {
    let (plain, table) = (plain(), table());
    let mut machine = Machine::<16>::new(delays, 7, 11);
    run_program(&mut machine, &table, &edges_of(&plain, &STEADY), wrong);
    machine.driver.watch().complaint()
}

#[test]
fn each_broken_rule_has_its_name() {
    let named = [
        (Wrong::Nothing, PUNCTUAL, ""),
        (Wrong::Sleeps(2_000), PUNCTUAL, "edges were taken late"),
        (Wrong::Sleeps(200_000), PUNCTUAL, "edges were lost"),
        (Wrong::NoPolls, PUNCTUAL, "polls were missed"),
        (Wrong::CapturesAhead(2_000), PUNCTUAL, "times run backwards"),
        (Wrong::Nothing, Delays { main_loop: 350, ..PUNCTUAL }, "orders came later"),
        (Wrong::Nothing, Delays { matches: 900, ..PUNCTUAL }, "a dwell's end was armed late"),
    ];
    for (wrong, delays, name) in named {
        let complaint = complaint_about(wrong, delays).unwrap_or_default();
        assert!(
            complaint.starts_with(name) && complaint.is_empty() == name.is_empty(),
            "{wrong:?} {delays:?}: {complaint}"
        );
    }
}

/// An edge's time that is a little ahead of now, by a capture unit of another clock, does not silence the engine.
#[test]
fn an_edge_ahead_of_now_still_has_its_spark() {
    let (plain, table) = (plain(), table());
    let edges = edges_of(&plain, &STEADY);
    let mut machine = Machine::<16>::new(PUNCTUAL, 0, 3);
    let seen = run_program(&mut machine, &table, &edges, Wrong::CapturesAhead(400));
    let wanted = dwells_without_delay(&plain, &table, &edges);
    assert_eq!(seen.len(), wanted.len());
    assert!(machine.driver.watch().backwards > 0);
}

#[test]
fn a_timetable_of_another_rate_is_refused_with_both() {
    let other = Plain { tick_rate: 1e6, ..plain() }.timetable().expect("it can be timed");
    let mut machine = Machine::<16>::new(PUNCTUAL, 0, 1);
    let refused = machine.driver.open(&other).expect_err("half the rate");
    assert!(matches!(refused, OpenError::TickRate { .. }));
    assert_eq!(
        refused.to_string(),
        "the timetable is for 1000000 ticks a second and the timer counts 2000000: make the timetable for this timer"
    );
    let hasty = Plain { latency: 5e-6, ..plain() }.timetable().expect("it can be timed");
    let refused = machine.driver.open(&hasty).expect_err("10 ticks");
    assert_eq!(refused, OpenError::Latency { timetable: 10, timer: 20 });
}

/// Before it is open, and after a fault, a driver keeps the pin low whatever it is told, and keeps edges.
#[test]
fn a_driver_that_is_not_open_takes_no_order() {
    let table = table();
    let mut machine = Machine::<16>::new(PUNCTUAL, 0, 1);
    let order = |machine: &mut Machine<16>| {
        let now = machine.driver.now();
        machine.driver.take(Answer::Order { on: now + 1_000, off: now + 8_000 }, now);
        let until = machine.now() + 200_000;
        machine.run_to(until);
        machine.pin_moves().len()
    };
    assert_eq!(order(&mut machine), 0);
    machine.driver.open(&table).expect("the same rate");
    assert_eq!(order(&mut machine), 2);
    machine.driver.fault();
    assert_eq!(order(&mut machine), 2);
    assert!(machine.driver.has_fault());
    assert_eq!(machine.driver.open(&table), Err(OpenError::Fault));
    let at = machine.now();
    machine.will_see([(at + 5, Flank::Timing)]);
    machine.run_to(at + 500);
    assert!(machine.driver.has_edge());
}

/// A match interrupt that does not come: the pin is cleared at its tick all the same where the end was armed, and the coil is given up
/// where it was not.
#[test]
fn a_coil_found_on_too_long_is_turned_off_for_good() {
    let table = table();
    let mut machine = Machine::<16>::new(Delays { matches: 60_000, half_wraps: 0, captures: 0, main_loop: 0 }, 0, 9);
    machine.driver.open(&table).expect("the same rate");
    let now = machine.driver.now();
    machine.driver.take(Answer::Order { on: now + 1_000, off: now + 8_000 }, now);
    let until = machine.now() + 200_000;
    machine.run_to(until);
    assert!(machine.driver.has_fault(), "{:?}", machine.driver.watch());
    assert_eq!(machine.driver.timer().pin, Level::Low);
    assert!(machine.driver.timer().disconnected);
    assert!(machine.driver.watch().complaint().is_some());
}
