//! An engine's figures as text: the conditions, what would change, the advice, the rotor, the coil.

mod coil;
mod rotor;

use super::columns::Columns;
use super::columns::Lie;
use crate::quantity::units::KPA_PER_INHG;
use crate::record::figures::{Advice, ConditionFigures, FiguresResult, Parts, Section, WhatIf};
use crate::words::number::{self, fixed, whole};
use crate::words::wrap::paragraph;
use std::fmt::Write;

/// Columns of a use's name.
const NAME: usize = 18;
/// The same beside a change.
const CHANGED_NAME: usize = 17;
/// The columns of the conditions.
const CONDITIONS: Columns = Columns {
    each: &[
        (NAME, Lie::Left, 2),
        (6, Lie::Right, 1),
        (12, Lie::Right, 1),
        (8, Lie::Right, 1),
        (8, Lie::Right, 1),
        (7, Lie::Right, 1),
        (6, Lie::Right, 1),
        (6, Lie::Right, 1),
    ],
};
/// The columns before and after a change.
const SIDE_BY_SIDE: Columns = Columns {
    each: &[
        (CHANGED_NAME, Lie::Left, 2),
        (6, Lie::Right, 0),
        (20, Lie::Left, 1),
        (20, Lie::Left, 1),
        (12, Lie::Left, 1),
    ],
};

/// The whole result as text.
pub fn render(result: &FiguresResult) -> String {
    let mut text = String::new();
    paragraph(&mut text, "", &format!("{} ({})", result.sheet.name, result.sheet.file));
    if !result.engine.is_empty() {
        paragraph(&mut text, "  ", &result.engine);
    }
    heading(&mut text, "Operating conditions, in crank degrees before top dead centre");
    if result.conditions_are_proposed {
        let proposed = "the sheet names no use of the engine, so these are the bends of its curve; write your own as \
                        `[[operating_condition]]`, as many as you like";
        paragraph(&mut text, "  ", proposed);
    }
    match &result.what_if {
        None => conditions(&mut text, &result.conditions),
        Some(what_if) => side_by_side(&mut text, &result.conditions, what_if),
    }
    if let Some(wanted) = &result.full_throttle {
        heading(&mut text, "Full throttle");
        let sentence = format!(
            "for {} crank degrees in all, set the initial timing to {} crank degrees: the centrifugal advance adds {}, all of it \
             from {} crank rpm",
            short(wanted.wanted_crank_degrees),
            short(wanted.initial_crank_degrees),
            short(wanted.centrifugal_crank_degrees),
            whole(wanted.from_crank_rpm)
        );
        paragraph(&mut text, "  ", &sentence);
    }
    let (limits, given) =
        result.what_if.as_ref().map_or((&result.limits, &result.advice), |what_if| (&what_if.limits, &what_if.advice));
    let changed = if result.what_if.is_some() { ", with the change" } else { "" };
    heading(&mut text, &format!("Limits of the sheet{changed}"));
    limits.statements.iter().for_each(|statement| paragraph(&mut text, "  ", statement));
    heading(&mut text, &format!("Advice{changed}"));
    advice(&mut text, given);
    heading(&mut text, "Rotor under the old cap");
    section(&mut text, &result.rotor, rotor::render);
    heading(&mut text, "Coil");
    section(&mut text, &result.coil, coil::render);
    text
}

fn heading(text: &mut String, heading: &str) {
    let _ = write!(text, "\n{heading}\n");
}

fn section<T>(text: &mut String, section: &Section<T>, render: fn(&mut String, &T)) {
    match section {
        Section::Known(known) => render(text, known),
        Section::Missing(why) => paragraph(text, "  cannot be told yet: ", why),
    }
}

fn conditions(text: &mut String, conditions: &[ConditionFigures]) {
    let names = ["", "crank", "depression", "", "centri-", "", "", "plain"];
    let units = ["", "rpm", "kPa (inHg)", "initial", "fugal", "vacuum", "total", "sum"];
    text.push_str(&CONDITIONS.lines(&[&names, &units]));
    for condition in conditions {
        let none = || "-".to_owned();
        let part = |part: fn(&Parts) -> f64| condition.parts.as_ref().map_or_else(none, |parts| fixed(part(parts), 1));
        let row = [
            name_beside(text, &condition.name, NAME),
            whole(condition.speed_crank_rpm),
            depression(condition.depression_kpa),
            part(|parts| parts.initial_crank_degrees),
            part(|parts| parts.centrifugal_crank_degrees),
            part(|parts| parts.vacuum_crank_degrees),
            part(|parts| parts.total_crank_degrees),
            condition.plain_sum.as_ref().map_or_else(none, |plain| fixed(plain.sum_crank_degrees, 1)),
        ];
        text.push_str(&CONDITIONS.lines(&[&row]));
        condition.why.iter().for_each(|why| paragraph(text, "      ", why));
    }
}

/// A name that is too long for its column stands on a line of its own; what is left to stand in the row.
fn name_beside(text: &mut String, name: &str, room: usize) -> String {
    if name.chars().count() <= room {
        return name.to_owned();
    }
    paragraph(text, "  ", name);
    String::new()
}

fn side_by_side(text: &mut String, before: &[ConditionFigures], what_if: &WhatIf) {
    what_if.changed.iter().for_each(|changed| paragraph(text, "  changed: ", changed));
    let parts_line = "init.+centr.+vacuum";
    let heading: [[&str; 5]; 2] =
        [["", "crank", "as it is", "with the change", ""], ["", "rpm", parts_line, parts_line, "the change"]];
    text.push_str(&SIDE_BY_SIDE.lines(&[&heading[0], &heading[1]]));
    for (before, after) in before.iter().zip(&what_if.conditions) {
        let (now, then) = (parts(before), parts(after));
        let apart = match (&before.parts, &after.parts) {
            (Some(before), Some(after)) => earlier(after.total_crank_degrees - before.total_crank_degrees),
            _ => String::new(),
        };
        let speed = whole(before.speed_crank_rpm);
        let name = name_beside(text, &before.name, CHANGED_NAME);
        text.push_str(&SIDE_BY_SIDE.lines(&[&[name, speed, now, then, apart]]));
    }
}

fn parts(condition: &ConditionFigures) -> String {
    condition.parts.as_ref().map_or_else(
        || "no spark".to_owned(),
        |parts| {
            format!(
                "{}+{}+{} = {}",
                fixed(parts.initial_crank_degrees, 1),
                fixed(parts.centrifugal_crank_degrees, 1),
                fixed(parts.vacuum_crank_degrees, 1),
                fixed(parts.total_crank_degrees, 1)
            )
        },
    )
}

fn earlier(crank_degrees: f64) -> String {
    if crank_degrees.abs() < 0.05 {
        return "none".to_owned();
    }
    format!("{:.1} {}", crank_degrees.abs(), if crank_degrees > 0.0 { "earlier" } else { "later" })
}

fn advice(text: &mut String, advice: &[Advice]) {
    if advice.is_empty() {
        let none = "none: nothing in the sheet calls for it. Only what its keys and conditions tell is looked at";
        paragraph(text, "  ", none);
    }
    for piece in advice {
        paragraph(text, "  - ", &piece.text);
        let basis = piece.basis.in_words();
        paragraph(text, "    ", &format!("{} ({basis})", piece.reason));
    }
}

fn depression(kpa: f64) -> String {
    format!("{kpa:.1} ({:.1})", kpa / KPA_PER_INHG)
}

/// A number with at most one decimal place.
fn short(value: f64) -> String {
    number::short(value, 1)
}
