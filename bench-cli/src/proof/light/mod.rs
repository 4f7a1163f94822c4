//! The proof with a timing light: readings on the engine, or on the bench, become an error at idle and at the top, what the
//! error is made of, and a verdict.
//!
//! The advance that is wanted at a reading is computed by the core alone. An error is early where positive.

mod estimate;
mod halt;
mod plan;
mod readings;
mod result;
mod scatter;
mod sentences;
mod settled;
mod steps;
#[cfg(test)]
mod tests;

pub(crate) use estimate::{LIGHT_LAG_US, SPEED_READ_WITHIN};
pub use halt::{Next, next};
pub(crate) use plan::{Proposal, proposals};
pub(crate) use readings::FIRST_LINE;
pub use readings::{LightReadings, LightReadingsError, Said, parse, text};
pub(crate) use readings::{lag_us, read};
pub(crate) use scatter::student;

pub(crate) use steps::on_the_road;

use crate::curve::figures::conditions::phase_at;
use crate::distributor::readings::{Hose, Reading};
use crate::quantity::of_core::{crank_degrees, depression, speed};
use crate::record::light::{Cause, CauseKind, LightResult, Place, Read, SCHEMA};
use crate::record::precision::{DEGREES, MICROSECONDS, to_places};
use crate::record::sheet::SheetIdentity;
use crate::record::verdict::Verdict;
use crate::sheet::{self, Sheet, SheetError};
use crate::words::number::whole;
use bobweight::{AdvanceModel, throttle_counts_as_closed};

/// What the chosen curve wants at a reading, crank degrees before top dead centre; nothing where there is no spark.
pub(crate) fn wanted(model: &AdvanceModel, idle: f64, crank_rpm: f64, depression_kpa: f64) -> Option<f64> {
    let at = speed(crank_rpm);
    let throttle_closed = throttle_counts_as_closed(at, speed(idle));
    let given = model.advance(phase_at(model, at), at, Some(depression(depression_kpa)), throttle_closed)?;
    Some(crank_degrees(given.total))
}

/// A reading beside what is wanted there.
#[derive(Clone, Debug, PartialEq)]
struct Compared {
    line: usize,
    hose: Hose,
    crank_rpm: f64,
    depression_kpa: f64,
    read: f64,
    wanted: f64,
    /// By how much the wanted advance changes within what the tachometer may be out, crank degrees.
    by_speed: f64,
    /// Early positive; a known lag of the light is taken out.
    error: f64,
}

fn compare(model: &AdvanceModel, idle: f64, lag_us: f64, reading: &Reading) -> Option<Compared> {
    let (crank_rpm, depression_kpa) = (reading.crank_rpm, reading.depression_kpa.unwrap_or(0.0));
    let at = |crank_rpm: f64| wanted(model, idle, crank_rpm, depression_kpa);
    let wanted = at(crank_rpm)?;
    let around = [-SPEED_READ_WITHIN, SPEED_READ_WITHIN].map(|off| at(crank_rpm + off).unwrap_or(wanted));
    let light_shows_late = estimate::degrees_of_lag(crank_rpm, lag_us);
    Some(Compared {
        line: reading.line,
        hose: reading.hose,
        crank_rpm,
        depression_kpa,
        read: reading.crank_degrees,
        wanted,
        by_speed: (around[1] - around[0]) / 2.0,
        error: reading.crank_degrees + light_shows_late - wanted,
    })
}

/// Why light readings cannot be judged.
#[derive(Debug, thiserror::Error)]
pub enum LightError {
    /// The sheet.
    #[error(transparent)]
    Sheet(#[from] SheetError),
    /// Too few readings for offset and lag.
    #[error(
        "{name}: {found} readings with the hose off, at speeds {} crank rpm apart, cannot tell a wrong setting from a lag", whole(*apart)
    )]
    TooFew {
        /// The readings.
        name: String,
        /// Readings with the hose off.
        found: usize,
        /// From the lowest speed to the highest.
        apart: f64,
    },
    /// A reading where the ignition makes no spark.
    #[error("{name}, line {line}: at {} crank rpm this ignition makes no spark", whole(*crank_rpm))]
    NoSpark {
        /// The readings.
        name: String,
        /// The line.
        line: usize,
        /// The speed.
        crank_rpm: f64,
    },
}

