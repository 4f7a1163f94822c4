//! What is asked besides readings.

use super::shaft::Shaft;
use crate::quantity::{ANGLE, POSITION, SHARE, SPEED, as_depression, bare_or_with_unit, parse, parse_pressure};
use crate::words::number::{short, short_ungrouped, whole};
use crate::words::yes_or_no::yes_or_no;

/// How a fact is answered.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub enum Kind {
    /// Any words.
    Words,
    /// One of these.
    OneOf(&'static [&'static str]),
    /// Yes alone: it must be so before the survey goes on.
    MustBeYes(&'static str),
    /// Where the crank stopped, or `skip`.
    PositionOrSkip,
    /// Crank degrees.
    Angle,
    /// Crank rpm.
    CrankSpeed,
    /// Distributor rpm.
    DistributorSpeed,
    /// A part of a speed, per cent.
    Share,
    /// A depression, or `skip`.
    PressureOrSkip,
}

/// One of them.
#[derive(Debug, Eq, PartialEq)]
pub struct Fact {
    /// Under this name it is kept.
    pub key: &'static str,
    /// What to do first.
    pub before: &'static str,
    /// The question.
    pub question: &'static str,
    /// How it is answered.
    pub kind: Kind,
    /// Where it is asked.
    pub place: Place,
}

/// Where a fact is asked.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub enum Place {
    /// On the engine and off it.
    Anywhere,
    /// The distributor is in its engine.
    OnEngine,
    /// It is in a chuck.
    OffEngine,
}

const fn fact(key: &'static str, before: &'static str, question: &'static str, kind: Kind) -> Fact {
    Fact { key, before, question, kind, place: Place::Anywhere }
}

const fn engine(key: &'static str, before: &'static str, question: &'static str, kind: Kind) -> Fact {
    Fact { key, before, question, kind, place: Place::OnEngine }
}

const fn chuck(key: &'static str, before: &'static str, question: &'static str, kind: Kind) -> Fact {
    Fact { key, before, question, kind, place: Place::OffEngine }
}

const SHAKES: &str = "does it shake? (no, a little, much)";
const SHAKE: Kind = Kind::OneOf(&["no", "a little", "much"]);
const DISTRIBUTOR_SPEED: &str = "which speed, distributor rpm?";
const YES_NO: Kind = Kind::OneOf(&["yes", "no"]);

/// Asked before the readings.
pub(super) const BEFORE: &[Fact] = &[
    fact("numbers", "Whose distributor is this?", "numbers stamped on it (or none):", Kind::Words),
    engine(
        "shaft_shake",
        "Key off and battery off, and only then the cap off. Push the shaft from side to side.",
        SHAKES,
        SHAKE,
    ),
    chuck("shaft_shake", "Cap off. Push the shaft from side to side.", SHAKES, SHAKE),
    fact(
        "weights_return",
        "Turn the rotor against its springs and let go.",
        "does it move freely and return? (yes, no)",
        YES_NO,
    ),
    fact(
        "plate_returns",
        "Push the vacuum plate, or draw at its hose with a hand pump or a syringe, never by mouth: it can hold fuel vapour.",
        "does it move and return? (yes, no, none)",
        Kind::OneOf(&["yes", "no", "none"]),
    ),
    fact(
        "stop_and_bush",
        "Look under the plate at the stop of the weights.",
        "are the stop and its bush there? (yes, no)",
        YES_NO,
    ),
    engine(
        "stopped_before",
        "True TDC by a positive stop: plugs out, battery off, stop into cylinder 1. Turn by hand, gently, up to the stop.",
        "where does the mark stand, such as 36.75 BTDC (or skip)?",
        Kind::PositionOrSkip,
    ),
    engine(
        "stopped_after",
        "Now turn the other way round, up to the stop again.",
        "where does the mark stand, such as 35.25 ATDC?",
        Kind::PositionOrSkip,
    ),
    engine(
        "stop_is_out",
        "",
        "is the stop out again? (yes)",
        Kind::MustBeYes("take the stop out before anything turns"),
    ),
    engine(
        "hose_is_off",
        "Cap back on, battery on. Engine warm, light on cylinder 1. Take the vacuum hose off the unit and stop it up.",
        "is it off and stopped up? (yes)",
        Kind::MustBeYes("the readings would hold vacuum advance: take it off and stop it up"),
    ),
    engine("mark_dances", "Look at the mark at idle.", "how far does it dance, crank degrees in all?", Kind::Angle),
    chuck(
        "guarded",
        "The body clamped so that it cannot turn, a guard about the chuck, its key out of it. No loose sleeves, gloves, rings or ties, \
         long hair tied back, glasses on, and nobody in line with the chuck.",
        "is it all so? (yes)",
        Kind::MustBeYes("a chuck winds up what it catches: see to it first"),
    ),
    chuck(
        "direction",
        "The chuck turns the shaft the way it turns in use, seen from above the cap: the other way the weights move wrong. Try it at \
         the drill's slowest.",
        "does it turn that way? (yes)",
        Kind::MustBeYes("turn the drill's direction round, or take one that can"),
    ),
    fact(
        "speed_wanders",
        "Hold one speed and watch the tachometer for a while.",
        "by how many per cent does it wander to either side (0: it stands still)?",
        Kind::Share,
    ),
    engine("lowest", "The slowest speed that it holds well: idle.", "which speed, crank rpm?", Kind::CrankSpeed),
    engine(
        "highest",
        "The highest speed that you will go to, never above the engine's limit.",
        "which speed, crank rpm?",
        Kind::CrankSpeed,
    ),
    chuck("lowest", "The slowest speed that the drill holds well.", DISTRIBUTOR_SPEED, Kind::DistributorSpeed),
    chuck(
        "highest",
        "The highest speed that you will go to, never above what the distributor turns in use, nor above what drill and clamp bear.",
        DISTRIBUTOR_SPEED,
        Kind::DistributorSpeed,
    ),
];

