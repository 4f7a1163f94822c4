//! Findings of the vacuum unit.

use super::hose_off::of_misread;
use super::{ACCUSED, Finding, SURELY_ACCUSED};
use crate::distributor::fit::VacuumFit;
use crate::distributor::fit::leak::LEAKS;
use crate::distributor::fit::summary::share;
use crate::quantity::units::KPA_PER_INHG;
use crate::record::fit::{Answer, Subject};
use crate::sheet::Specification;

/// Less is no vacuum advance, crank degrees.
const NO_ADVANCE: f64 = 2.0;
/// What a unit must hold, kPa: 16 inHg (U.S. Army TM 5-4210-230-14&P-1, distributor operation test).
const MUST_HOLD_KPA: f64 = 16.0 * KPA_PER_INHG;

pub(super) fn vacuum(unit: &VacuumFit, specification: &Specification) -> Vec<Finding> {
    let sound = "no reading with the hose on stands out";
    let mut findings = vec![of_misread(Subject::SuspectVacuumReading, unit.misread.as_ref(), sound)];
    let retards = retards(unit);
    let adds = retards.answer != Answer::Accused;
    findings.push(retards);
    // Of a unit that leaks, neither its advance nor its start is its own.
    if adds && !unit.leaks() {
        findings.push(short(unit, specification));
        findings.extend(late(unit, specification));
    }
    findings.push(leaks(unit));
    findings
}

fn retards(unit: &VacuumFit) -> Finding {
    let probability = share(&unit.draws, |draw| unit.gained(draw) < 0.0);
    let sentence = if probability > SURELY_ACCUSED {
        format!(
            "The vacuum unit retards, by {:.1} crank degrees: the hose sits on the retard side of a double unit, or the unit is one \
             that retards at idle. Try the other connection. If the column `manifold_kPa_absolute` holds depressions, name it \
             `vacuum_kPa`.",
            -unit.found_gain()
        )
    } else {
        "Whether the vacuum unit moves at all cannot be told: read it at no vacuum and at 60 kPa depression, three times each."
            .to_owned()
    };
    Finding::of_probability(
        Subject::VacuumRetards,
        probability,
        SURELY_ACCUSED,
        "the vacuum unit does not retard",
        sentence,
    )
}

fn short(unit: &VacuumFit, specification: &Specification) -> Finding {
    let (subject, sound) = (Subject::VacuumShort, "the vacuum unit gives its advance");
    let Some(last) = specification.vacuum.last() else {
        let probability = share(&unit.draws, |draw| unit.gained(draw) < NO_ADVANCE);
        let sentence = format!(
            "The vacuum unit gives next to nothing, {:.1} crank degrees up to {:.0} kPa depression: look for a torn diaphragm, a \
             seized plate, a hose that leaks or is not on.",
            unit.found_gain(),
            unit.read_kpa.1
        );
        return Finding::of_probability(subject, probability, ACCUSED, sound, sentence);
    };
    let least = last.crank_degrees_allowed[0];
    let probability = share(&unit.draws, |draw| unit.gained(draw) < least);
    let enough = unit.read_kpa.1 >= last.x;
    let figures = format!("{:.1} crank degrees where the book says at least {least:.1}", unit.found_gain());
    let sentence = if !enough {
        format!(
            "Whether the vacuum unit is short cannot be told, {figures}: the book has it all in at {:.0} kPa depression, read on to \
             there.",
            last.x
        )
    } else if probability > SURELY_ACCUSED {
        format!(
            "The vacuum unit is short, {figures}: look for a torn diaphragm, a plate that binds, a worn link, a hose that leaks."
        )
    } else {
        format!("Whether the vacuum unit is short cannot be told, {figures}: read it fully in again, three times.")
    };
    let threshold = if enough { SURELY_ACCUSED } else { 1.0 };
    Finding::of_probability(subject, probability, threshold, sound, sentence)
}

fn late(unit: &VacuumFit, specification: &Specification) -> Option<Finding> {
    let latest = specification.vacuum.first()?.x_allowed[1];
    let probability = share(&unit.draws, |draw| VacuumFit::start_of(draw) > latest);
    let both = |kpa: f64| format!("{kpa:.1} kPa depression ({:.1} inHg)", kpa / KPA_PER_INHG);
    let figures = format!("at {} where the book says at the latest {}", both(unit.start.value), both(latest));
    let sentence = if probability > SURELY_ACCUSED {
        format!(
            "The vacuum unit starts late, {figures}: a stiff or wrong unit, a plate that binds, or a leak that the pump makes up \
             for. Free the plate, then try it again."
        )
    } else {
        format!("Whether the vacuum unit starts late cannot be told, {figures}: read about its start again.")
    };
    let sound = "the vacuum unit starts in time";
    Some(Finding::of_probability(Subject::VacuumLate, probability, SURELY_ACCUSED, sound, sentence))
}

/// By light a leak shows only where one depression was pumped up once and read again and again.
fn leaks(unit: &VacuumFit) -> Finding {
    let gauge = format!(
        "pump it to {MUST_HOLD_KPA:.0} kPa depression (16 inHg), close the pump and watch its gauge; it must hold, and come back to it"
    );
    let subject = Subject::VacuumLeaks;
    let finding = |answer, statistic, sentence| Finding { subject, answer, statistic, threshold: LEAKS, sentence };
    let rest = "Whether it gives its advance, and in time, is told by a unit that holds";
    match (unit.repeats, unit.held_at_the_pump) {
        (Some(repeats), _) if repeats.falls() => {
            let sentence = format!(
                "The vacuum unit does not hold: over lines {} to {}, at one depression, the advance falls by {:.1} crank degrees. Of \
                 these only the first is in its curve. {rest}. To be sure, {gauge}.",
                repeats.first_line, repeats.last_line, repeats.fall
            );
            finding(Answer::Accused, Some(repeats.ratio), sentence)
        }
        (repeats, Some(false)) => {
            let sentence = format!("The vacuum unit does not hold: you saw it at the pump. {rest}.");
            finding(Answer::Accused, repeats.map(|repeats| repeats.ratio), sentence)
        }
        (repeats, Some(true)) => {
            finding(Answer::Sound, repeats.map(|repeats| repeats.ratio), "the vacuum unit holds".to_owned())
        }
        // A unit past its stop can leak for long before it shows, so light never proves that it holds.
        (Some(repeats), None) => {
            let lines = format!("lines {} to {}", repeats.first_line, repeats.last_line);
            let sentence = format!("Whether the vacuum unit holds cannot be told from {lines}: {gauge}.");
            finding(Answer::CannotTell, Some(repeats.ratio), sentence)
        }
        (None, None) => {
            let sentence = format!("Whether the vacuum unit holds cannot be told from these readings: {gauge}.");
            finding(Answer::CannotTell, None, sentence)
        }
    }
}
