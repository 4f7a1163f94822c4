//! A fit for people.

use crate::fit::{FitResult, sentences};
use crate::readings::Readings;
use crate::sheet::{Change, Changed};
use std::fmt::Write;
use std::path::Path;

/// What the readings say: the found curve, each value with its 95 % interval, and what should be read next.
pub(super) fn found_in_words(readings: &Readings, fit: &FitResult) -> String {
    let (off, on) = (readings.hose_off().count(), readings.hose_on().count());
    let mut text = format!(
        "{}: {off} readings with the hose off, {on} with the hose on\n\nFound, with 95 % intervals:\n",
        readings.name
    );
    for sentence in sentences(fit) {
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