/// Asked between the readings with the hose off and those with it on.
pub(super) const BETWEEN: &[Fact] = &[fact(
    "vacuum_unit",
    "The curve without vacuum is done.",
    "has it a vacuum unit, and have you a hand pump? (yes, no)",
    YES_NO,
)];

/// Asked after all readings. U.S. Army TM 5-4210-230-14&P-1, distributor operation test: it must hold 16 inHg.
pub(super) const AFTER: &[Fact] = &[
    fact(
        "leak_test",
        "Pump the unit to 16 inHg (54 kPa) depression and wait half a minute.",
        "does the gauge stay? (yes, no)",
        YES_NO,
    ),
    engine(
        "idle_vacuum_1",
        "Gauge to the hose that fed the unit, engine at idle.",
        "vacuum, inHg (or skip):",
        Kind::PressureOrSkip,
    ),
    engine("idle_vacuum_2", "Blip the throttle, let it settle.", "vacuum again, inHg (or skip):", Kind::PressureOrSkip),
    engine("idle_vacuum_3", "And once more.", "vacuum again, inHg (or skip):", Kind::PressureOrSkip),
];

/// A position as it is kept or typed: crank degrees before top dead centre.
pub(super) fn position(typed: &str) -> Option<f64> {
    parse(&POSITION, typed).ok()
}

/// 100 to 12 000 crank rpm, kept in the shaft's own.
fn speed(answer: &str, shaft: Shaft) -> Result<(String, String), String> {
    match parse(&SPEED, &bare_or_with_unit(answer, shaft.rpm())) {
        Ok(crank_rpm) if (100.0..=12_000.0).contains(&crank_rpm) => {
            Ok((format!("{} {}", short_ungrouped(shaft.of_crank(crank_rpm), 3), shaft.rpm()), String::new()))
        }
        Ok(_) => {
            let [low, high] = [100.0, 12_000.0].map(|end| shaft.of_crank(end));
            Err(format!("write {low} to {high} {}", shaft.rpm(), low = whole(low), high = whole(high)))
        }
        Err(error) => Err(format!("{error}: {}", error.help())),
    }
}

