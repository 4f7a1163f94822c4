//! A fit for people.

use crate::fit::{Estimate, FitResult, VacuumOutcome, sentences};
use crate::readings::Readings;
use crate::sheet::{Change, Changed};
use std::fmt::Write;
use std::path::Path;

/// The found curve, each value with its interval, and what there is to say about it.
pub(in crate::cli) fn found_in_words(readings: &Readings, fit: &FitResult) -> String {
    let (off, on) = (readings.hose_off().count(), readings.hose_on().count());
    let mut text = format!(
        "{}: {off} readings with the hose off, {on} with the hose on\n\nFound, with 95 % intervals:\n",
        readings.name
    );
    line(&mut text, "initial timing", &in_unit(&fit.initial, 1, "crank degrees BTDC"));
    let ramps = if fit.ramps == 1 { "one ramp" } else { "two ramps" };
    for (index, (knot, rise)) in fit.knots.iter().zip(&fit.centrifugal).enumerate() {
        let name = if index == 0 { format!("centrifugal, {ramps}") } else { String::new() };
        let advance = if index == 0 { "begins".to_owned() } else { in_unit(rise, 1, "crank degrees") };
        line(&mut text, &name, &format!("{:<44} {advance}", in_unit(knot, 0, "crank rpm")));
    }
    match &fit.vacuum {
        VacuumOutcome::NotRead => line(&mut text, "vacuum", "not read: no reading has the hose on"),
        VacuumOutcome::TooFew { readings } => {
            line(
                &mut text,
                "vacuum",
                &format!("too few or too close to each other: {readings} readings with the hose on"),
            );
        }
        VacuumOutcome::Fitted(vacuum) => {
            let start = in_unit(&vacuum.start, 1, "kPa depression");
            line(&mut text, "vacuum", &format!("{start:<44} begins"));
            let full = in_unit(&vacuum.full, 1, "kPa depression");
            line(&mut text, "", &format!("{full:<44} {}", in_unit(&vacuum.greatest, 1, "crank degrees")));
        }
    }
    line(&mut text, "a reading scatters by", &in_unit(&fit.scatter, 2, "crank degrees"));
    let said = sentences(fit);
    if !said.is_empty() {
        text.push_str("\nWhat the readings say:\n");
    }
    for sentence in said {
        writeln!(text, "  {sentence}").expect("a text takes what is written");
    }
    text
}

/// What was written into the sheet, and what it replaced.
pub(super) fn changes_in_words(sheet: &Path, new: bool, found: &Changed, chosen: Option<&Changed>) -> String {
    let sheet = sheet.display();
    let mut text = match (new, found.changes.is_empty()) {
        (true, _) => format!(
            "\nWritten: {sheet}, a new sheet with `[found]`; what readings cannot tell waits in it as questions\n"
        ),
        (false, true) => format!("\n`[found]` in {sheet} says this already\n"),
        (false, false) => format!("\nWritten: `[found]` in {sheet}\n"),
    };
    let replaced = found.changes.iter().filter(|change| !new && change.before.is_some());
    replaced.for_each(|change| change_in_words(&mut text, change));
    if let Some(chosen) = chosen {
        text.push_str(if chosen.changes.is_empty() { "The chosen curve is this one already\n" } else { "Chosen:\n" });
        chosen.changes.iter().for_each(|change| change_in_words(&mut text, change));
    }
    text
}

fn change_in_words(text: &mut String, Change { key, before, after }: &Change) {
    let one_line =
        |value: &Option<String>| value.as_ref().map(|value| value.split_whitespace().collect::<Vec<_>>().join(" "));
    match (one_line(before), one_line(after)) {
        (Some(before), Some(after)) => writeln!(text, "  {key} = {after}, in place of {before}"),
        (None, Some(after)) => writeln!(text, "  {key} = {after}, where nothing was"),
        (Some(before), None) => writeln!(text, "  {key} taken out, which was {before}"),
        (None, None) => Ok(()),
    }
    .expect("a text takes what is written");
}

fn line(text: &mut String, name: &str, value: &str) {
    writeln!(text, "  {name:<24}{}", value.trim_end()).expect("a text takes what is written");
}

fn in_unit(estimate: &Estimate, places: usize, unit: &str) -> String {
    let Estimate { value, low, high } = estimate;
    format!("{value:.places$} {unit} ({low:.places$} to {high:.places$})")
}
