//! What is assumed where nobody knows: enough to look at a curve and to bench it in simulation.

use super::answer::{kept, none, one, quoted, with_unit};
use super::{Stage, wanted};
use crate::sheet::{Answer, Changed, Form, Guide, Presumed, Reckoned, Settings, Sheet, parse, stands};
use crate::words::number::short_ungrouped;
use bobweight::Limit;

/// The text of a sheet with an assumption for a key, which it is marked as; and why this one.
///
/// # Errors
/// Where the key may not be assumed, and why; and where something that it hangs on is missing.
pub fn presumed(name: &str, text: &str, guide: &Guide) -> Result<(Changed, &'static str), String> {
    let (answer, because) = match guide.presumed {
        Presumed::Nothing(why) => return Err(why.to_owned()),
        Presumed::Value(value, because) => (literal(guide, value), because),
        Presumed::Reckoned(Reckoned::Angle, because) => {
            return angle(name, text, guide).map(|changed| (changed, because));
        }
        Presumed::Reckoned(reckoned, because) => (self::reckoned(name, text, guide, reckoned)?, because),
    };
    Ok((kept(name, text, &answer)?, because))
}

/// As a value stands in the guide.
fn literal(guide: &Guide, value: &str) -> Answer {
    match guide.form {
        Form::DwellTable => {
            let mut answer = with_unit(guide.key, ["V", "ms"], &[], true);
            if let Some((_, _, written)) = answer.values.last_mut() {
                value.clone_into(written);
            }
            answer
        }
        Form::Whole => one(guide.key, value.to_owned(), true),
        _ => one(guide.key, quoted(value), true),
    }
}

fn reckoned(name: &str, text: &str, guide: &Guide, reckoned: Reckoned) -> Result<Answer, String> {
    let sheet = parse(name, text).map_err(|error| crate::curve::figures::in_words(&error))?;
    let advance = &sheet.advance;
    let degrees = |value: f64, unit: &str| format!("{} crank degrees{unit}", short_ungrouped(value, 2));
    let rpm = |value: f64| format!("{} crank rpm", short_ungrouped(value, 0));
    let value = match reckoned {
        Reckoned::NoVacuum => return Ok(none(true)),
        Reckoned::Cranking => {
            let allowed = sheet.limits.of(Limit::GreatestCranking).value().copied().unwrap_or(f64::MAX);
            let as_of_old = known(advance.initial_crank_degrees.value())?.min(allowed);
            // Cranking sparks come at a second flank, where there is one.
            degrees(*sheet.pickup.second_flank_angle_crank_degrees.value().unwrap_or(&as_of_old), "")
        }
        Reckoned::Initial => degrees(*known(advance.initial_crank_degrees.value())?, ""),
        Reckoned::RunningFrom => {
            let idle = *known(sheet.engine.idle_crank_rpm.value())?;
            rpm((idle * 0.07).floor().min(45.0) * 10.0)
        }
        Reckoned::CrankingBelow => rpm((known(advance.running_from_crank_rpm.value())? - 50.0).max(30.0)),
        Reckoned::NoSparkAbove => rpm(known(sheet.engine.greatest_speed_crank_rpm.value())? + 200.0),
        Reckoned::SparkAgainBelow => rpm(known(advance.no_spark_above_crank_rpm.value())? - 100.0),
        Reckoned::Pulses => return Ok(one(guide.key, known(sheet.engine.cylinders.value())?.to_string(), true)),
        Reckoned::SecondFlank => degrees(*known(advance.cranking_crank_degrees.value())?, " BTDC"),
        Reckoned::BenchRamp => degrees(ramp(*known(sheet.pickup.pulses_in_two_turns.value())?), ""),
        Reckoned::Angle => return Err(NOT_YET.to_owned()),
    };
    Ok(one(guide.key, quoted(&value), true))
}

const NOT_YET: &str = "this hangs on something that is not answered so far";

fn known<T>(value: Option<&T>) -> Result<&T, String> {
    value.ok_or_else(|| NOT_YET.to_owned())
}

/// A spark is timed by the period before it, which is longer with fewer pulses: 5 crank degrees with four of them.
fn ramp(pulses: u32) -> f64 {
    (20.0 / f64::from(pulses.max(1))).clamp(3.0, 20.0)
}

/// The first place from which the core can time the curve, with what is still missing assumed.
fn angle(name: &str, text: &str, guide: &Guide) -> Result<Changed, String> {
    let mut last = NOT_YET.to_owned();
    for degrees in ANGLES {
        let at = one(guide.key, quoted(&format!("{degrees} crank degrees BTDC")), true);
        let changed = match kept(name, text, &at) {
            Ok(changed) => changed,
            Err(why) => {
                last = why;
                continue;
            }
        };
        let whole = all_presumed(name, &changed.text)?;
        let sheet = parse(name, &whole).map_err(|error| crate::curve::figures::in_words(&error))?;
        match Settings::from_sheet(&sheet) {
            Ok(_) => return Ok(changed),
            Err(error) => last = crate::curve::figures::in_words(&error),
        }
    }
    Err(format!("no place of the pickup was found from which this curve can be timed: {last}"))
}

/// Where a pickup may sit, crank degrees BTDC, the usual first.
const ANGLES: [u32; 15] = [60, 55, 65, 50, 70, 45, 75, 80, 40, 85, 35, 90, 30, 25, 20];

/// The text of a sheet with an assumption for everything that its simulated bench still waits for.
///
/// # Errors
/// What may not be assumed, or cannot.
pub fn all_presumed(name: &str, text: &str) -> Result<String, String> {
    let mut text = text.to_owned();
    // Each assumption answers a question; a few open another.
    for _ in 0..=crate::sheet::GUIDES.len() {
        let sheet: Sheet = parse(name, &text).map_err(|error| crate::curve::figures::in_words(&error))?;
        let Some(guide) = wanted(&sheet, Stage::Bench) else { return Ok(text) };
        text = presumed(name, &text, guide).map_err(|why| format!("`{}`: {why}", guide.key))?.0.text;
    }
    Err(NOT_YET.to_owned())
}

/// The text of a sheet in which a value stands for a key that is missing, for a trial on paper: what would be assumed, else an invented engine's. None
/// where neither has the key.
pub(super) fn stand_in(name: &str, text: &str, key: &str) -> Option<String> {
    const INVENTED: &str = include_str!("../../../demo/fire-float.toml");
    let of_guide = crate::sheet::guide(key).and_then(|guide| match guide.presumed {
        Presumed::Value(value, _) => Some(literal(guide, value)),
        Presumed::Reckoned(Reckoned::Angle | Reckoned::NoVacuum, _) | Presumed::Nothing(_) => None,
        Presumed::Reckoned(reckoned, _) => self::reckoned(name, text, guide, reckoned).ok(),
    });
    let of_demo = || {
        let mut answer = one(key, stands(INVENTED, key)?, false);
        let (table, _) = key.rsplit_once('.')?;
        let listed = ["breakpoints", "dwell", "calibration"].iter().any(|list| key.ends_with(list));
        if let Some(unit) = stands(INVENTED, &format!("{table}.unit")).filter(|_| listed) {
            answer.values.insert(0, (table.to_owned(), "unit".to_owned(), unit));
        }
        Some(answer)
    };
    let mut answer = of_guide.or_else(of_demo)?;
    answer.assumed.clear();
    kept(name, text, &answer).ok().map(|changed| changed.text)
}
