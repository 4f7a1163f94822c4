//! A fit for people.

use super::ChooseArgument;
use crate::distributor::fit::{Finding, FitResult, sentences};
use crate::distributor::readings::Readings;
use crate::record::fit::Answer;
use crate::sheet::{Change, Changed, Specification};
use crate::words::wrap::{columns, paragraph};
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
        paragraph(&mut text, "  ", &sentence);
    }
    text
}

/// What is worn, what cannot be told and what is sound.
pub(super) fn wear_in_words(findings: &[Finding], specification: &Specification) -> String {
    let of = |answer: Answer| findings.iter().filter(move |finding| finding.answer == answer);
    let mut text = "\nWhat the readings say is worn:\n".to_owned();
    let mut say = |sentence: &str| paragraph(&mut text, "  ", sentence);
    of(Answer::Accused).for_each(|finding| say(&finding.sentence));
    if of(Answer::Accused).next().is_none() {
        say("Nothing is seen to be worn.");
    }
    of(Answer::CannotTell).for_each(|finding| say(&finding.sentence));
    let sound: Vec<&str> = of(Answer::Sound).map(|finding| finding.sentence.as_str()).collect();
    if !sound.is_empty() {
        say(&format!("Sound: {}.", sound.join("; ")));
    }
    if specification.centrifugal.is_empty() {
        say("Springs and stop cannot be judged without a book: write its curve as `[specified.centrifugal]`.");
    }
    text
}

/// What the survey's answers besides readings say.
pub(super) fn seen_in_words(seen: &[&str]) -> String {
    let mut text = if seen.is_empty() { "" } else { "\nWhat you answered at the survey:\n" }.to_owned();
    for said in seen {
        paragraph(&mut text, "  ", said);
    }
    text
}

/// Figures that may stand in the wrong column.
pub(super) fn questions_in_words(questions: &[String]) -> String {
    let mut text = String::new();
    for question in questions {
        text.push('\n');
        paragraph(&mut text, "A question: ", question);
    }
    text
}

/// Which curve is the chosen one now, and why.
pub(super) fn choice_in_words(choose: Option<ChooseArgument>, findings: &[Finding]) -> String {
    let worn = findings.iter().filter(|finding| finding.answer == Answer::Accused).count();
    match choose {
        None => "The chosen curve is the one that the sheet has. `--choose found` or `--choose specified` copies another over it.\n"
            .to_owned(),
        Some(ChooseArgument::Specified) => "The specified curve was chosen because you asked for it.\n".to_owned(),
        Some(ChooseArgument::Found) if worn == 0 => "The found curve was chosen because you asked for it.\n".to_owned(),
        Some(ChooseArgument::Found) => format!(
            "The found curve was chosen because you asked for it, and with it what is worn or doubtful: see the {worn} named above.\n"
        ),
    }
}

/// How to get the sheet that nobody asked for.
pub(super) fn no_sheet_in_words(readings: &Path) -> String {
    let (readings, sheet) = (readings.display(), readings.with_extension("toml"));
    format!(
        "\nNo sheet was written. To make a new one of this:\n  bobweight fit {readings} --new-sheet {}\nTo write it into one that you have, add `--sheet SHEET.toml`.\n",
        sheet.display()
    )
}

/// What was written into the sheet, and what it replaced.
pub(super) fn changes_in_words(sheet: &Path, new: bool, found: &Changed, chosen: Option<&Changed>) -> String {
    let sheet = sheet.display();
    let mut text = match (new, found.changes.is_empty()) {
        (true, _) => format!(
            "\nWritten: {sheet}, a new sheet. What was found stands under `[found]`; what readings cannot tell waits as questions.\n"
        ),
        (false, true) => format!("\n`[found]` in {sheet} says this already.\n"),
        (false, false) => format!("\nWritten: `[found]` in {sheet}\n"),
    };
    let replaced = found.changes.iter().filter(|change| !new && change.before.is_some());
    replaced.for_each(|change| change_in_words(&mut text, change));
    if let Some(chosen) = chosen {
        text.push_str(if chosen.changes.is_empty() { "The chosen curve is this one already.\n" } else { "Chosen:\n" });
        chosen.changes.iter().for_each(|change| change_in_words(&mut text, change));
    }
    text
}

fn change_in_words(text: &mut String, Change { key, before, after }: &Change) {
    let one_line =
        |value: &Option<String>| value.as_ref().map(|value| value.split_whitespace().collect::<Vec<_>>().join(" "));
    match (one_line(before), one_line(after)) {
        (Some(before), Some(after)) => {
            let (now, then) = (format!("  {key} = {after},"), format!("in place of {before}"));
            // What stands in a sheet is not broken where it need not be.
            let between = if now.len() + then.len() < columns() { " " } else { "\n    " };
            writeln!(text, "{now}{between}{then}")
        }
        (None, Some(after)) => writeln!(text, "  {key} = {after}, where nothing was"),
        (Some(before), None) => writeln!(text, "  {key} taken out, which was {before}"),
        (None, None) => Ok(()),
    }
    .expect("a text takes what is written");
}
