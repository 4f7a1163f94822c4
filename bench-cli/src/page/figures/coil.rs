//! The coil in words.

use super::{paragraph, short};
use crate::page::columns::{Columns, Lie};
use crate::record::figures::{CoilFigures, CutShort, DwellRow, Section};
use crate::words::number::whole;

pub(super) fn render(text: &mut String, coil: &CoilFigures) {
    let opening = format!(
        "{} A wanted; below {:.1} V of the battery it is never reached. Left on, the coil would draw {:.1} A: a driver without a \
         limit of its own burns",
        short(coil.wanted_a),
        coil.never_below_volts,
        coil.most_ever_a
    );
    paragraph(text, "  ", &opening);
    let given = if coil.dwell_is_of_sheet { "the sheet's" } else { "proposed" };
    let names = ["battery", "needed", given, "current", "cut short", "shortest", "current"];
    let units = ["V", "dwell, ms", "dwell, ms", "then, A", "from, crank rpm", "dwell, ms", "then, A"];
    text.push_str(&TABLE.lines(&[&names, &units]));
    for at in &coil.table {
        let cut = match &coil.cut_short {
            Section::Known(cuts) => cuts.iter().find(|cut| cut.volts.to_bits() == at.volts.to_bits()),
            Section::Missing(_) => None,
        };
        dwell_row(text, at, cut);
    }
    let between = format!(
        "between the rows the dwell follows a straight line, which gives up to {:.2} A, at {:.1} V",
        coil.greatest_between_rows_a, coil.greatest_between_rows_volts
    );
    paragraph(text, "  ", &between);
    match &coil.cut_short {
        Section::Known(_) => {
            let note = "cut short: what the ignition's own rules leave of the dwell at steady speeds from idle up, without vacuum. The rules \
                        are the largest share of the time that the coil may be on (duty), the time that a spark burns, and an \
                        allowance for an engine that slows down";
            paragraph(text, "  ", note);
        }
        Section::Missing(why) => {
            paragraph(text, "  where it is cut short cannot be told yet: ", why);
        }
    }
    if !coil.dwell_is_of_sheet {
        paragraph(text, "  ", "`--write-dwell` writes the proposed table into the sheet");
    }
}

fn dwell_row(text: &mut String, at: &DwellRow, cut: Option<&CutShort>) {
    let needed = at.needed_ms.map_or_else(|| "never".to_owned(), |needed| format!("{needed:.2}"));
    let (from, shortest, current) = match cut {
        None => (String::new(), String::new(), String::new()),
        Some(CutShort { from_crank_rpm: None, .. }) => ("nowhere".to_owned(), String::new(), String::new()),
        Some(cut) => (
            whole(cut.from_crank_rpm.unwrap_or_default()),
            format!("{:.2}", cut.shortest_ms),
            format!("{:.2}", cut.current_a),
        ),
    };
    let volts = short(at.volts);
    let cells = [volts, needed, format!("{:.2}", at.dwell_ms), format!("{:.2}", at.current_a), from, shortest, current];
    text.push_str(&TABLE.lines(&[&cells]));
}

const TABLE: Columns = Columns {
    each: &[
        (7, Lie::Right, 2),
        (10, Lie::Right, 1),
        (12, Lie::Right, 1),
        (8, Lie::Right, 1),
        (16, Lie::Right, 1),
        (10, Lie::Right, 1),
        (8, Lie::Right, 1),
    ],
};
