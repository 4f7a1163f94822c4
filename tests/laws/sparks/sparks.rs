//! Every spark that an ignition makes on an independent crank lies where the list of sparks says: its angle, the tower that the rotor
//! faces, and its energy.

// Times and places of these tests are small and positive, far inside every cast.
#![allow(clippy::cast_precision_loss, clippy::cast_possible_truncation, clippy::cast_sign_loss)]

mod around;
mod start;

use around::{Around, Rows, list_of};
use bobweight::sparks::{Asked, Cause, Rule};
use bobweight::{Answer, Timetable};
use bobweight_tests::firmware::Timer;
use bobweight_tests::numbers::Numbers;
use bobweight_tests::plain::Plain;
use start::FAULTS;
use std::collections::BTreeMap;

/// An engine with all that stands around it.
struct Engine {
    name: String,
    plain: Plain,
    table: Timetable,
    around: Around,
    rows: Rows,
}

impl Engine {
    fn new(name: &str, plain: Plain, around: Around) -> Self {
        let rows = list_of(&plain, &around, |list| Rows::of(&list.sparks()));
        let table = plain.timetable().unwrap_or_else(|error| panic!("{name}: {error}"));
        Self { name: name.to_owned(), plain, table, around, rows }
    }

    const fn is_of_a_reluctor(&self) -> bool {
        self.plain.moving_flank.is_some()
    }
}

/// Evenly firing engines of 1 to 8 cylinders with each kind of pickup, weak and strong batteries, and a ballast kept or bypassed.
fn engines() -> Vec<Engine> {
    let mut engines = Vec::new();
    let mut add = |name: &str, plain: Plain| {
        let around = Around::of(&plain);
        let bypassed = Around { ballast: 0.8, winding: 0.7, bypassed: true, ..around.clone() };
        let kept = Around { ballast: 0.8, bypassed: false, ..bypassed.clone() };
        for (kind, around) in [("no ballast", around), ("ballast bypassed", bypassed), ("ballast kept", kept)] {
            engines.push(Engine::new(&format!("{name}, {kind}"), plain.clone(), around));
        }
    };
    add("four by a vane", Plain::fire_float());
    add("eight by a vane", Plain::v8());
    add("four by a vane, with a lag", Plain { lag: 200e-6, ..Plain::fire_float() });
    for pulses in 1..=8 {
        add(&format!("{pulses} by one flank"), Plain::flat(pulses));
        let plain = Plain::flat(pulses);
        let second = 8.0;
        let vane = Plain { second_flank_angle: Some(second), cranking: second, greatest_cranking: 10.0, ..plain };
        add(&format!("{pulses} by a slot"), vane.in_steps());
        let bounce = 1e-3_f64.min(29.0 / (f64::from(pulses) * 7000.0));
        add(&format!("{pulses} by points"), Plain { bounce, ..Plain::flat(pulses) }.in_steps());
        let reluctor = Plain { spread: 0.2, ..Plain::reluctor(pulses) };
        add(&format!("{pulses} by a reluctor"), reluctor.clone().in_steps());
        if pulses % 2 == 0 {
            // So wide a wave, a quarter of a pulse, that no dwell may begin by its moving flank.
            let wave = 180.0 / f64::from(pulses);
            let moving_flank = Some((8.0 + wave, 8.0 + wave / 2.0));
            let wide = Plain { moving_flank, greatest_cranking: 10.0, acceleration: 4000.0, lag: 200e-6, ..reluctor };
            add(&format!("{pulses} by a reluctor's wide wave"), wide.in_steps());
        }
    }
    engines
}

/// How often to start.
fn starts() -> usize {
    match std::env::var("BOBWEIGHT_STARTS") {
        Ok(text) => text.parse().expect("BOBWEIGHT_STARTS is a whole number"),
        Err(_) if std::env::var_os("BOBWEIGHT_LONG").is_some() => 10_000_000,
        Err(_) => 100_000,
    }
}

