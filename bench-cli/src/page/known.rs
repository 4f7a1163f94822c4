//! The figures of what is known of an ignition, without a sheet.

use super::columns::{Columns, Lie};
use crate::curve::known::{Ends, Hose, Known, KnownFigures};
use crate::quantity::KPA_PER_INHG;
use crate::quantity::of_core::{kpa_of, rpm_of};
use crate::words::number::{fixed, whole};
use crate::words::wrap::paragraph;
use bobweight::VacuumSource;
use bobweight::quantity::Advance;

/// Speed, what the hose gives, centrifugal, vacuum, total, plain sum.
const TABLE: Columns = Columns {
    each: &[
        (6, Lie::Right, 2),
        (13, Lie::Right, 1),
        (13, Lie::Right, 1),
        (13, Lie::Right, 1),
        (13, Lie::Right, 1),
        (7, Lie::Right, 1),
    ],
};

/// The text: how the numbers were taken, the figures, what is open, the initial timing for a total.
pub fn render(known: &Known, figures: &[KnownFigures], full_throttle: Option<(Advance, Advance)>) -> String {
    let mut text = String::from("Taken as\n");
    paragraph(&mut text, "  ", &taken(known));
    text.push_str("\nIn crank degrees before top dead centre, the engine running\n");
    text.push_str(&TABLE.lines(&[
        &["crank", "at the hose", "centri-", "", "", "plain"],
        &["rpm", "kPa (inHg)", "fugal", "vacuum", "total", "sum"],
    ]));
    for row in figures {
        text.push_str(&TABLE.lines(&[&[
            whole(rpm_of(row.place.speed)),
            hose(row.place.hose),
            between(row.centrifugal),
            between(row.vacuum),
            between(row.total),
            fixed(row.plain_sum, 1),
        ]]));
    }
    paragraph(
        &mut text,
        "  ",
        "total: with the initial timing, what the engine gets. Plain sum: the initial timing and the whole of each part that can have begun",
    );
    if let Some((wanted, initial)) = full_throttle {
        text.push_str("\nFull throttle\n");
        let adds = known.centrifugal.map_or("nothing is added by speed".to_owned(), |known| {
            format!(
                "the centrifugal advance adds {}, all of it from {} crank rpm",
                known.greatest,
                whole(rpm_of(known.by))
            )
        });
        paragraph(&mut text, "  ", &format!("for {wanted} in all, set the initial timing to {initial}: {adds}"));
    }
    let open = known.left_open();
    if !open.is_empty() {
        text.push_str("\nOpen, or presumed\n");
        for sentence in &open {
            paragraph(&mut text, "  - ", sentence);
        }
    }
    text.push('\n');
    paragraph(
        &mut text,
        "",
        "No limit of the engine is known here, so nothing is said of what it stands: a spark a few degrees early can hole a piston. For \
         limits, rotor, coil and a curve for an ignition, begin an engine's sheet: `bobweight begin`",
    );
    text
}

fn taken(known: &Known) -> String {
    let mut parts = vec![format!("initial timing {} before top dead centre", known.initial)];
    if let Some(centrifugal) = known.centrifugal {
        let by = whole(rpm_of(centrifugal.by));
        parts.push(match centrifugal.from {
            Some(from) => {
                format!("centrifugal advance {} from {} to {by} crank rpm", centrifugal.greatest, whole(rpm_of(from)))
            }
            None => format!("centrifugal advance {} by {by} crank rpm", centrifugal.greatest),
        });
    }
    if let Some(vacuum) = known.vacuum {
        let range = match (vacuum.from, vacuum.by) {
            (Some(from), Some(by)) => format!(" from {from} to {by}"),
            (None, Some(by)) => format!(" by {by}"),
            _ => String::new(),
        };
        let source = match known.source {
            Some(VacuumSource::Manifold) => ", hose on the manifold",
            Some(VacuumSource::Ported) => ", hose above the throttle",
            None => "",
        };
        parts.push(format!("vacuum advance {}{range}{source}", vacuum.greatest));
    }
    parts.join("; ")
}

fn hose(hose: Option<Hose>) -> String {
    match hose {
        None => "off".to_owned(),
        Some(Hose::Whole) => "whole vacuum".to_owned(),
        Some(Hose::Depression(depression)) => {
            let kpa = kpa_of(depression);
            format!("{kpa:.1} ({:.1})", kpa / KPA_PER_INHG)
        }
    }
}

/// One figure where both ends print alike.
fn between([least, greatest]: Ends) -> String {
    let (least, greatest) = (fixed(least, 1), fixed(greatest, 1));
    if least == greatest { greatest } else { format!("{least} to {greatest}") }
}
