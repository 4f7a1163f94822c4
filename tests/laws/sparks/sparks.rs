//! Every spark that an ignition makes on an independent crank lies where the list of sparks says.

mod around;

use around::{Around, list_of};
use bobweight::sparks::Cause;
use bobweight_tests::plain::Plain;

#[test]
fn print_lists() {
    for (name, plain) in [
        ("float", Plain::fire_float()),
        ("v8", Plain::v8()),
        ("flat4", Plain::flat(4)),
        ("flat2", Plain::flat(2)),
        ("flat1", Plain::flat(1)),
    ] {
        let around = Around::of(&plain);
        println!("== {name}");
        let sparks = list_of(&plain, &around, |list| (list.sparks(), list.judge(&list.sparks(), &around.asked())));
        for spark in sparks.0.0 {
            let Some(a) = spark.angles else { continue };
            let d = |x: bobweight::quantity::CrankAngle| x.get().to_num::<f64>();
            println!(
                "{:20} {:7.2} at {:6.0}  {:7.2} at {:6.0}  rotor {:6.1} {:6.1} {:?} {:?}",
                spark.cause.key(),
                d(a.earliest),
                a.earliest_at.get().to_num::<f64>(),
                d(a.latest),
                a.latest_at.get().to_num::<f64>(),
                d(a.rotor_before) / 2.0,
                d(a.rotor_past) / 2.0,
                spark.energy.map(|e| (e.least.bits() as f64 / 1e3, e.greatest.bits() as f64 / 1e3)),
                spark.rule
            );
        }
        for judgement in sparks.1.into_iter().flatten() {
            println!("   {judgement:?} {}", judgement.holds());
        }
        let _ = Cause::ALL;
    }
}