/// Fewest readings with the hose off: one more than offset and lag.
const FEWEST: usize = 3;
/// Narrowest range of speeds that tells an offset from a lag, crank rpm.
const NARROWEST: f64 = 500.0;

/// Judges the readings against the chosen curve of a sheet.
///
/// # Errors
/// A key that is missing, an engine whose ignition is not driven, too few readings, a reading where there is no spark.
pub fn judge(sheet: &Sheet, readings: &LightReadings) -> Result<LightResult, LightError> {
    sheet::driven(sheet)?;
    let model = sheet::model(sheet)?;
    let idle = *sheet.engine.idle_crank_rpm.get()?;
    let tolerance = *sheet.tolerance.light_crank_degrees.get()?;
    let lag_us = readings.said.light_lag_us;
    let name = &readings.readings.name;
    let compared = readings.readings.readings.iter().map(|reading| {
        compare(&model, idle, lag_us.unwrap_or(0.0), reading).ok_or_else(|| LightError::NoSpark {
            name: name.clone(),
            line: reading.line,
            crank_rpm: reading.crank_rpm,
        })
    });
    let compared = compared.collect::<Result<Vec<_>, _>>()?;
    let off: Vec<&Compared> = compared.iter().filter(|one| one.hose == Hose::Off).collect();
    let speeds = || off.iter().map(|one| one.crank_rpm);
    let apart = speeds().fold(f64::NEG_INFINITY, f64::max) - speeds().fold(f64::INFINITY, f64::min);
    let too_few = || LightError::TooFew { name: name.clone(), found: off.len(), apart: apart.max(0.0) };
    if off.len() < FEWEST || apart < NARROWEST {
        return Err(too_few());
    }
    let groups = result::groups(&compared);
    let (fitted, apart) = result::explained(&groups).ok_or_else(too_few)?;
    let judged = |(at, group): (usize, &Vec<&Compared>)| {
        result::place(group, &fitted, apart == Some(at), tolerance, lag_us.is_some())
    };
    let places: Vec<Place> = groups.iter().enumerate().map(judged).collect();
    let more = settled::more(&fitted, &groups, tolerance);
    let facts = sentences::Facts { sheet, model: &model, fitted: &fitted, places: &places, said: &readings.said, more };
    let mut causes = sentences::causes(&facts)?;
    let mut verdict = result::verdict(&places, &causes);
    // What failed already needs no second reason.
    if verdict != Verdict::Fail {
        if let Some(broken) = halt::broken_limit(sheet, &readings.said, &model, &compared)? {
            verdict = if broken.for_certain { Verdict::Fail } else { Verdict::Undecided };
            causes.push(Cause { kind: CauseKind::Limit, sentence: broken.sentence });
        }
        if let Some(sentence) = halt::stray_reading(&compared, tolerance, &readings.said) {
            verdict = Verdict::of_all([verdict, Verdict::Undecided]);
            causes.push(Cause { kind: CauseKind::Place, sentence });
        }
    }
    Ok(LightResult {
        schema: SCHEMA.to_owned(),
        tool_version: env!("CARGO_PKG_VERSION").to_owned(),
        sheet: SheetIdentity::of(sheet)?,
        readings_file: name.clone(),
        readings_digest: Some(readings.digest.clone()),
        on_bench: readings.said.on_bench,
        light: readings.said.kind,
        light_lag_us: lag_us,
        tolerance_crank_degrees: tolerance,
        scatter_crank_degrees: to_places(fitted.scatter, DEGREES),
        further_readings: more.map(|more| more.count()),
        offset_crank_degrees_early: fitted.offset.to_places(DEGREES),
        lag_us: fitted.lag_us.to_places(MICROSECONDS),
        readings: compared.iter().map(Read::from).collect(),
        opening: sentences::opening(&places),
        places,
        causes,
        verdict,
        next_steps: steps::next_steps(sheet, readings.said.on_bench, verdict)?,
        not_proven: sentences::not_proven(&readings.said),
    })
}