/// The earliest and the latest spark that were found of one cause, by engine and cause.
type Reached = BTreeMap<(usize, &'static str), (f64, f64)>;

/// What came of many starts.
#[derive(Default)]
struct Played {
    starts: usize,
    sparks: usize,
    outside: Vec<String>,
    reached: Reached,
}

impl Played {
    fn and(mut self, other: Self) -> Self {
        self.starts += other.starts;
        self.sparks += other.sparks;
        self.outside.extend(other.outside);
        for (place, (earliest, latest)) in other.reached {
            self.reach(place, earliest);
            self.reach(place, latest);
        }
        self
    }

    fn reach(&mut self, place: (usize, &'static str), btdc: f64) {
        let (earliest, latest) = self.reached.entry(place).or_insert((btdc, btdc));
        (*earliest, *latest) = (earliest.max(btdc), latest.min(btdc));
    }
}

/// Starts the engines in turn, each with each fault; extremes of every setting are tried more often than what lies between.
fn play(engines: &[Engine], seed: u64, starts: usize) -> Played {
    let mut numbers = Numbers::new(seed);
    let mut played = Played { starts, ..Played::default() };
    for k in 0..starts {
        let number = k % engines.len();
        let engine = &engines[number];
        let fault = FAULTS[(k / engines.len()) % FAULTS.len()];
        for seen in start::play(&engine.plain, &engine.table, &engine.around, fault, &mut numbers) {
            played.sparks += 1;
            match engine.rows.explain(&seen, &engine.plain, &engine.around) {
                Ok((cause, btdc)) => played.reach((number, cause.key()), btdc),
                Err(why) => played.outside.push(format!("{}: {why}: {}", engine.name, seen.story)),
            }
        }
    }
    played
}

/// The same on two threads.
fn play_all(engines: &[Engine], seed: u64, starts: usize) -> Played {
    std::thread::scope(|scope| {
        let halves = [(seed, starts / 2), (seed + 1, starts - starts / 2)];
        let threads = halves.map(|(seed, starts)| scope.spawn(move || play(engines, seed, starts)));
        threads.into_iter().map(|thread| thread.join().unwrap()).fold(Played::default(), Played::and)
    })
}

/// A reluctor's rules are its own, so its ranges are filled by its own sparks.
#[test]
fn no_spark_lies_outside_the_list_and_its_ranges_are_no_wider_than_sparks_are() {
    let all = engines();
    let count = all.len();
    let (reluctors, others): (Vec<Engine>, Vec<Engine>) = all.into_iter().partition(Engine::is_of_a_reluctor);
    for (kind, engines, seed) in [("another pickup", &others, 1), ("a reluctor", &reluctors, 3)] {
        hold(kind, engines, &play_all(engines, seed, starts() * engines.len() / count));
    }
}

fn hold(kind: &str, engines: &[Engine], played: &Played) {
    println!("{} starts of {} engines, {} sparks", played.starts, engines.len(), played.sparks);
    let shown: Vec<_> = played.outside.iter().take(12).collect();
    assert!(
        played.outside.is_empty(),
        "{} of {} sparks are not on the list: {shown:#?}",
        played.outside.len(),
        played.sparks
    );
    let mut filled: BTreeMap<&str, (f64, String)> = BTreeMap::new();
    for ((number, cause), (earliest, latest)) in &played.reached {
        let engine = &engines[*number];
        let row = engine.rows.by_key(cause);
        // Of a range that is wider than a pulse a spark shows a pulse at most.
        let width = (row.earliest - row.latest).min(engine.plain.spacing());
        let share = (earliest - latest) / width;
        let told = format!(
            "{share:.2}: {latest:.2} to {earliest:.2} of {:.2} to {:.2}, {}",
            row.latest, row.earliest, engine.name
        );
        println!("{cause}: {told}");
        let best = filled.entry(cause).or_insert((0.0, String::new()));
        if share > best.0 {
            *best = (share, told);
        }
    }
    for (cause, (share, told)) in &filled {
        println!("{kind}: {cause:20} filled to {told}");
        assert!(*share >= 0.5, "{kind}: {cause}: less than half of the range was found, {told}");
    }
    let silent: Vec<&str> =
        Cause::ALL.iter().map(|cause| cause.key()).filter(|key| !filled.contains_key(key)).collect();
    assert_eq!(silent, ["key_on"], "causes of which no spark was seen by {kind}");
}

/// What the starter makes is no sooner than the crossing, wherever an engine that catches is bounded at all: a crossing on the greatest cranking limit
/// kicks nothing back. With 1 to 3 pulses in two turns this acceleration bounds nothing.
#[test]
fn a_reluctors_starting_sparks_are_not_before_its_crossing() {
    let mut bounded = 0;
    for plain in engines().into_iter().map(|engine| engine.plain).filter(|plain| plain.moving_flank.is_some()) {
        let plain = Plain { cranking: plain.pickup_angle, greatest_cranking: plain.pickup_angle, ..plain };
        list_of(&plain, &Around::of(&plain), |list| {
            let sparks = list.sparks();
            let [kick_back, ..] = list.judge(&sparks, &Asked::default());
            let kick_back = kick_back.expect("it is always judged");
            assert!(kick_back.holds(), "{kick_back:?} {plain:?}");
            for spark in sparks.0.iter().filter(|spark| spark.cause.is_starting() && spark.rule == Rule::ZeroCrossing) {
                let earliest = spark.angles.as_ref().unwrap().earliest.get().to_num::<f64>();
                assert!((earliest - plain.pickup_angle - plain.spread).abs() < 0.1, "{spark:?} {plain:?}");
                bounded += 1;
            }
        });
    }
    assert!(bounded > 80, "{bounded} rows");
}

/// Three quarters of the shortest dwell are left, with the winding hot and the battery at its least: the circuit's own equation, of the independent
/// coil.
#[test]
fn a_reluctors_cranking_sparks_have_at_least_three_quarters_of_their_dwell() {
    for plain in (1..=8).map(Plain::reluctor) {
        let around = Around::of(&plain);
        let rows = list_of(&plain, &around, |list| Rows::of(&list.sparks()));
        let volts = around.cranking_volts[0];
        // Just below the speed where cranking ends, a dwell and its spark's burn time are over in half of a period.
        let room = plain.period(plain.running_from) / 2.0 - plain.burn_time;
        let dwell = 0.75 * plain.truth().dwell.at(volts).min(room);
        let least = around.coil().energy(volts, dwell, 100.0);
        let row = rows.by_key("battery_low");
        assert!((row.least / least - 1.0).abs() < 2e-3, "{} J, not {least}: {plain:?}", row.least);
    }
}

/// A key turned on while the engine stands, for as long as a clock takes to wrap three times, makes no spark.
#[test]
fn a_key_turned_on_makes_no_spark() {
    for engine in engines() {
        let mut timer = Timer::new(&engine.plain, &engine.table, u32::MAX - 1000);
        timer.run_to(3 << 32);
        assert!(
            timer.dwells.is_empty() && timer.answers.iter().all(|(_, answer)| *answer == Answer::Nothing),
            "{}",
            engine.name
        );
    }
}
