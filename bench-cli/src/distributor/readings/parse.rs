//! From bytes to readings.

use std::ops::Range;

use super::columns::{Columns, Pressure, Tells};
use super::error::{Problem, ReadingsError};
use super::field::Field;
use super::lines::{Fields, lines, whole};
use super::text::Text;
use super::{Hose, Reading, Readings, SpeedWas};
use crate::quantity::{Accuracy, Dimension, PRESSURE_STEP, SPEED, parse_accuracy};

const HIGHEST_CRANK_RPM: f64 = 20_000.0;
/// Timings that can be read off an engine.
pub(crate) const CRANK_DEGREES: (f64, f64) = (-30.0, 90.0);
const GREATEST_DEPRESSION_KPA: f64 = 110.0;
/// From the highest roads there are to the deepest high-pressure winter day at sea level, with room.
const ATMOSPHERE_KPA: (f64, f64) = (50.0, 110.0);
/// A meter that may be further out tells no curve: another is taken.
const MOST_OF_A_TACHOMETER: Accuracy = Accuracy { share: 0.1, besides: 200.0 };
const MOST_OF_A_GAUGE: Accuracy = Accuracy { share: 0.2, besides: 10.0 };

/// Readings from the bytes of a CSV file; `name` is the file's name for messages.
///
/// LF, CR and CRLF ends of lines and a byte order mark are accepted.
///
/// # Errors
/// Every refusal names file, line, column where there is one, value and remedy.
pub fn parse(name: &str, bytes: &[u8]) -> Result<Readings, ReadingsError> {
    let text = Text::new(name, bytes)?;
    let atmosphere_kpa = stated(&text, ATMOSPHERE)?;
    let speed_scatter = stated(&text, SPEED_SCATTER)?.unwrap_or(0.0) / 100.0;
    let angle_scatter = stated(&text, ANGLE_SCATTER)?;
    let tachometer_accuracy = stated(&text, TACHOMETER_ACCURACY)?;
    let gauge_accuracy = stated(&text, GAUGE_ACCURACY)?;
    let mut lines = lines(&text).into_iter();
    let Some(header) = lines.next() else {
        let remedy =
            "begin with a line such as `hose,speed_was,crank_rpm,crank_degrees` and add a line for each reading";
        return Err(text.refuse(0..0, None, Problem::Empty, remedy));
    };
    refuse_other_separators(&text, &header)?;
    let header_place = whole(&header);
    let named: Vec<_> = header.iter().map(|(name, place)| (name.as_str(), place.clone())).collect();
    let columns = Columns::from_header(&text, &named)?;
    if atmosphere_kpa.is_none()
        && let Some(vacuum) = columns.vacuum
        && matches!(vacuum.column.tells, Tells::Vacuum(Pressure::Absolute))
    {
        let place = header[vacuum.index].1.clone();
        let remedy = "add a line `# atmosphere = 101.3 kPa absolute` with what the gauge shows while the engine stands";
        return Err(text.refuse(place, Some(vacuum.column.name), Problem::NoAtmosphere, remedy));
    }
    let readings = lines.map(|line| reading(&text, &columns, atmosphere_kpa, &line)).collect::<Result<Vec<_>, _>>()?;
    if readings.is_empty() {
        return Err(text.refuse(
            header_place,
            None,
            Problem::NoReadings,
            "add a line for each reading below the names",
        ));
    }
    Ok(Readings {
        name: name.to_owned(),
        readings,
        atmosphere_kpa,
        speed_scatter,
        angle_scatter,
        tachometer_accuracy,
        gauge_accuracy,
        unit_holds: unit_holds(&text),
        columns: columns.names(),
    })
}

/// Refuses a header whose names stand between semicolons or tabs.
pub(crate) fn refuse_other_separators(text: &Text<'_>, header: &Fields) -> Result<(), ReadingsError> {
    for (sign, name) in [(';', "semicolons"), ('\t', "tabs")] {
        if header.iter().any(|(field, _)| field.contains(sign)) {
            let remedy = "export it again with commas between the columns and points in the numbers (8.5)";
            return Err(text.refuse(whole(header), None, Problem::Separator(name), remedy));
        }
    }
    Ok(())
}

/// What a comment of a line of its own states, such as `# atmosphere = 101.3 kPa absolute`.
struct Stated<T> {
    key: &'static str,
    /// What it says; none where it is not to be read or out of range.
    read: fn(&str) -> Option<T>,
    problem: fn(String) -> Problem,
    repeated: Problem,
    remedy: &'static str,
}

