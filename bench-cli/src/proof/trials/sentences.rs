//! What trials come to, in sentences.

use super::ceiling::{BACK, Ceiling};
use super::estimate::SETTLED;
use super::log::Log;
use super::plan::{Ended, Next};
use crate::curve::changed::ANOTHER_ENGINE;
use crate::record::trials::{Begin, Listening, Place, Said, Top, TrialsResult};
use crate::words::number::{count, fixed, short, whole};
use crate::words::word_of;

/// What no silence proves.
const SILENCE: &str = "silence proves nothing at this speed and full load: an engine that pinks there drowns it, and holes its pistons \
                       unheard. Use a dynamometer with knock detection; this timing is not called safe";

/// Where trials are made: `full throttle at 3 000 crank rpm`.
pub fn place_in_words(said: &Said) -> String {
    let vacuum = match said.place {
        Place::PartThrottle => format!(" and {} kPa depression", short(said.depression_kpa, 1)),
        Place::Idle => ", hose off".to_owned(),
        Place::FullThrottle => String::new(),
    };
    format!("{} at {} crank rpm{vacuum}", word_of(&Place::WORDS, said.place), whole(said.speed_crank_rpm))
}

/// Where trials begin and why, in sentences.
pub fn begin_in_words(begin: &Begin, said: &Said) -> Vec<String> {
    let of = if begin.by_book { "by its book" } else { "by the chosen curve, for the sheet has no book's" };
    let mut sentences = vec![format!(
        "Before it was changed the engine had {} crank degrees at {}, {of}. Begin at {}, {} later.",
        fixed(begin.before_crank_degrees, 1),
        place_in_words(said),
        fixed(begin.at_crank_degrees, 1),
        short(begin.before_crank_degrees - begin.at_crank_degrees, 1)
    )];
    if begin.effects.is_empty() {
        sentences.push(
            "Nothing that `[changed]` says moves the timing here: it begins as late as it takes to see the rise to the best."
                .to_owned(),
        );
    }
    for effect in &begin.effects {
        let [low, high] = effect.moves_crank_degrees;
        sentences.push(format!("{}: {}: {}.", effect.change, moves_in_words(low, high), effect.why));
    }
    if begin.later_crank_degrees >= ANOTHER_ENGINE {
        sentences.push(format!(
            "All together ask for {} crank degrees later: nothing here knows such an engine. Let a dynamometer find its timing.",
            short(begin.later_crank_degrees, 1)
        ));
    }
    if !begin.effects.is_empty() {
        sentences.push(
            "Sources: engine textbooks, from memory, for each direction; the figures are common practice, no source. They say where \
             to begin, and no more."
                .to_owned(),
        );
    }
    sentences
}

fn moves_in_words(low: f64, high: f64) -> String {
    let [late, early] = [-low, high].map(|size| short(size.abs(), 1));
    match () {
        () if high <= 0.0 && low < 0.0 => format!("later by {} to {late} crank degrees", short(-high, 1)),
        () if low >= 0.0 => {
            format!("earlier by {} to {early} crank degrees, which trials do not begin with", short(low, 1))
        }
        () => format!("up to {late} crank degrees later, or up to {early} earlier"),
    }
}

/// What the trials come to.
pub fn statements(result: &TrialsResult, loud: bool) -> Vec<String> {
    let mut said = begin_in_words(&result.begin, &result.said);
    said.push(format!(
        "No trial goes beyond {} crank degrees: {}.",
        fixed(result.ceiling_crank_degrees, 1),
        result.ceiling_because
    ));
    let beyond = result.trials.iter().filter(|trial| trial.crank_degrees > result.limit_crank_degrees + 1e-9);
    said.extend(beyond.map(|trial| {
        format!(
            "Line {}: {} crank degrees is beyond the sheet's limit of {}. It is kept, and counts for nothing.",
            trial.line,
            fixed(trial.crank_degrees, 1),
            fixed(result.limit_crank_degrees, 1)
        )
    }));
    if let Some(pinking) = result.pinking_crank_degrees {
        said.push(format!(
            "It pinked at {} crank degrees: set nothing earlier than {}.",
            fixed(pinking, 1),
            fixed(pinking - BACK, 1)
        ));
    }
    if !result.trials.is_empty() {
        said.push(top_in_words(result));
    }
    if let (Some(best), Some(set_to)) = (&result.best_crank_degrees, result.set_to_crank_degrees) {
        said.push(format!(
            "Set {} crank degrees, the latest that the trials cannot tell from the best ({} to {}): less advance for the same work, and \
             further from pinking.",
            fixed(set_to, 1),
            fixed(best.low, 1),
            fixed(best.high, 1)
        ));
    }
    if loud {
        said.push(format!("{}{}.", SILENCE[..1].to_uppercase(), &SILENCE[1..]));
    }
    said
}

