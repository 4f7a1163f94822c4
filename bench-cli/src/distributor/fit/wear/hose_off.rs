//! Findings of the hose-off readings alone.

use super::{ACCUSED, Finding, SOUND, tens};
use crate::distributor::fit::sentences::{interval, misread};
use crate::distributor::fit::summary::{Estimate, share};
use crate::distributor::fit::{EndOfSurvey, FitResult, Misread};
use crate::record::fit::{Answer, Subject};
use crate::words::number::whole;

/// Nothing is said of an end whose next speed lies further away, crank rpm.
const NEAR: f64 = 350.0;
/// How far beyond the survey the next reading is proposed, crank rpm.
const FURTHER: f64 = 250.0;
/// Sticking: mean of the difference over its standard deviation.
const STICKING: f64 = 3.0;
/// A difference below this does not matter to an engine, crank degrees: what one reading scatters by.
const STICKING_MATTERS: f64 = 0.5;
/// Weights are sound where they surely differ by less, crank degrees.
const STICKING_SOUND: f64 = 1.0;
/// Less is no centrifugal advance, crank degrees: it gives "a few degrees" at the least (U.S. Army TM 10-3930-623-12, par. 4-21).
const NO_ADVANCE: f64 = 3.0;
/// A survey over fewer crank rpm may have missed the advance.
const WIDE_SURVEY: f64 = 1500.0;

/// Of a reading that may be misread.
pub(super) fn suspect(fit: &FitResult) -> Finding {
    of_misread(Subject::SuspectReading, fit.misread.as_ref(), "no reading with the hose off stands out")
}

/// Of another one beside it.
pub(super) fn second_suspect(fit: &FitResult) -> Option<Finding> {
    fit.second_misread.as_ref().map(|misread| of_misread(Subject::SuspectReading, Some(misread), ""))
}

pub(super) fn of_misread(subject: Subject, suspect: Option<&Misread>, sound: &str) -> Finding {
    let (answer, sentence) = match suspect {
        None => (Answer::Sound, sound.to_owned()),
        Some(one) if one.is_named() => (Answer::Accused, misread(one)),
        Some(one) => (Answer::CannotTell, misread(one)),
    };
    Finding {
        subject,
        answer,
        statistic: suspect.map(|one| one.probability),
        threshold: crate::distributor::fit::misread::NAMED,
        sentence,
    }
}

/// Whether the advance moves at all, over the speeds read.
pub(super) fn seized(fit: &FitResult) -> Finding {
    let (low, high) = (fit.lowest.speed, fit.highest.speed);
    let rises: Vec<f64> = fit.draws.iter().map(|draw| draw.curve.at(high) - draw.curve.at(low)).collect();
    let probability = share(&rises, |rise| rise.abs() < NO_ADVANCE);
    let rise = Estimate::about(fit.found.at(high) - fit.found.at(low), rises.iter().copied());
    let change = interval(&rise, 1, "crank degrees");
    let sentence = if high - low >= WIDE_SURVEY {
        format!(
            "The centrifugal advance does not move: from {low} to {high} crank rpm it changes by {change}. Weights or cam \
             are seized, or locked: free them and read again. If you locked them for the new pickup, these readings tell \
             nothing of the old curve; choose the specified one.",
            low = whole(low),
            high = whole(high)
        )
    } else {
        format!(
            "The centrifugal advance changes by {change} from {low} to {high} crank rpm; whether it is seized cannot be \
             told over so few: read on up to where the engine works, never beyond its limit.",
            low = whole(low),
            high = whole(high)
        )
    };
    let mut finding = Finding::of_probability(
        Subject::SeizedAdvance,
        probability,
        ACCUSED,
        "the centrifugal advance moves",
        sentence,
    );
    if high - low < WIDE_SURVEY && finding.answer == Answer::Accused {
        finding.answer = Answer::CannotTell;
    }
    finding
}