const ATMOSPHERE: Stated<f64> = Stated {
    key: "atmosphere",
    read: |value| number(value, "kPa absolute", ATMOSPHERE_KPA),
    problem: Problem::Atmosphere,
    repeated: Problem::RepeatedAtmosphere,
    remedy: "write it as `# atmosphere = 101.3 kPa absolute`, from 50 to 110 kPa",
};

const SPEED_SCATTER: Stated<f64> = Stated {
    key: "speed_scatter",
    read: |value| number(value, "%", (0.0, 10.0)),
    problem: Problem::SpeedScatter,
    repeated: Problem::RepeatedSpeedScatter,
    remedy: "write it as `# speed_scatter = 2 %`, from 0 to 10 %",
};

const ANGLE_SCATTER: Stated<f64> = Stated {
    key: "angle_scatter",
    read: |value| number(value, "crank degrees", (0.05, 5.0)),
    problem: Problem::AngleScatter,
    repeated: Problem::RepeatedAngleScatter,
    remedy: "write it as `# angle_scatter = 2 crank degrees`, from 0.05 to 5 crank degrees",
};

const TACHOMETER_ACCURACY: Stated<Accuracy> = Stated {
    key: "tachometer_accuracy",
    read: |value| accuracy(&SPEED, value, MOST_OF_A_TACHOMETER),
    problem: Problem::TachometerAccuracy,
    repeated: Problem::SaidTwice("accuracy of the tachometer"),
    remedy: "write it as its maker does, `# tachometer_accuracy = 1 % + 20 crank rpm` or one of the two, up to 10 % and 200 crank rpm",
};

const GAUGE_ACCURACY: Stated<Accuracy> = Stated {
    key: "gauge_accuracy",
    read: |value| accuracy(&PRESSURE_STEP, value, MOST_OF_A_GAUGE),
    problem: Problem::GaugeAccuracy,
    repeated: Problem::SaidTwice("accuracy of the vacuum gauge"),
    remedy: "write it as its maker does, `# gauge_accuracy = 4 % + 0.5 kPa` or one of the two, up to 20 % and 10 kPa",
};

fn number(value: &str, unit: &str, (low, high): (f64, f64)) -> Option<f64> {
    let number = value.strip_suffix(unit)?.trim().parse().ok()?;
    (low..=high).contains(&number).then_some(number)
}

fn accuracy(dimension: &'static Dimension, value: &str, most: Accuracy) -> Option<Accuracy> {
    let stated = parse_accuracy(dimension, value).ok()?;
    (stated.share <= most.share && stated.besides <= most.besides).then_some(stated)
}

fn stated<T>(text: &Text<'_>, what: Stated<T>) -> Result<Option<T>, ReadingsError> {
    let mut found = None;
    for (place, comment) in &text.comments {
        let Some((key, value)) = comment.split_once('=') else {
            continue;
        };
        if key.trim() != what.key {
            continue;
        }
        let place = *place..place + 1 + comment.trim_end().len();
        if found.is_some() {
            return Err(text.refuse(place, None, what.repeated, "keep the line that is right"));
        }
        found = (what.read)(value.trim());
        if found.is_none() {
            let problem = (what.problem)(value.trim().to_owned());
            return Err(text.refuse(place, None, problem, what.remedy));
        }
    }
    Ok(found)
}

/// What `survey` keeps of the leak test; another answer says nothing.
fn unit_holds(text: &Text<'_>) -> Option<bool> {
    let answers = text.comments.iter().filter_map(|(_, comment)| comment.split_once('='));
    let mut leak_tests = answers.filter(|(key, _)| key.trim() == "answer: leak_test").map(|(_, answer)| answer.trim());
    match leak_tests.next_back()? {
        "yes" => Some(true),
        "no" => Some(false),
        _ => None,
    }
}