fn top_in_words(result: &TrialsResult) -> String {
    let scatter = result
        .scatter_percent
        .map_or_else(String::new, |scatter| format!(" One trial scatters by {} %.", fixed(scatter, 2)));
    let best = result.best_crank_degrees.map_or_else(String::new, |best| {
        format!(
            "{} crank degrees, between {} and {} (95 %)",
            fixed(best.value, 1),
            fixed(best.low, 1),
            fixed(best.high, 1)
        )
    });
    let last = result.last_quiet_crank_degrees.map_or_else(String::new, |last| fixed(last, 1));
    let told = match (result.top, best.is_empty()) {
        (Top::Seen, _) => format!("The best timing here is {best}."),
        (Top::NotReached, false) => {
            format!(
                "The best timing here is {best}, as far as it was quiet; it may lie beyond {last}, where nothing is told."
            )
        }
        (Top::NotReached, true) => {
            format!("Earlier was better up to {last}, the last that was quiet: the best was not reached.")
        }
        (Top::Later, false) => {
            format!("The best timing here is {best}; it may lie later than anything that was tried.")
        }
        (Top::Later, true) => "Later was better down to the latest that was tried: begin later.".to_owned(),
        (Top::Hidden, _) => {
            "The scatter of the trials hides the best timing: late and early cannot be told apart.".to_owned()
        }
        (Top::OneWay, _) => {
            "All trials of a series went one way: an engine that warms or a tank that empties looks just like a timing \
                             that helps. Go over them the other way."
                .to_owned()
        }
        (Top::TooFew, _) => "These are too few trials to say which timing is best.".to_owned(),
    };
    let more = match result.more_trials {
        Some(more) if more > 0 => format!(
            " To know it within {} crank degrees takes about {} trials more like these.",
            short(SETTLED, 1),
            if more > 1_000 {
                "more than a thousand".to_owned()
            } else {
                count(usize::try_from(more).unwrap_or(usize::MAX))
            }
        ),
        _ => String::new(),
    };
    format!("{told}{scatter}{more}")
}

/// Why a series has ended, and what to do with that.
pub fn ended_in_words(ended: Ended) -> String {
    match ended {
        Ended::Pinked(at) => format!(
            "It pinked at {}: the series has ended. Ease off, and set it back to {} crank degrees or later before anything else.",
            fixed(at, 1),
            fixed(at - BACK, 1)
        ),
        Ended::Settled => "The series has ended: the best timing is known well enough.".to_owned(),
        Ended::GoneOver => {
            "The series has ended: its timings were gone over four times. `--again` begins another, from the late side."
                .to_owned()
        }
        Ended::CannotHear(at) => format!(
            "The series has ended: twice nobody could tell whether it pinked at {} crank degrees. Set it back, and use a dynamometer \
             with knock detection.",
            fixed(at, 1)
        ),
        Ended::NoRoom(ceiling) => format!(
            "The series has ended: between where it began and {} crank degrees is too little room to see a top. Stay at the late end.",
            fixed(ceiling, 1)
        ),
    }
}

/// What to do next.
pub fn next_steps(result: &TrialsResult, next: Next) -> Vec<String> {
    let mut steps = match next {
        Next::Try(crank_degrees) => vec![format!(
            "try {} crank degrees at {}: engine off, set it, prove it with the timing light, and only then make the trial",
            fixed(crank_degrees, 1),
            place_in_words(&result.said)
        )],
        Next::Ended(ended) => vec![ended_in_words(ended)],
    };
    if result.set_to_crank_degrees.is_some() {
        steps.push(format!(
            "write it into the curve of the sheet so that `bobweight figures` shows it at {}, then `bobweight check`, `write` and \
             `light` again",
            place_in_words(&result.said)
        ));
        if result.said.place == Place::Idle {
            steps.push(
                "the initial timing moves the whole curve: take from the centrifugal advance what it gains, so that full throttle \
                 stays where its own trials put it"
                    .to_owned(),
            );
        }
    }
    steps
}

/// What trials do not prove.
pub fn not_proven(ceiling: &Ceiling, log: &Log) -> Vec<String> {
    let mut open = vec![
        "no trial proves a timing safe: that nobody heard it pink is no proof that it did not".to_owned(),
        format!(
            "a timing is tried at {} alone: what the engine likes at another speed, load, fuel or heat of day is another matter",
            place_in_words(&log.said)
        ),
    ];
    if ceiling.loud {
        open.push(SILENCE.to_owned());
        if log.said.listening == Listening::KnockDetection {
            open.push(
                "the knock detection was not proven here: let whoever runs the dynamometer show that it detects"
                    .to_owned(),
            );
        }
    }
    open
}
