//! What somebody typed, as values of the sheet. Whether they are right is the sheet's own to say.

use super::points::{TypedPoints, points_from};
use super::presume::presumed;
use crate::curve::known::{KnownCentrifugal, KnownVacuum};
use crate::quantity::of_core::{crank_degrees, kpa_of, rpm_of};
use crate::quantity::{KPA_PER_INHG, as_depression, bare_or_with_unit, column_pressure_unit, parse_pressure};
use crate::sheet::{Answer, Changed, Form, Guide, Presumed, Reckoned, Start, parse, stands, started, with_answer};
use crate::words::number::short_ungrouped;

/// The text of a sheet with an answer in it. A book's page is kept as what the book says, too.
///
/// # Errors
/// What is wrong with the answer, and what to type instead.
pub fn answered(name: &str, text: &str, guide: &Guide, typed: &str) -> Result<Changed, String> {
    let mut answer = read(guide, typed)?;
    if stands(text, "vacuum.source").as_deref() != Some(NO_UNIT) {
        answer.without.retain(|key| *key != ("vacuum", "source"));
        answer.assumed.retain(|(key, _)| key != "vacuum.source" || guide.key == "vacuum.source");
    }
    if started(text) == Some(Start::Book) {
        let of_book = |table: &str| ["advance", "centrifugal", "vacuum"].contains(&table);
        let also: Vec<_> = answer
            .values
            .iter()
            .filter(|(table, key, _)| of_book(table) && ["initial", "unit", "breakpoints"].contains(&key.as_str()))
            .filter(|_| answer.assumed.iter().all(|(_, assumed)| !assumed))
            .map(|(table, key, value)| (format!("specified.{table}"), key.clone(), value.clone()))
            .collect();
        answer.values.extend(also);
    }
    kept(name, text, &answer).or_else(|why| reckoned_anew(name, text, guide, answer).ok_or(why))
}

/// The same where only assumptions stood in its way that hang on other answers: those are reckoned anew. None where that does not help.
fn reckoned_anew(name: &str, text: &str, guide: &Guide, mut answer: Answer) -> Option<Changed> {
    let sheet = parse(name, text).ok()?;
    let hang = |other: &&&Guide| {
        other.key != guide.key
            && matches!(other.presumed, Presumed::Reckoned(reckoned, _) if reckoned != Reckoned::NoVacuum)
    };
    let assumed = super::assumed(&sheet);
    let others: Vec<&&Guide> = assumed.iter().filter(hang).collect();
    if others.is_empty() {
        return None;
    }
    for other in &others {
        answer.without.extend(other.key.rsplit_once('.'));
        answer.assumed.push((other.key.to_owned(), false));
    }
    let mut changed = kept(name, text, &answer).ok()?;
    changed.changes.retain(|change| change.after.is_some());
    for other in others {
        let (with, _) = presumed(name, &changed.text, other).ok()?;
        changed.text = with.text;
        changed.changes.extend(with.changes);
    }
    Some(changed)
}

/// Writes it, or says in a sentence why not.
pub(super) fn kept(name: &str, text: &str, answer: &Answer) -> Result<Changed, String> {
    with_answer(name, text, answer).map_err(|error| crate::curve::figures::in_words(&error))
}

/// One value of its key.
pub(super) fn one(key: &str, value: String, assumed: bool) -> Answer {
    let (table, name) = key.rsplit_once('.').unwrap_or(("", key));
    Answer {
        values: vec![(table.to_owned(), name.to_owned(), value)],
        assumed: vec![(key.to_owned(), assumed)],
        without: Vec::new(),
    }
}

pub(super) fn quoted(text: &str) -> String {
    toml_edit::Value::from(text).to_string()
}

fn read(guide: &Guide, typed: &str) -> Result<Answer, String> {
    let typed = typed.trim();
    if typed.is_empty() {
        return Err("type an answer; `?` tells more".to_owned());
    }
    match guide.form {
        // Where the pickup has no such flank the sheet says nothing of it.
        Form::Quantity(_) if guide.key == "pickup.second_flank_angle" && typed == "none" => Ok(Answer {
            assumed: vec![(guide.key.to_owned(), false)],
            without: vec![("pickup", "second_flank_angle")],
            ..Answer::default()
        }),
        Form::Quantity(unit) => Ok(one(guide.key, quoted(&bare_or_with_unit(typed, unit)), false)),
        Form::Whole => match typed.parse::<u32>() {
            Ok(number) => Ok(one(guide.key, number.to_string(), false)),
            Err(_) => Err(format!("`{typed}` is no whole number: count, and type the number alone")),
        },
        Form::Text if guide.key == "engine.supply" => Ok(one(guide.key, quoted(typed), false)),
        Form::Text => Ok(one(guide.key, quoted(&typed.to_lowercase()), false)),
        Form::DwellTable => {
            let TypedPoints { points, words } = points_from(typed)?;
            if let Some(word) = words.first() {
                return Err(format!("`{word}` is not wanted here: every point is ms at V, such as `3.9 at 12`"));
            }
            Ok(with_unit(guide.key, ["V", "ms"], &points, false))
        }
        Form::Centrifugal => centrifugal(guide.key, typed),
        Form::Vacuum => vacuum(guide.key, typed),
    }
}

/// A list of points with the units of its columns.
pub(super) fn with_unit(key: &str, units: [&str; 2], points: &[[f64; 2]], assumed: bool) -> Answer {
    let points: Vec<String> =
        points.iter().map(|[x, y]| format!("[{}, {}]", short_ungrouped(*x, 3), short_ungrouped(*y, 3))).collect();
    let mut answer = one(key, format!("[{}]", points.join(", ")), assumed);
    let (table, _) = key.rsplit_once('.').unwrap_or(("", key));
    let unit = units.map(quoted).join(", ").replace("  ", " ");
    answer.values.insert(0, (table.to_owned(), "unit".to_owned(), format!("[{unit}]")));
    answer
}