impl Fact {
    /// The answer as it is kept, and what to say of it.
    pub(super) fn read(&self, answer: &str) -> Result<(String, String), String> {
        let plain = |kept: &str| Ok((kept.to_owned(), String::new()));
        match self.kind {
            Kind::Words => {
                let words: String =
                    answer.chars().map(|letter| if letter.is_control() { ' ' } else { letter }).collect();
                if words.trim().is_empty() {
                    Err("write the numbers, or `none`".to_owned())
                } else {
                    plain(words.trim())
                }
            }
            Kind::OneOf(words) => {
                let short = yes_or_no(answer).map(|yes| if yes { "yes" } else { "no" });
                let answer = short.unwrap_or(answer);
                match words.iter().find(|word| word.eq_ignore_ascii_case(answer)) {
                    Some(word) => Ok(((*word).to_owned(), self.remark(word).to_owned())),
                    None => Err(format!("answer one of: {}", words.join(", "))),
                }
            }
            Kind::MustBeYes(otherwise) => match yes_or_no(answer) {
                Ok(true) => plain("yes"),
                Ok(false) => Err(otherwise.to_owned()),
                Err(unclear) => Err(format!("{unclear}; {otherwise}")),
            },
            Kind::PositionOrSkip if answer == "skip" => Ok(("skip".to_owned(), self.remark(answer).to_owned())),
            Kind::PositionOrSkip => {
                let in_capitals = answer.to_ascii_uppercase();
                let with_shaft = ["BTDC", "ATDC"].iter().find_map(|side| {
                    let number = in_capitals.strip_suffix(side)?.trim();
                    number.parse::<f64>().is_ok().then(|| format!("{number} crank degrees {side}"))
                });
                let typed = with_shaft.unwrap_or_else(|| answer.to_owned());
                match parse(&POSITION, &typed) {
                    Ok(degrees) if degrees.abs() <= 90.0 => plain(&typed),
                    Ok(_) => Err("a stop lies within 90 crank degrees of TDC: look again".to_owned()),
                    Err(error) => Err(format!("{error}: write it as `36.75 BTDC` or `35.25 ATDC`, or `skip`")),
                }
            }
            Kind::Angle => match parse(&ANGLE, &bare_or_with_unit(answer, "crank degrees")) {
                Ok(degrees) if (0.0..=30.0).contains(&degrees) => {
                    let said = if degrees >= 4.0 {
                        "So much is a worn shaft, drive or chain: read the middle of the dance, and mend it before a curve is chosen."
                    } else {
                        ""
                    };
                    Ok((format!("{} crank degrees", short(degrees, 3)), said.to_owned()))
                }
                Ok(_) => Err("write 0 to 30 crank degrees".to_owned()),
                Err(error) => Err(format!("{error}: {}", error.help())),
            },
            Kind::CrankSpeed => speed(answer, Shaft::of(false)),
            Kind::DistributorSpeed => speed(answer, Shaft::of(true)),
            Kind::Share => match parse(&SHARE, &bare_or_with_unit(answer, "%")) {
                Ok(share) if share <= 0.1 => plain(&format!("{} %", (share * 1e4).round() / 100.0)),
                Ok(_) => Err("a tachometer that wanders by more than 10 % tells no curve: take another".to_owned()),
                Err(error) => Err(format!("{error}: {}", error.help())),
            },
            Kind::PressureOrSkip if answer == "skip" => plain("skip"),
            Kind::PressureOrSkip => {
                let typed = as_depression(answer, "inHg");
                match parse_pressure(&typed) {
                    Ok(_) => plain(&typed),
                    Err(error) => Err(format!("{error}: {}", error.help())),
                }
            }
        }
    }

    pub(super) fn remark(&self, word: &str) -> &'static str {
        match (self.key, word) {
            ("shaft_shake", "a little" | "much") => "Every reading scatters more by that.",
            ("weights_return", "no") => {
                "They stick: clean and oil them and look again, or measure them as they are and do not copy it."
            }
            ("plate_returns", "no") => "Its readings will show what it does; do not copy it.",
            ("stop_and_bush", "no") => {
                "Then the advance goes further than it was made for: do not copy the top of this curve."
            }
            ("stopped_before", "skip") => {
                "The mark is taken as it is, never held against true top dead centre: an initial timing of it can be several crank \
                 degrees out."
            }
            ("leak_test", "yes") => "The vacuum unit held its vacuum.",
            ("leak_test", "no") => "The unit leaks: what it gave is less than a sound one gives.",
            _ => "",
        }
    }
}
