//! Sentences about a coil that page and report share.

use crate::record::coil::{Heat, HeatRow, HeatedBy, Measured, TopSpeed, Warmed};
use crate::words::number::{short, whole};

/// Hotter than this the enamel and paper of a winding age fast: class 105 (A) of IEC 60085, from memory.
const LASTS_UP_TO_C: f64 = 105.0;

/// A figure with what it may be out.
pub fn measured_in_words(figure: &Measured, unit: &str, places: usize) -> String {
    match figure.give_or_take {
        Some(by) => format!("{} {unit}, give or take {}", short(figure.value, places), short(by, places)),
        None => format!("{} {unit}", short(figure.value, places)),
    }
}

/// How the time at top speed was found.
pub fn top_in_words(top: &TopSpeed) -> String {
    if top.by_its_rules {
        return format!(
            "at top, {} crank rpm: what the rules of the sheet's ignition leave of the dwell, asked edge by edge",
            whole(top.crank_rpm)
        );
    }
    format!(
        "at top, {} crank rpm with one coil for {} cylinder{}: at most, for a coil that may be on {} % of the time and a spark that burns \
         {} ms; the ignition's own rules may leave less, and `--sheet` asks them",
        whole(top.crank_rpm),
        top.cylinders,
        if top.cylinders == 1 { "" } else { "s" },
        short(top.largest_duty * 100.0, 1),
        short(top.burn_time_ms, 2)
    )
}

/// What the clock told.
pub fn warmed_in_words(heat: &Heat) -> String {
    let Some(warmed) = &heat.warmed else {
        return "how warm the winding gets was not looked at: reading 3 tells it. The watts are those of a cold one"
            .to_owned();
    };
    let Warmed { rise_k, watts, kelvin_per_watt, at_end, time_constant_min } = warmed;
    let rise = format!(
        "by the clock it was warmer by {}, with {} W in it",
        measured_in_words(rise_k, "K", 0),
        short(*watts, 1)
    );
    if warmed.says_nothing() {
        return format!(
            "{rise}, which the meter cannot tell from nothing: let the current flow longer, or take a better range"
        );
    }
    let minutes = time_constant_min
        .map_or_else(String::new, |minutes| format!(", two thirds of the way in {} min", short(minutes, 0)));
    let each = measured_in_words(kelvin_per_watt, "K for each watt", 2);
    if *at_end {
        format!("{rise}; in the end it is {each}{minutes}")
    } else {
        format!(
            "{rise}: {each} up to then. It ends higher, and one reading cannot tell where: read once more after twice the time"
        )
    }
}

/// The watts in one use, and how warm the winding gets.
pub fn heat_row_in_words(heat: &Heat, row: &HeatRow) -> String {
    let used = match row.used {
        HeatedBy::LeftOn => "current left on, by closed contacts or a driver that sticks",
        HeatedBy::Idle => "idling",
        HeatedBy::TopSpeed => "at the top speed",
    };
    let reached = match (row.winding_c, &heat.warmed, heat.air_c) {
        (Some(celsius), Some(warmed), Some(air)) => format!(
            ", winding {}{} C in air of {} C",
            if warmed.at_end { "" } else { "at least " },
            whole(celsius),
            whole(air)
        ),
        _ => String::new(),
    };
    // A driver that sticks is a fault: no coil is chosen for it.
    let allowed = heat.greatest_w.filter(|_| row.used != HeatedBy::LeftOn);
    let watts = short(row.watts, 1);
    let judged = judged(row.watts, allowed, "W");
    format!("{used}, at {} V: {watts} W in the primary winding{reached}{judged}", short(heat.volts, 1))
}

/// A figure against what the sheet allows; nothing where it allows nothing in particular.
pub(super) fn judged(figure: f64, allowed: Option<f64>, unit: &str) -> String {
    allowed.map_or_else(String::new, |allowed| {
        let says = if figure <= allowed { "OK" } else { "BROKEN" };
        format!(". The sheet allows {} {unit}: {says}", short(allowed, 2))
    })
}

/// What the heat asks for.
pub fn heat_warnings(heat: &Heat) -> Vec<&'static str> {
    let hot = heat.rows.iter().any(|row| row.winding_c.is_some_and(|celsius| celsius > LASTS_UP_TO_C));
    let mut said = Vec::new();
    if hot {
        said.push(
            "CAUTION: a winding above 105 C ages fast (class A insulation, IEC 60085, from memory), and a coil filled with oil can burst: \
             never leave the key on with the current flowing",
        );
    }
    said.push("the winding of the secondary, the iron and the spark heat the coil too, and are no part of these watts");
    said
}