/// Which shaft is never guessed.
fn shaft(words: &mut Vec<String>) -> Result<&'static str, String> {
    let shafts: Vec<&str> =
        words.iter().map(String::as_str).filter(|word| ["crank", "distributor"].contains(word)).collect();
    let shaft = match shafts.as_slice() {
        ["crank"] => "crank",
        ["distributor"] => "distributor",
        _ => return Err("say behind the points whether they are of the crank or of the distributor: `..., crank` or `..., distributor`".to_owned()),
    };
    words.retain(|word| word != shaft);
    Ok(shaft)
}

fn centrifugal(key: &str, typed: &str) -> Result<Answer, String> {
    if typed.contains(" at ") {
        let TypedPoints { points, mut words } = points_from(typed)?;
        let shaft = shaft(&mut words)?;
        if let Some(word) = words.first() {
            return Err(format!("`{word}` is not wanted here: the points are degrees at rpm, and then `{shaft}`"));
        }
        return Ok(with_unit(key, [&format!("{shaft} rpm"), &format!("{shaft} degrees")], &points, false));
    }
    let known: KnownCentrifugal = typed.parse()?;
    let by = rpm_of(known.by);
    let from = known.from.map_or_else(|| ((by / 150.0).floor() * 50.0).clamp(1.0, 1000.0), rpm_of);
    let points = [[from, 0.0], [by, crank_degrees(known.greatest)]];
    Ok(with_unit(key, ["crank rpm", "crank degrees"], &points, known.from.is_none()))
}

/// Why a beginning of the centrifugal advance that nobody said is taken where it is.
pub const BEGINS: &str = "where it begins is assumed: at a third of the speed where all of it is in, and not above 1 000 crank rpm (common practice, \
                          no source)";
/// Likewise of the vacuum.
pub const PULLS: &str = "which vacuum it takes is assumed: from 5 to 12 inHg of depression, or from 5/12 of where all of it is in (common practice, \
                         no source)";

fn vacuum(key: &str, typed: &str) -> Result<Answer, String> {
    if ["none", "no", "0"].contains(&typed.to_lowercase().as_str()) {
        return Ok(none(false));
    }
    let mut answer = if typed.contains(" at ") {
        let TypedPoints { points, mut words } = points_from(typed)?;
        let shaft = shaft(&mut words)?;
        let [unit] = words.as_slice() else {
            return Err("say behind the points what the vacuum is measured in, such as `..., inHg depression, crank`"
                .to_owned());
        };
        // Letters of units are as they are; what was typed small is found again.
        let unit = ["inHg", "kPa", "mmHg", "mbar", "psi"]
            .into_iter()
            .find(|known| unit.split(' ').next() == Some(known.to_lowercase().as_str()))
            .ok_or_else(|| {
                format!("`{unit}` is no unit of a vacuum: inHg, kPa, mmHg, mbar or psi, and `depression`")
            })?;
        with_unit(key, [&format!("{unit} depression"), &format!("{shaft} degrees")], &points, false)
    } else {
        let known: KnownVacuum = spelt(typed).parse()?;
        let unit =
            ["inHg", "mmHg", "mbar", "psi", "kPa"].into_iter().find(|unit| typed.contains(unit)).unwrap_or("inHg");
        let kpa = column_pressure_unit(&format!("{unit} depression"))
            .map_or(KPA_PER_INHG, |unit| unit.of(1.0).depression_kpa(0.0));
        let by = known.by.map_or(12.0 * KPA_PER_INHG, kpa_of);
        let from = known.from.map_or(by * 5.0 / 12.0, kpa_of);
        let points = [[from / kpa, 0.0], [by / kpa, crank_degrees(known.greatest)]];
        let units = [format!("{unit} depression"), "crank degrees".to_owned()];
        let open = known.from.is_none() || known.by.is_none();
        with_unit(key, [&units[0], &units[1]], &rounded(points), open)
    };
    // A unit that is there has a hose: an answer of before that there is none is over.
    answer.without.push(("vacuum", "source"));
    answer.assumed.push(("vacuum.source".to_owned(), false));
    Ok(answer)
}

/// Gauges are read to a tenth; the core's steps leave a tail behind.
fn rounded(points: [[f64; 2]; 2]) -> [[f64; 2]; 2] {
    points.map(|[x, y]| [(x * 20.0).round() / 20.0, y])
}

/// `12 crank degrees, 5..12 inHg` with the side of the atmosphere that a vacuum unit works at.
fn spelt(typed: &str) -> String {
    let [by, range] = [" by ", ".."].map(|mark| typed.rfind(mark).map(|at| at + mark.len()));
    let Some(at) = by.max(range) else { return typed.to_owned() };
    let (before, pressure) = typed.split_at(at);
    match parse_pressure(pressure) {
        Ok(_) => typed.to_owned(),
        Err(_) => format!("{before}{}", as_depression(pressure, "inHg")),
    }
}

/// How a sheet says that there is no vacuum unit.
const NO_UNIT: &str = "\"none\"";

/// No vacuum advance.
pub(super) fn none(assumed: bool) -> Answer {
    Answer {
        values: vec![("vacuum".to_owned(), "source".to_owned(), NO_UNIT.to_owned())],
        assumed: vec![("vacuum.breakpoints".to_owned(), false), ("vacuum.source".to_owned(), assumed)],
        without: vec![("vacuum", "breakpoints"), ("vacuum", "unit"), ("vacuum", "greatest_rate")],
    }
}
