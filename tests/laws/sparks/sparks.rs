//! Every spark that an ignition makes on an independent crank lies where the list of sparks says: its angle, the tower that the rotor
//! faces, and its energy.

// Times and places of these tests are small and positive, far inside every cast.
#![allow(clippy::cast_precision_loss, clippy::cast_possible_truncation, clippy::cast_sign_loss)]

mod around;
mod start;

use around::{Around, Rows, list_of};
use bobweight::Timetable;
use bobweight::sparks::Cause;
use bobweight_tests::numbers::Numbers;
use bobweight_tests::plain::Plain;
use start::{FAULTS, Fault};
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

/// What a search has reached of one cause: the earliest and the latest.
type Reached = BTreeMap<(usize, &'static str), (f64, f64)>;

fn play_all(engines: &[Engine], seed: u64, starts: usize, reached: &mut Reached) -> (usize, Vec<String>) {
    let mut numbers = Numbers::new(seed);
    let (mut sparks, mut outside) = (0, Vec::new());
    for k in 0..starts {
        let number = k % engines.len();
        let engine = &engines[number];
        let fault = FAULTS[(k / engines.len()) % FAULTS.len()];
        if std::env::var_os("TRACE").is_some() {
            println!("START {}", engine.name);
        }
        for seen in start::play(&engine.plain, &engine.table, &engine.around, fault, &mut numbers) {
            sparks += 1;
            match engine.rows.explain(&seen, &engine.plain, &engine.around) {
                Ok((cause, btdc)) => {
                    let one = reached.entry((number, cause.key())).or_insert((btdc, btdc));
                    *one = (one.0.max(btdc), one.1.min(btdc));
                }
                Err(why) if std::env::var("TRACE").is_ok_and(|t| seen.story.contains(&t)) => {
                    panic!("{why} {}", seen.story)
                }
                Err(why) => outside.push(format!("{}: {why}: {}", engine.name, seen.story)),
            }
        }
    }
    (sparks, outside)
}

#[test]
fn no_spark_lies_outside_the_list() {
    let engines = engines();
    let mut reached = Reached::new();
    let (sparks, outside) = play_all(&engines, 1, starts(), &mut reached);
    println!("{} starts of {} engines, {sparks} sparks", starts(), engines.len());
    for ((engine, cause), (earliest, latest)) in &reached {
        let row = engines[*engine].rows.by_key(cause);
        println!(
            "{:35} {cause:20} {latest:8.2} .. {earliest:8.2} of {:8.2} .. {:8.2}",
            engines[*engine].name, row.latest, row.earliest
        );
    }
    let shown: Vec<_> = outside.iter().take(12).collect();
    assert!(outside.is_empty(), "{} of {sparks} sparks are not on the list: {shown:#?}", outside.len());
    let _ = (Fault::Nothing, Cause::ALL);
}