/// Rising against falling speed, on the ramps.
#[expect(clippy::cast_precision_loss, reason = "a few thousand draws")]
pub(super) fn sticking(fit: &FitResult) -> Finding {
    let subject = Subject::StickingWeights;
    if !fit.read_both_ways {
        return Finding {
            subject,
            answer: Answer::CannotTell,
            statistic: None,
            threshold: STICKING,
            sentence:
                "Whether the weights stick cannot be told: read the speeds on the ramps once rising and once falling."
                    .to_owned(),
        };
    }
    let count = fit.draws.len() as f64;
    let mean = fit.draws.iter().map(|draw| draw.up_down).sum::<f64>() / count;
    let variance = fit.draws.iter().map(|draw| (draw.up_down - mean).powi(2)).sum::<f64>() / count;
    let ratio = mean / variance.sqrt();
    let matters = share(&fit.draws, |draw| draw.up_down > STICKING_SOUND);
    let difference = interval(&fit.up_down, 1, "crank degrees");
    let (answer, sentence) = if ratio > STICKING && mean >= STICKING_MATTERS {
        (
            Answer::Accused,
            format!(
                "The weights stick: on the ramps a falling speed reads {difference} earlier than a rising one. The found curve \
                 lies between the two and is none to copy: clean and oil pivots, weights and the cam on its spindle, then \
                 read again."
            ),
        )
    } else if matters <= SOUND {
        (Answer::Sound, "the weights do not stick".to_owned())
    } else {
        (
            Answer::CannotTell,
            format!(
                "Whether the weights stick cannot be told: falling less rising speed is {difference} on the ramps. Read there \
                 again, rising and falling."
            ),
        )
    };
    Finding { subject, answer, statistic: Some(ratio), threshold: STICKING, sentence }
}

/// Whether the advance already moves at the lowest speed read.
pub(super) fn initial_contaminated(fit: &FitResult) -> Finding {
    let end = &fit.lowest;
    let lower = tens((end.speed - FURTHER).max(end.speed / 2.0));
    let remedy = format!(
        "read lower, at {lower} crank rpm, or turn the idle down to it; until then the initial timing holds some centrifugal \
         advance",
        lower = whole(lower)
    );
    let sound = "the initial timing is seen below the start of the advance";
    end_of_survey(Subject::InitialContaminated, end, "The advance already moves", "lowest", &remedy, sound)
}

/// Whether the advance still rises at the highest speed read.
pub(super) fn unfinished(fit: &FitResult) -> Finding {
    let end = &fit.highest;
    let higher = tens(end.speed + FURTHER);
    let remedy = format!("read on at {higher} crank rpm, never beyond the engine's limit", higher = whole(higher));
    end_of_survey(Subject::Unfinished, end, "The advance still rises", "highest", &remedy, "the advance is all in")
}

fn end_of_survey(subject: Subject, end: &EndOfSurvey, moves: &str, which: &str, remedy: &str, sound: &str) -> Finding {
    let speed = end.speed;
    let lonely = (end.speed - end.next_speed).abs() > NEAR;
    let sentence = if lonely {
        let between = tens(f64::midpoint(end.speed, end.next_speed));
        format!(
            "{moves} perhaps at {speed} crank rpm, the {which} speed read; it cannot be told: read at {between} crank rpm, \
             and {remedy}.",
            speed = whole(speed),
            between = whole(between)
        )
    } else if end.still_moving > ACCUSED {
        format!("{moves} at {speed} crank rpm, the {which} speed read: {remedy}.", speed = whole(speed))
    } else {
        format!(
            "{moves} perhaps at {speed} crank rpm, the {which} speed read; it cannot be told: {remedy}.",
            speed = whole(speed)
        )
    };
    let mut finding = Finding::of_probability(subject, end.still_moving, ACCUSED, sound, sentence);
    if lonely && finding.answer == Answer::Accused {
        finding.answer = Answer::CannotTell;
    }
    finding
}
