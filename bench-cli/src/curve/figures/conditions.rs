//! The operating conditions: what the core's model gives at each, the plain sum beside it, and why the two differ.
//!
//! The plain sum is what people reckon in their heads: initial timing, and the whole of each part that has begun. That these
//! are the parts of an advance is common practice and has no source.

use crate::quantity::of_core::{angle_degrees, crank_degrees, depression, kpa_of, rpm_of, speed};
use crate::quantity::units::KPA_PER_INHG;
use crate::record::figures::{ConditionFigures, Parts};
use crate::sheet::{self, Sheet, SheetError, Throttle};
use crate::words::number::whole;
use bobweight::quantity::{CrankSpeed, Depression};
use bobweight::{AdvanceModel, Breakdown, Phase, VacuumSource, throttle_counts_as_closed};

/// One operating condition. Its depression is what the vacuum unit, or the sensor, is given.
#[derive(Clone, Debug, PartialEq)]
pub struct Condition {
    /// What a person calls it.
    pub name: String,
    /// Of the crank.
    pub speed: CrankSpeed,
    /// Of the manifold.
    pub depression: Depression,
    /// Whether the throttle is closed; matters to a ported hose.
    pub throttle_closed: bool,
    /// From which to which total the engine runs well here; none where the sheet does not say.
    pub expected: Option<Expected>,
}

/// A range of total advance, and who says so.
#[derive(Clone, Debug, PartialEq)]
pub struct Expected {
    /// Crank degrees BTDC, the lesser first.
    pub crank_degrees: [f64; 2],
    /// A book with its page, or a trial.
    pub by: String,
}

/// The conditions of a sheet. Where it has none, every speed at which the centrifugal curve bends and the greatest speed, each
/// with the hose off and with the whole vacuum advance: no use of the engine is presumed.
///
/// # Errors
/// A key that is missing.
pub fn conditions(sheet: &Sheet) -> Result<Vec<Condition>, SheetError> {
    let idle = &sheet.engine.idle_crank_rpm;
    if sheet.operating_conditions.is_empty() {
        return bends(sheet);
    }
    let read = |condition: &sheet::OperatingCondition| {
        let crank_rpm = *condition.speed_crank_rpm.get()?;
        let throttle_closed = match condition.throttle.value() {
            Some(throttle) => *throttle == Throttle::Closed,
            None => throttle_counts_as_closed(speed(crank_rpm), speed(*idle.get()?)),
        };
        Ok(Condition {
            name: condition.name.get()?.clone(),
            speed: speed(crank_rpm),
            depression: depression(*condition.depression_kpa.get()?),
            throttle_closed,
            expected: match condition.expected_crank_degrees.value() {
                Some(&crank_degrees) => Some(Expected { crank_degrees, by: condition.expected_by.get()?.clone() }),
                None => None,
            },
        })
    };
    sheet.operating_conditions.iter().map(read).collect()
}

/// Where the curve bends, and the greatest speed, without vacuum and with all of it.
fn bends(sheet: &Sheet) -> Result<Vec<Condition>, SheetError> {
    let model = sheet::model(sheet)?;
    let curve = &model.settings().centrifugal;
    let mut speeds: Vec<CrankSpeed> = (0..curve.count()).map(|i| curve.breakpoint(i).0).collect();
    let greatest = speed(*sheet.engine.greatest_speed_crank_rpm.get()?);
    speeds.retain(|speed| *speed < greatest);
    speeds.push(greatest);
    let mut depressions = vec![("hose off", Depression::MIN)];
    depressions.extend(all_vacuum(&model).map(|full| ("whole vacuum", full)));
    let mut conditions = Vec::new();
    for (hose, depression) in depressions {
        conditions.extend(speeds.iter().map(|&speed| Condition {
            name: format!("{} crank rpm, {hose}", whole(rpm_of(speed))),
            speed,
            depression,
            throttle_closed: false,
            expected: None,
        }));
    }
    Ok(conditions)
}

/// What the engine does in a condition. Between the two speeds at which cranking and running meet, it runs.
pub fn phase_at(model: &AdvanceModel, speed: CrankSpeed) -> Phase {
    let speeds = &model.settings().speeds;
    if speed < bobweight::STOPPED_BELOW {
        Phase::Stopped
    } else if speed < speeds.cranking_below {
        Phase::Cranking
    } else if speed > speeds.no_spark_above {
        Phase::Overspeed
    } else {
        Phase::Running
    }
}

impl From<&Breakdown> for Parts {
    fn from(breakdown: &Breakdown) -> Self {
        Self {
            initial_crank_degrees: crank_degrees(breakdown.initial),
            centrifugal_crank_degrees: crank_degrees(breakdown.centrifugal),
            vacuum_crank_degrees: crank_degrees(breakdown.vacuum),
            sum_crank_degrees: angle_degrees(breakdown.sum),
            total_crank_degrees: crank_degrees(breakdown.total),
        }
    }
}