fn reading(
    text: &Text<'_>,
    columns: &Columns,
    atmosphere_kpa: Option<f64>,
    line: &Fields,
) -> Result<Reading, ReadingsError> {
    refuse_field_count(text, columns.count, line)?;
    let hose = Field::new(text, line, columns.hose).word("on, off", &Hose::WORDS)?;
    let speed_was = Field::new(text, line, columns.speed_was).word("rising, falling, steady", &SpeedWas::WORDS)?;
    let (Tells::Speed(speed_factor), Tells::Angle(angle_factor)) =
        (columns.speed.column.tells, columns.angle.column.tells)
    else {
        unreachable!("a column stands only in the slot of what it tells")
    };
    let speed = Field::new(text, line, columns.speed);
    let crank_rpm = speed.number(
        |value| value * speed_factor,
        f64::MIN_POSITIVE..=HIGHEST_CRANK_RPM,
        || format!("above 0 to {} {}", HIGHEST_CRANK_RPM / speed_factor, columns.speed.column.unit),
        "",
    )?;
    let angle = Field::new(text, line, columns.angle);
    let (low, high) = CRANK_DEGREES;
    let crank_degrees = angle.number(
        |value| value * angle_factor,
        low..=high,
        || format!("{} to {} {}", low / angle_factor, high / angle_factor, columns.angle.column.unit),
        "",
    )?;
    let depression_kpa = depression(text, columns, atmosphere_kpa, line, hose)?;
    Ok(Reading { line: text.line_of(line[0].1.start), hose, speed_was, crank_rpm, crank_degrees, depression_kpa })
}

/// Refuses a line with more or fewer fields than there are columns.
pub(crate) fn refuse_field_count(text: &Text<'_>, columns: usize, line: &Fields) -> Result<(), ReadingsError> {
    let found = line.len();
    if line.iter().any(|(field, _)| field.contains(['\n', '\r'])) {
        let remedy = "take the quotation marks out; no value needs them";
        return Err(text.refuse(line[0].1.clone(), None, Problem::OpenQuote, remedy));
    }
    if found == columns {
        return Ok(());
    }
    let is_whole =
        |field: &str| !field.is_empty() && field.trim_start_matches('-').bytes().all(|byte| byte.is_ascii_digit());
    let split_number = found > columns && line.windows(2).any(|pair| is_whole(&pair[0].0) && is_whole(&pair[1].0));
    let (problem, remedy) = if split_number {
        let remedy = "write numbers with a point (8.5, not 8,5)";
        (Problem::SplitByDecimalComma { found, columns }, remedy)
    } else {
        let remedy = "give every column one value; a value that is not known stays empty, its comma stays";
        (Problem::FieldCount { found, columns }, remedy)
    };
    Err(text.refuse(whole(line), None, problem, remedy))
}

fn depression(
    text: &Text<'_>,
    columns: &Columns,
    atmosphere_kpa: Option<f64>,
    line: &Fields,
    hose: Hose,
) -> Result<Option<f64>, ReadingsError> {
    let without_vacuum = |place: Range<usize>, column: Option<&str>| {
        let remedy = "give the vacuum at the hose, or write `off` where the hose was off";
        text.refuse(place, column, Problem::HoseOnWithoutVacuum, remedy)
    };
    let Some(place) = columns.vacuum else {
        return match hose {
            Hose::Off => Ok(None),
            Hose::On => Err(without_vacuum(line[columns.hose.index].1.clone(), Some(columns.hose.column.name))),
        };
    };
    let field = Field::new(text, line, place);
    match (hose, field.value.is_empty()) {
        (Hose::Off, true) => return Ok(None),
        (Hose::On, true) => return Err(without_vacuum(field.place, Some(place.column.name))),
        (Hose::Off, false) => {
            let remedy = "leave it empty, or write `on` if the hose was on";
            return Err(field.refuse(Problem::VacuumWithHoseOff(field.value.to_owned()), remedy));
        }
        (Hose::On, false) => {}
    }
    let kpa = match (place.column.tells, atmosphere_kpa) {
        (Tells::Vacuum(Pressure::Depression(to_kpa)), _) => {
            let range = || format!("0 to {:.1} {}", GREATEST_DEPRESSION_KPA / to_kpa(1.0), place.column.unit);
            let other = "; a gauge that shows so much has another unit: see which, and name the column `vacuum_kPa`, \
                         `vacuum_mbar` or `vacuum_mmHg` by it";
            field.number(to_kpa, 0.0..=GREATEST_DEPRESSION_KPA, range, other)
        }
        (Tells::Vacuum(Pressure::Absolute), Some(atmosphere)) => {
            let range = || format!("0 to {atmosphere} kPa absolute, the atmosphere of this file");
            let other = "; if the gauge shows 0 while the engine stands, name the column `vacuum_kPa`";
            field.number(|absolute| atmosphere - absolute, 0.0..=atmosphere, range, other)
        }
        _ => unreachable!("an absolute column without an atmosphere was refused with the header"),
    };
    kpa.map(Some)
}
