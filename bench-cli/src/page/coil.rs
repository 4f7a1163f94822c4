//! A coil that was read by a meter, as text; and how to read it.

use super::columns::{Columns, Lie};
use crate::curve::measured_coil::{heat_row_in_words, heat_warnings, measured_in_words, top_in_words, warmed_in_words};
use crate::record::coil::{AtTop, CoilResult, DwellOfCoil, Heat};
use crate::record::figures::Section;
use crate::words::number::short;
use crate::words::wrap::paragraph;
use std::fmt::Write;

/// The whole result as text.
pub fn render(result: &CoilResult) -> String {
    let mut text = String::from("What was read\n");
    if result.measured.is_empty() {
        paragraph(&mut text, "  ", "nothing at the coil itself: all of it is what was typed, or stands in the sheet");
    }
    for sentence in &result.measured {
        paragraph(&mut text, "  ", sentence);
    }
    heading(&mut text, "Dwell and energy");
    match &result.dwell {
        Section::Known(known) => dwell(&mut text, known),
        Section::Missing(why) => paragraph(&mut text, "  ", &format!("cannot be told yet: {why}")),
    }
    heading(&mut text, "Heat");
    match &result.heat {
        Section::Known(known) => heat(&mut text, known),
        Section::Missing(why) => paragraph(&mut text, "  ", &format!("cannot be told yet: {why}")),
    }
    if let Section::Known(known) = &result.dwell {
        heading(&mut text, "For `[coil]` of the sheet");
        for line in &known.sheet_lines {
            let _ = writeln!(text, "{line}");
        }
    }
    heading(&mut text, "Not told by any of it");
    for sentence in &result.not_told {
        paragraph(&mut text, "  - ", sentence);
    }
    text
}

fn heading(text: &mut String, heading: &str) {
    let _ = write!(text, "\n{heading}\n");
}

const TABLE: Columns = Columns {
    each: &[
        (7, Lie::Right, 2),
        (10, Lie::Right, 1),
        (8, Lie::Right, 1),
        (8, Lie::Right, 1),
        (10, Lie::Right, 1),
        (17, Lie::Right, 1),
        (10, Lie::Right, 1),
    ],
};

fn dwell(text: &mut String, dwell: &DwellOfCoil) {
    let wanted = format!(
        "{} A wanted, at which the coil holds {}; no dwell above {} ms",
        short(dwell.wanted_a, 2),
        measured_in_words(&dwell.energy_mj, "mJ", 1),
        short(dwell.largest_dwell_ms, 2)
    );
    paragraph(text, "  ", &wanted);
    let names = ["battery", "dwell", "current", "energy", "at top:", "energy", "100 K"];
    let units = ["V", "ms", "A", "mJ", "dwell, ms", "mJ", "warmer, mJ"];
    text.push_str(&TABLE.lines(&[&names, &units]));
    for row in &dwell.table {
        let top = |cell: fn(&AtTop) -> String| row.at_top.as_ref().map_or_else(|| "-".to_owned(), cell);
        let cells = [
            short(row.volts, 2),
            format!("{:.2}", row.dwell_ms),
            format!("{:.2}", row.current_a),
            format!("{:.1}", row.energy_mj),
            top(|top| format!("{:.2}", top.dwell_ms)),
            top(|top| match top.energy_mj.give_or_take {
                Some(by) => format!("{:.1} +- {by:.1}", top.energy_mj.value),
                None => format!("{:.1}", top.energy_mj.value),
            }),
            top(|top| format!("{:.1}", top.hot_energy_mj)),
        ];
        text.push_str(&TABLE.lines(&[&cells]));
    }
    match &dwell.top {
        Some(top) => paragraph(text, "  ", &top_in_words(top)),
        None => paragraph(text, "  ", "what is left of it at the top speed is told by `--top-speed` and `--cylinders`"),
    }
    for sentence in &dwell.ballast {
        paragraph(text, "  ", sentence);
    }
}

fn heat(text: &mut String, heat: &Heat) {
    paragraph(text, "  ", &warmed_in_words(heat));
    for row in &heat.rows {
        paragraph(text, "  ", &heat_row_in_words(heat, row));
    }
    for sentence in heat_warnings(heat) {
        paragraph(text, "  ", sentence);
    }
}

/// What to do, in the order of the readings: what can hurt stands where it does.
const HOW: &[(&str, &[&str])] = &[
    (
        "Before anything",
        &[
            "The voltage of an ignition can stop a heart. Who wears a pacemaker keeps away.",
            "Fuel shut off, no vapour to be smelled, a fire extinguisher within reach. Leads at the plugs, or every tower to a spark gap \
             on the block: a current that is broken makes a spark, wherever it can.",
            "Read the meter's page on its accuracy: so many per cent and so much besides, for ohms, steady volts and alternating volts.",
        ],
    ),
    (
        "Reading 1: ohms, cold",
        &[
            "Battery off. The coil has stood for hours; read the air's temperature beside it (`--cold`).",
            "Both leads of the primary winding off. Lowest range of ohms. Tips firmly together first (`--leads`), then across the \
             winding's two terminals (`--resistance`).",
        ],
    ),
    (
        "Reading 2: volts, current flowing",
        &[
            "Leads back on, the switched side through closed contacts or a wire to earth, battery and key on, engine standing. A wire \
             that slips from its terminal makes the spark; one from the battery's other post to earth is a short that burns, so a \
             fuse in the feed.",
            "At once, before anything gets warm: volts at the battery's own posts (`--supply`), across the winding (`--across-coil`), \
             across contacts or wire (`--across-switch`). Key off.",
            "No more is needed: the winding's volts by its ohms are the current, and what the volts lose elsewhere by that current are \
             the ohms of ballast and wiring.",
        ],
    ),
    (
        "Reading 3: ohms again, by the clock",
        &[
            "Key on again, and let the current flow for ten or fifteen minutes (`--after`). Stay there. Ballast and coil get hot enough \
             to burn: nothing that melts near them, and never longer than the hand can lie on the coil.",
            "Key off, battery off, leads off, and the winding's ohms within half a minute (`--hot`): it cools.",
            "Once more for twice the time from the first key-on (`--hotter`): only both together tell where it ends.",
        ],
    ),
    (
        "The inductance",
        &[
            "Ohms and steady volts cannot tell it, however many. Take the coil's data (`--inductance`), or its volts at the mains' frequency, \
             which is the clock here:",
            "The coil out of the car. A small transformer of 6 to 12 V, of the kind that parts mains and output, a resistor of some ten \
             ohms and ten watts in series with the primary winding. Never the mains themselves.",
            "The tower then carries HUNDREDS OF VOLTS, some hundred times those of the primary winding: nothing in it, nothing near it, \
             no hand on the coil while it is on.",
            "Alternating volts across the resistor (`--across-series`), across the winding (`--across-primary`), across both \
             (`--across-both`); the resistor's ohms (`--series`) by the meter, and the mains' frequency (`--mains`).",
        ],
    ),
    (
        "What it is for",
        &[
            "How much spark is wanted (`--energy`), the new driver's drop (`--driver-drop`), and the engine (`--cylinders`, \
                          `--top-speed`, `--idle`). `bobweight help coil` has an example.",
        ],
    ),
];

/// How a coil is read.
pub fn how_to_read() -> String {
    let mut text = String::new();
    for (title, steps) in HOW {
        if !text.is_empty() {
            text.push('\n');
        }
        let _ = writeln!(text, "{title}");
        for step in *steps {
            paragraph(&mut text, "  - ", step);
        }
    }
    text
}
