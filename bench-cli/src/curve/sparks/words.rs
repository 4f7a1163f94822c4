//! A row of the list, and a demand, in a sentence each.

use crate::quantity::of_core::angle_degrees;
use crate::record::sparks::{SparkAngles, SparkEnergy};
use crate::words::number::fixed;
use crate::words::position::position;
use bobweight::sparks::{Cause, Demand, Rule, SparkJudgement};
use std::fmt::Write as _;

/// What a person calls a cause.
pub(super) fn cause_in_words(cause: Cause) -> &'static str {
    match cause {
        Cause::Running => "running",
        Cause::SpeedFalling => "speed falling",
        Cause::SpeedRising => "speed rising",
        Cause::Held => "held",
        Cause::Cranking => "cranking",
        Cause::BatteryLow => "cranking, battery low",
        Cause::Catching => "engine catches",
        Cause::AfterStop => "first after a stop",
        Cause::KeyOn => "key on, standing",
        Cause::LostEdge => "an edge lost",
        Cause::FalseEdge => "a false edge, running",
        Cause::FalseEdgeCranking => "a false edge, cranking",
        Cause::Burst => "a burst of false edges",
        Cause::KeyOff => "key off in a dwell",
        Cause::Reset => "controller reset",
        Cause::SensorStuck => "vacuum sensor stuck",
        _ => "another cause",
    }
}

fn rule_in_words(rule: Rule) -> &'static str {
    match rule {
        Rule::Ordered => "as ordered",
        Rule::LastPeriod => "by the last period and the greatest acceleration",
        Rule::SecondFlank => "dwell begins at the second flank, the spark comes one dwell later",
        Rule::Swing => "by the last period, while the starter's speed swings",
        Rule::ZeroCrossing => "at its own zero crossing, or up to one dwell after it, never before it",
        Rule::OwnCrossing => {
            "by the last period and the greatest acceleration, and no later than its own zero crossing or one dwell after it"
        }
        Rule::MovingFlank => {
            "no dwell begins before the moving flank, nor by a false one in the first seven eighths of a pulse's time"
        }
        Rule::SlowestEdge => "a dwell without its edge waits for the slowest one",
        Rule::Window => "a false edge is believed only where a true one could be",
        Rule::Dwell => "the current stops wherever its dwell has come to",
        Rule::TwoPulses => "its last period can hold two pulses",
        Rule::NoDwell => "no dwell begins",
        _ => "nothing bounds it but one spark to an edge that is believed",
    }
}

/// Such as `running: 38.7 to 7.2 BTDC; rotor 7.8 before to 7.9 past its tower; 56 to 86 mJ (as ordered)`.
pub(super) fn of_row(cause: Cause, angles: Option<&SparkAngles>, energy: Option<SparkEnergy>, rule: Rule) -> String {
    let name = cause_in_words(cause);
    let Some(angles) = angles else { return format!("{name}: no spark ({})", rule_in_words(rule)) };
    let mut parts = Vec::new();
    if angles.anywhere {
        parts.push("anywhere".to_owned());
    } else {
        parts.push(format!("{} to {}", position(angles.earliest_crank_degrees), position(angles.latest_crank_degrees)));
    }
    if let Some(rotor) = angles.rotor.filter(|_| !angles.anywhere) {
        let (before, past) = (rotor.before_distributor_degrees, rotor.past_distributor_degrees);
        parts.push(format!("rotor {} to {}", at_tower(-before), at_tower(past)));
    }
    if let Some(energy) = energy {
        parts.push(format!("{} to {} mJ", fixed(energy.least_mj, 0), fixed(energy.greatest_mj, 0)));
    }
    format!("{name}: {} ({})", parts.join("; "), rule_in_words(rule))
}

/// Distributor degrees past a tower; negative before it.
fn at_tower(past: f64) -> String {
    format!("{} {}", fixed(past.abs(), 1), if past < 0.0 { "before its tower" } else { "past" })
}

pub(super) fn of_demand(judgement: &SparkJudgement, kept: bool, towers: u8) -> String {
    let cause = cause_in_words(judgement.cause);
    let says = if kept { "OK" } else { "BROKEN" };
    match judgement.demand {
        Demand::KickBack { earliest, allowed } => format!(
            "kick-back: {says} ({cause}: {} at the earliest, {} allowed)",
            position(angle_degrees(earliest)),
            position(angle_degrees(allowed))
        ),
        Demand::OwnTower { past, allowed, next_stands } => {
            let (past, allowed) = (angle_degrees(past) / 2.0, angle_degrees(allowed) / 2.0);
            let apart = 360.0 / f64::from(towers);
            let side = if past < 0.0 { "before" } else { "past" };
            let mut said = format!(
                "rotor: {says} ({cause}: {} distributor degrees {side} its tower, {} allowed, the other tower {} away",
                fixed(past.abs(), 1),
                fixed(allowed, 1),
                fixed(apart - past.abs(), 1)
            );
            if !kept {
                let _ = write!(
                    said,
                    "; a spark that jumps there finds that cylinder {}, {}: line the rotor up for these sparks, {}",
                    position(angle_degrees(next_stands)),
                    stroke(angle_degrees(next_stands)),
                    if judgement.cause.is_starting() {
                        "give the starter a better battery or the coil a shorter dwell while cranking"
                    } else {
                        "let it count as cranking up to a higher speed (`cranking_below`), or measure how fast its speed really changes \
                         (`greatest_acceleration`)"
                    }
                );
            }
            said + ")"
        }
        Demand::LeastEnergy { energy, asked } => format!(
            "energy: {says} ({cause}: {} mJ at the least, winding hot and battery low; {} asked)",
            fixed(f64::from(energy.bits()) / 1e3, 1),
            fixed(f64::from(asked.bits()) / 1e3, 1)
        ),
        Demand::GreatestCurrent { current, allowed } => format!(
            "current: {says} ({} A at most, winding cold and battery high; {} allowed)",
            fixed(f64::from(current.bits()) / 1e3, 1),
            fixed(f64::from(allowed.bits()) / 1e3, 1)
        ),
        Demand::GreatestHeat { heat, allowed } => format!(
            "heat: {says} ({} W in the winding at most, cold and battery high; {} allowed)",
            fixed(f64::from(heat.bits()) / 1e3, 1),
            fixed(f64::from(allowed.bits()) / 1e3, 1)
        ),
        _ => format!("{says} ({cause})"),
    }
}

/// The stroke of a four-stroke's cylinder, so many crank degrees before its firing top dead centre.
fn stroke(btdc: f64) -> &'static str {
    match btdc.rem_euclid(720.0) {
        at if at < 180.0 => "on its compression stroke",
        at if at < 360.0 => "on its intake stroke",
        at if at < 540.0 => "on its exhaust stroke",
        _ => "on its power stroke",
    }
}
