//! Every spark that an ignition makes on an independent crank lies where the list of sparks says: its angle, the tower that the rotor
//! faces, and its energy.

// Times and places of these tests are small and positive, far inside every cast.
#![allow(clippy::cast_precision_loss, clippy::cast_possible_truncation, clippy::cast_sign_loss)]

mod around;
mod start;

use around::{Around, Rows, list_of};
use bobweight::sparks::Cause;
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
fn play_all(engines: &[Engine], starts: usize) -> Played {
    std::thread::scope(|scope| {
        let halves = [(1, starts / 2), (2, starts - starts / 2)];
        let threads = halves.map(|(seed, starts)| scope.spawn(move || play(engines, seed, starts)));
        threads.into_iter().map(|thread| thread.join().unwrap()).fold(Played::default(), Played::and)
    })
}

#[test]
fn no_spark_lies_outside_the_list_and_its_ranges_are_no_wider_than_sparks_are() {
    let engines = engines();
    let played = play_all(&engines, starts());
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
        println!("{cause:20} filled to {told}");
        assert!(*share >= 0.5, "{cause}: less than half of the range was found, {told}");
    }
    let silent: Vec<&str> =
        Cause::ALL.iter().map(|cause| cause.key()).filter(|key| !filled.contains_key(key)).collect();
    assert_eq!(silent, ["key_on"], "causes of which no spark was seen");
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
