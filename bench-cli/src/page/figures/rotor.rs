//! The rotor in words.

use super::{paragraph, short};
use crate::record::figures::{PickupShaft, RotorFigures};
use crate::words::position::position_with_unit;

pub(super) fn render(text: &mut String, rotor: &RotorFigures) {
    let mut say = |sentence: String| paragraph(text, "  ", &sentence);
    if rotor.towers.len() < 2 {
        say("one cylinder has one tower, or none: the spark cannot go to a wrong one".to_owned());
        return;
    }
    let travel = &rotor.travel;
    say(format!(
        "line it up at {}: with cylinder 1 there on compression, the middle of the rotor's tip faces the middle of its tower",
        position_with_unit(rotor.line_up_crank_degrees)
    ));
    say(format!(
        "sparks come from {} to {}{}: the rotor travels {:.1} distributor degrees in all, {:.1} to each side of its tower; \
         before it at the earliest spark, past it at the latest",
        position_with_unit(travel.latest_crank_degrees),
        position_with_unit(travel.earliest_crank_degrees),
        if rotor.weights_work { " as the rotor sees them, for the old weights turn it along" } else { "" },
        travel.in_all_distributor_degrees(),
        rotor.each_side_distributor_degrees
    ));
    say(format!(
        "towers stand {}{} distributor degrees apart: at either end the nearest other tower is {:.1} distributor degrees away{}",
        if rotor.towers_at_distributor_degrees.is_some() { "at least " } else { "" },
        short(travel.towers_apart_distributor_degrees),
        rotor.other_tower_distributor_degrees.abs(),
        if rotor.other_tower_distributor_degrees <= rotor.each_side_distributor_degrees {
            ", NEARER than its own: the spark will go to the wrong cylinder"
        } else {
            ""
        }
    ));
    say(match rotor.overlap_at_ends_distributor_degrees {
        Some(overlap) if overlap >= 0.0 => {
            format!("at either end tip and tower still face each other by {overlap:.1} distributor degrees")
        }
        Some(gap) => format!(
            "at either end {:.1} distributor degrees are left between the edges of tip and tower, which the spark must jump \
             sideways: a wider tip, or less advance",
            gap.abs()
        ),
        None => "how far tip and tower face each other at the ends is told once `rotor_tip_width` and `tower_width` stand in \
                 `[distributor]`"
            .to_owned(),
    });
    if let Some(latest) = rotor.latest_cranking_crank_degrees {
        say(format!(
            "on the starter with a weak battery the spark comes as late as {}: there the rotor stands {}",
            position_with_unit(latest),
            before_or_past(travel.before_tower(latest))
        ));
    }
    let at_flank = rotor.flank_crank_degrees.zip(rotor.at_flank_before_tower_distributor_degrees);
    say(match (at_flank, rotor.pickup) {
        (Some((flank, before_tower)), Some(pickup)) => format!(
            "at the pickup's flank, the edge of its signal that times the spark, {}, the rotor stands {}. {}",
            position_with_unit(flank),
            before_or_past(before_tower),
            how(pickup, rotor.weights_work)
        ),
        _ => "where it stands at the pickup's flank is told once `place` and `angle` stand in `[pickup]`".to_owned(),
    });
    let towers: Vec<String> = rotor.towers.iter().map(u32::to_string).collect();
    say(format!(
        "it turns {}, seen from above the cap; the towers in that direction are {}",
        if rotor.clockwise { "clockwise" } else { "anticlockwise" },
        towers.join(", ")
    ));
    if let Some(at) = rotor.towers_at_in_words() {
        say(at);
    }
}

/// How to get it there.
fn how(pickup: PickupShaft, weights_work: bool) -> &'static str {
    match pickup {
        PickupShaft::Distributor => {
            "The pickup sits in the same body as the towers, so turning the body cannot mend this: first set the pickup, then \
             turn the rotor on its shaft, or the pickup on its plate, until the rotor is right too"
        }
        PickupShaft::Cam | PickupShaft::Crank if weights_work => {
            "Set it with the engine standing, the weights at rest: turn the distributor's body, which does not move the timing. \
             Weights that stick or a spring that breaks move the rotor; to lock them is surer"
        }
        PickupShaft::Cam | PickupShaft::Crank => {
            "The pickup is not in the distributor: turn the distributor's body until the rotor is right, which does not move the \
             timing"
        }
    }
}

fn before_or_past(before_tower: f64) -> String {
    let side = if before_tower < 0.0 { "past" } else { "before" };
    format!("{:.1} distributor degrees {side} its tower", before_tower.abs())
}
