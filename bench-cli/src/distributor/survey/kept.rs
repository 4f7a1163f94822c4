//! A survey as a file: readings that `fit` reads, with the answers as comments, from which it goes on.

use super::{Entry, Survey};
use crate::distributor::readings::{self, Problem, Reading, ReadingsError, WRITTEN_COLUMNS};
use std::fmt::Write;

/// What a survey's file begins with.
pub(crate) const FIRST_LINE: &str = "# survey of an old distributor";
const ANSWER: &str = "# answer: ";
/// What somebody may have written into the file besides: it stays.
const STATED: [&str; 2] = ["tachometer_accuracy", "gauge_accuracy"];

impl Survey {
    /// The text of the file.
    pub fn text(&self) -> String {
        let place = if self.off_engine { "off the engine" } else { "on the engine" };
        let mut text = format!("{FIRST_LINE}, {place}\n");
        let correction = self.correction();
        if correction.abs() > 1e-9 {
            let _ = writeln!(
                text,
                "# every timing below is true: {correction:.2} crank degrees are taken out of what was read"
            );
        }
        let speed_scatter = self.speed_scatter();
        if speed_scatter > 0.0 {
            let _ = writeln!(text, "# speed_scatter = {:.2} %", speed_scatter * 100.0);
        }
        if let Some(angle_scatter) = self.angle_scatter() {
            let _ = writeln!(text, "# angle_scatter = {angle_scatter:.2} crank degrees");
        }
        self.stated.iter().for_each(|line| text.extend([line, "\n"]));
        text.push_str(WRITTEN_COLUMNS);
        text.push('\n');
        for entry in &self.entries {
            let _ = match entry {
                Entry::Answer(key, answer) => writeln!(text, "{ANSWER}{key} = {answer}"),
                Entry::Reading(reading) => writeln!(text, "{}", row(reading)),
            };
        }
        for value in &self.pending {
            let _ = writeln!(text, "{ANSWER}pending = {value}");
        }
        text
    }

    /// A survey that was kept; none where the file is something else.
    ///
    /// # Errors
    /// Readings in it that cannot be read.
    pub fn parse(name: &str, text: &str) -> Result<Option<Self>, ReadingsError> {
        let Some(place) = text.lines().next().and_then(|line| line.strip_prefix(FIRST_LINE)) else { return Ok(None) };
        let mut survey = Self::new(place.contains("off the engine"));
        let readings = match readings::parse(name, text.as_bytes()) {
            Ok(found) => found.readings,
            // None was taken yet.
            Err(ReadingsError::Refused(refusal)) if refusal.problem == Problem::NoReadings => Vec::new(),
            Err(error) => return Err(error),
        };
        for (at, line) in text.lines().enumerate() {
            if STATED.iter().any(|key| line.strip_prefix("# ").is_some_and(|said| said.starts_with(key))) {
                survey.stated.push(line.to_owned());
            }
            if let Some(reading) = readings.iter().find(|reading| reading.line == at + 1) {
                survey.entries.push(Entry::Reading(reading.clone()));
            }
            let Some((key, answer)) = line.strip_prefix(ANSWER).and_then(|answer| answer.split_once(" = ")) else {
                continue;
            };
            match (key, answer.parse::<f64>()) {
                ("pending", Ok(value)) => survey.pending.push(value),
                ("pending", Err(_)) => {}
                _ => survey.entries.push(Entry::Answer(key.to_owned(), answer.to_owned())),
            }
        }
        Ok(Some(survey))
    }
}

fn row(reading: &Reading) -> String {
    let (hose, speed_was) = (reading.hose.word(), reading.speed_was.word());
    let vacuum = reading.depression_kpa.map_or_else(String::new, |kpa| format!("{kpa:.3}"));
    format!("{hose},{speed_was},{},{:.4},{vacuum}", reading.crank_rpm, reading.crank_degrees)
}
