//! Current limit and ballast in words: what holds the current, and what lets it be reached.

use super::words::judged;
use super::{CoilReadings, Needed, Use, WARMER_K, circuit, loop_ohm};
use crate::curve::circuit::Circuit;
use crate::curve::figures::coil::{Wanted, at};
use crate::words::number::short;

/// Places between two rows of the table at which the current is looked at.
const BETWEEN: u32 = 1_000;

/// The most current that the table gives in a circuit between two voltages, and where.
fn most_current(circuit: &Circuit, needed: &Needed, [low, high]: [f64; 2]) -> (f64, f64) {
    (0..=BETWEEN)
        .map(|step| low + (high - low) * f64::from(step) / f64::from(BETWEEN))
        .map(|volts| (circuit.current_a(volts, at(&needed.table, volts)), volts))
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .unwrap_or_default()
}

pub(super) fn in_words(readings: &CoilReadings, wanted: &Use, needed: &Needed) -> Vec<String> {
    let Wanted { circuit: cold, current_a, .. } = needed.wanted;
    let (low, high) = (wanted.battery.from, wanted.battery.to);
    let mut said = Vec::new();
    let (most, most_at) = most_current(&cold, needed, [low, high]);
    said.push(format!(
        "current limit: the driver has to bear {} A, at {} V, where the table's straight lines ask for most; a limit of its own belongs \
         just above that{}",
        short(most, 2),
        short(most_at, 1),
        judged(most, wanted.allowed.greatest_current_a, "A")
    ));
    let left_on = (high - cold.driver_drop_volts) / cold.resistance_ohm;
    said.push(format!(
        "left on at {} V, by a driver that sticks, the coil comes to {} A",
        short(high, 1),
        short(left_on, 2)
    ));
    // The winding's own share of the loop is what no ballast can take away.
    let Some(winding) = readings.coil_ohm() else {
        said.push("which ballast it wants cannot be told: only the whole loop is known. Read the winding alone, `--resistance`".to_owned());
        return said;
    };
    if let (Some(volts), Some(ballast)) = (wanted.allowed.bypassed_from_to_volts, readings.given_ballast_ohm) {
        let bypassed = Circuit { resistance_ohm: cold.resistance_ohm - ballast, ..cold };
        let (most, most_at) = most_current(&bypassed, needed, volts);
        said.push(format!(
            "on the starter, its ballast of {} ohm bypassed, the same dwell comes to {} A at {} V{}",
            short(ballast, 2),
            short(most, 2),
            short(most_at, 1),
            judged(most, wanted.allowed.greatest_current_a, "A")
        ));
    }
    let holds = ((high - cold.driver_drop_volts) / current_a - winding).max(0.0);
    let warm_loop = loop_ohm(readings, wanted, WARMER_K).unwrap_or(cold.resistance_ohm);
    let warm_winding = warm_loop - (cold.resistance_ohm - winding);
    let reaches = (low - cold.driver_drop_volts) / current_a - warm_winding;
    let reached_from = cold.driver_drop_volts + warm_loop * current_a;
    said.push(format!(
        "ballast that alone holds the current to {} A at {} V: {} ohm or more, wiring counted",
        short(current_a, 2),
        short(high, 1),
        short(holds, 2)
    ));
    said.push(if reaches > 0.0 {
        format!(
            "ballast with which {} A are still reached at {} V, the winding 100 K warmer: less than {} ohm",
            short(current_a, 2),
            short(low, 1),
            short(reaches, 2)
        )
    } else {
        format!(
            "with the winding 100 K warmer no ballast at all lets {} A be reached at {} V: the winding alone has {} ohm then",
            short(current_a, 2),
            short(low, 1),
            short(warm_winding, 2)
        )
    });
    said.push(if holds < reaches {
        format!("wanted: a ballast between {} and {} ohm does both", short(holds, 2), short(reaches, 2))
    } else {
        "no ballast does both: the dwell table and the driver's limit hold the current, and a ballast is only there for a driver that \
         sticks"
            .to_owned()
    });
    let now = cold.resistance_ohm - winding;
    said.push(format!(
        "as it is, with {} ohm of ballast and wiring, {} A are reached from {} V up once the winding is 100 K warmer; from {} V cold",
        short(now, 2),
        short(current_a, 2),
        short(reached_from, 1),
        short(cold.driver_drop_volts + cold.resistance_ohm * current_a, 1)
    ));
    let warm = circuit(readings, wanted, WARMER_K).unwrap_or(cold);
    if let Some(volts) = needed.volts().find(|volts| *volts >= 12.0).or_else(|| needed.volts().last()) {
        let dwell = at(&needed.table, volts);
        said.push(format!(
            "100 K warmer, the winding has {} times its cold resistance: the same dwell at {} V then gives {} A and {} mJ, cold {} A \
             and {} mJ",
            short(warm_winding / winding, 2),
            short(volts, 1),
            short(warm.current_a(volts, dwell), 2),
            short(warm.energy_j(volts, dwell) * 1e3, 1),
            short(cold.current_a(volts, dwell), 2),
            short(cold.energy_j(volts, dwell) * 1e3, 1)
        ));
    }
    said
}
