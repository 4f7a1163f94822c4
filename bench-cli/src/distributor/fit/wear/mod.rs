//! What the readings say is worn, and what they leave open.
//!
//! Every finding has a statistic and a threshold; in 500 surveys of distributors without wear at most 15 may be accused of
//! anything. Between sound (a probability under 0.05) and accused lies "cannot tell", which says what to read next.

mod hose_off;
mod springs;
mod vacuum;

use super::{FitResult, VacuumOutcome};
use crate::record::fit::{Answer, Subject};
use crate::sheet::Specification;

/// Sound while the probability of the fault is at most this.
const SOUND: f64 = 0.05;
/// Accused above this probability, where a wrong accusation costs another reading.
const ACCUSED: f64 = 0.8;
/// Accused above this probability, where many figures are held to a book or a part would be replaced.
const SURELY_ACCUSED: f64 = 0.995;

/// One finding.
#[derive(Debug, Clone, PartialEq)]
pub struct Finding {
    /// What it is about.
    pub subject: Subject,
    /// Whether it is so.
    pub answer: Answer,
    /// A probability; for sticking weights the mean difference over its standard deviation, for a vacuum unit that does not
    /// hold likewise. None where nothing was read that could tell.
    pub statistic: Option<f64>,
    /// Accused where the statistic lies above.
    pub threshold: f64,
    /// What it means and what to do next; for what is sound, its name alone.
    pub sentence: String,
}

impl Finding {
    /// A finding that rests on the probability of a fault.
    fn of_probability(subject: Subject, probability: f64, threshold: f64, sound: &str, sentence: String) -> Self {
        let answer = if probability > threshold {
            Answer::Accused
        } else if probability > SOUND {
            Answer::CannotTell
        } else {
            Answer::Sound
        };
        let sentence = if answer == Answer::Sound { sound.to_owned() } else { sentence };
        Self { subject, answer, statistic: Some(probability), threshold, sentence }
    }
}

/// Judges a survey: what is worn, what is sound, what cannot be told. An empty specification leaves out what only a book
/// can tell.
pub fn wear(fit: &FitResult, specification: &Specification) -> Vec<Finding> {
    let mut findings = vec![hose_off::suspect(fit)];
    findings.extend(hose_off::second_suspect(fit));
    let seized = hose_off::seized(fit);
    let moves = seized.answer != Answer::Accused;
    findings.push(seized);
    // Of an advance that does not move, ramps and ends mean nothing.
    if moves {
        findings.push(hose_off::sticking(fit));
        let initial = hose_off::initial_contaminated(fit);
        let sees_initial = initial.answer == Answer::Sound;
        findings.extend([initial, hose_off::unfinished(fit)]);
        findings.extend(springs::springs(fit, specification, sees_initial));
    }
    if let VacuumOutcome::Fitted(unit) = &fit.vacuum {
        findings.extend(vacuum::vacuum(unit, specification));
    }
    findings
}

/// To the tens that a tachometer shows.
fn tens(speed: f64) -> f64 {
    (speed / 10.0).round() * 10.0
}

#[cfg(test)]
mod tests;