/// The figures of a condition.
pub fn figures(model: &AdvanceModel, condition: &Condition) -> ConditionFigures {
    let phase = phase_at(model, condition.speed);
    let given = model.advance(phase, condition.speed, Some(condition.depression), condition.throttle_closed);
    let plain = given.and_then(|given| plain_sum(model, condition, phase, &given));
    let mut why = Vec::new();
    match (&given, &plain) {
        (Some(given), Some(plain)) => why = differences(model, condition, phase, given, plain),
        _ => why.push(no_spark(model, phase)),
    }
    ConditionFigures {
        name: condition.name.clone(),
        speed_crank_rpm: rpm_of(condition.speed),
        depression_kpa: kpa_of(condition.depression),
        throttle_closed: condition.throttle_closed,
        parts: given.as_ref().map(Parts::from),
        plain_sum: plain.as_ref().map(Parts::from),
        why,
    }
}

/// Where the centrifugal curve is greatest: the first breakpoint of that height.
pub fn all_centrifugal(model: &AdvanceModel) -> CrankSpeed {
    let curve = &model.settings().centrifugal;
    let (_, greatest) = curve.range();
    let found = (0..curve.count()).map(|i| curve.breakpoint(i)).find(|(_, advance)| *advance == greatest);
    found.map_or(CrankSpeed::MAX, |(speed, _)| speed)
}

/// Where the vacuum curve is greatest; none for an engine without one.
pub fn all_vacuum(model: &AdvanceModel) -> Option<Depression> {
    let curve = &model.settings().vacuum.as_ref()?.curve;
    let (_, greatest) = curve.range();
    (0..curve.count()).map(|i| curve.breakpoint(i)).find(|(_, advance)| *advance == greatest).map(|(at, _)| at)
}

/// The model itself, asked where each part that has begun is all in.
fn plain_sum(model: &AdvanceModel, condition: &Condition, phase: Phase, given: &Breakdown) -> Option<Breakdown> {
    let settings = model.settings();
    let at_rest = settings.centrifugal.breakpoint(0).1;
    let started = phase == Phase::Running && given.centrifugal != at_rest;
    let speed = if started { all_centrifugal(model) } else { settings.centrifugal.breakpoint(0).0 };
    let begun = settings.vacuum.as_ref().is_some_and(|vacuum| {
        phase == Phase::Running && vacuum.curve.at(condition.depression) != vacuum.curve.breakpoint(0).1
    });
    let depression = if begun { all_vacuum(model) } else { Some(Depression::MIN) };
    // People count the initial timing for the starter, too.
    model.advance(Phase::Running, speed, depression, condition.throttle_closed)
}

fn differences(
    model: &AdvanceModel,
    condition: &Condition,
    phase: Phase,
    given: &Breakdown,
    plain: &Breakdown,
) -> Vec<String> {
    let settings = model.settings();
    let mut why = Vec::new();
    if phase == Phase::Cranking {
        if given.initial != plain.initial {
            why.push(format!(
                "while cranking the ignition gives its cranking advance of {} and nothing else; the initial timing is {}",
                given.initial, plain.initial
            ));
        }
        return why;
    }
    if given.centrifugal != plain.centrifugal {
        why.push(format!(
            "the centrifugal advance gives {:.1} of its {} here; all of it comes at {}",
            crank_degrees(given.centrifugal),
            plain.centrifugal,
            all_centrifugal(model)
        ));
    }
    if given.vacuum != plain.vacuum
        && let Some(at) = all_vacuum(model)
    {
        why.push(format!(
            "the vacuum advance gives {:.1} of its {} here; all of it comes at {}",
            crank_degrees(given.vacuum),
            plain.vacuum,
            depression_in_words(kpa_of(at))
        ));
    }
    if let Some(vacuum) = &settings.vacuum
        && vacuum.source == VacuumSource::Ported
        && condition.throttle_closed
        && vacuum.curve.at(condition.depression) != given.vacuum
    {
        why.push(
            "a ported hose has no vacuum while the throttle is closed, so no vacuum advance is counted".to_owned(),
        );
    }
    if given.clamped {
        why.push(format!(
            "the sum of {} breaks a limit, and the clamp holds it at {}: a curve that needs the clamp is wrong",
            given.sum, given.total
        ));
    }
    if condition.speed < settings.speeds.running_from {
        why.push(format!(
            "so says an engine that runs; one that the starter turns is cranking up to {}, with its cranking advance of {}",
            settings.speeds.running_from, settings.cranking
        ));
    }
    why
}

fn no_spark(model: &AdvanceModel, phase: Phase) -> String {
    match phase {
        Phase::Overspeed => {
            format!("no spark: this is above `no_spark_above`, {}", model.settings().speeds.no_spark_above)
        }
        _ => format!("no spark: below {} the engine counts as stopped", bobweight::STOPPED_BELOW),
    }
}

/// A depression in both of the units that gauges have.
pub fn depression_in_words(kpa: f64) -> String {
    format!("{kpa:.1} kPa ({:.1} inHg) depression", kpa / KPA_PER_INHG)
}
