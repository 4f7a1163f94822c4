//! Trials of a timing, for people.

use super::columns::{Columns, Lie};
use super::lines::not_proven_and_next;
use crate::proof::trials::place_in_words;
use crate::record::trials::{Heard, TrialsResult};
use crate::words::number::{fixed, short};
use crate::words::word_of;
use crate::words::wrap::paragraph;

/// The columns of the table of trials; the conditions, last, are not padded.
const TABLE: Columns = Columns {
    each: &[(6, Lie::Right, 0), (7, Lie::Right, 1), (10, Lie::Right, 1), (14, Lie::Left, 2), (9, Lie::Left, 1)],
};

/// The whole text.
pub fn render(result: &TrialsResult) -> String {
    let mut text = String::new();
    paragraph(&mut text, "", &format!("{} ({})", result.sheet.name, result.sheet.file));
    let made = format!("{}: {} trials at {}", result.trials_file, result.trials.len(), place_in_words(&result.said));
    paragraph(&mut text, "", &made);
    text.push('\n');
    for statement in &result.statements {
        paragraph(&mut text, "- ", statement);
    }
    if !result.trials.is_empty() {
        text.push('\n');
        let unit = result.said.measure.unit();
        let names = ["", "crank", "measured", "", ""];
        let units = ["series", "degrees", unit, "pinking", "conditions"];
        text.push_str(&TABLE.lines(&[&names, &units]));
        for trial in &result.trials {
            let (series, degrees) = (trial.series.to_string(), fixed(trial.crank_degrees, 1));
            let (measured, heard) = (short(trial.measured, 3), word_of(&Heard::WORDS, trial.heard));
            text.push_str(&TABLE.lines(&[&[&series, &degrees, &measured, heard, &trial.conditions]]));
        }
    }
    text.push('\n');
    not_proven_and_next(&mut text, &result.not_proven, &result.next_steps);
    text
}
