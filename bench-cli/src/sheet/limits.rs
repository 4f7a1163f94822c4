//! `[limits]`, `[tolerance]` and the operating conditions: what is asked of the curve, and of the bench.

use super::curve::ADVANCES;
use super::error::SheetError;
use super::key::Key;
use super::table::Table;
use super::value::Bounds;
use crate::quantity::{ANGLE, SPEED};
use bobweight::Limit;
use serde::{Serialize, Serializer};

/// `[limits]`: what the engine allows of the sum of all advances.
#[derive(Clone, Debug)]
pub struct Limits(Vec<Key<f64>>);

impl Limits {
    /// The key of a limit, crank degrees BTDC.
    pub fn of(&self, limit: Limit) -> &Key<f64> {
        &self.0[limit as usize]
    }
}

impl Serialize for Limits {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_map(Limit::ALL.map(|limit| (format!("{}_crank_degrees", limit.key()), self.of(limit))))
    }
}

/// `[tolerance]`: how far from the curve a spark may come.
#[derive(Clone, Debug, Serialize)]
pub struct Tolerance {
    /// Crank degrees, at a settled speed on the bench.
    pub bench_crank_degrees: Key<f64>,
    /// Crank degrees, on a ramp.
    pub bench_ramp_crank_degrees: Key<f64>,
    /// Crank degrees, by timing light.
    pub light_crank_degrees: Key<f64>,
}

/// Where the throttle is.
#[derive(Clone, Copy, Debug, Eq, PartialEq, Serialize)]
pub enum Throttle {
    /// At its stop: a ported hose has no vacuum.
    Closed,
    /// Anywhere else.
    Open,
}

/// One `[[operating_condition]]`.
#[derive(Clone, Debug, Serialize)]
pub struct OperatingCondition {
    /// What a person calls it.
    pub name: Key<String>,
    /// Crank rpm.
    pub speed_crank_rpm: Key<f64>,
    /// kPa below the atmosphere.
    pub depression_kpa: Key<f64>,
    /// Left out: closed up to 1.15 times idle, else open; the core has the rule.
    pub throttle: Key<Throttle>,
    /// From which to which total advance the engine runs well here, crank degrees BTDC; left out where nobody says.
    pub expected_crank_degrees: Key<[f64; 2]>,
    /// Who says so: a book with its page, or a trial of the owner's.
    pub expected_by: Key<String>,
}

pub(super) fn limits(table: Table) -> Result<Limits, SheetError> {
    let key = |limit: Limit| table.quantity(limit.key(), &ANGLE, ADVANCES);
    let limits = Limits(Limit::ALL.into_iter().map(key).collect::<Result<_, _>>()?);
    table.finish()?;
    Ok(limits)
}

pub(super) fn tolerance(table: Table) -> Result<Tolerance, SheetError> {
    const TOLERANCES: Bounds = ("0.05 crank degrees", "20 crank degrees");
    let tolerance = Tolerance {
        bench_crank_degrees: table.quantity("bench", &ANGLE, TOLERANCES)?,
        bench_ramp_crank_degrees: table.quantity("bench_ramp", &ANGLE, TOLERANCES)?,
        light_crank_degrees: table.quantity("light", &ANGLE, TOLERANCES)?,
    };
    table.finish()?;
    Ok(tolerance)
}

pub(super) fn operating_condition(table: Table, atmosphere_kpa: f64) -> Result<OperatingCondition, SheetError> {
    let pressure = table.pressure("depression")?;
    let condition = OperatingCondition {
        name: table.text("name", "pumping")?,
        speed_crank_rpm: table.quantity("speed", &SPEED, ("30 crank rpm", "20000 crank rpm"))?,
        depression_kpa: pressure.map(|pressure| pressure.depression_kpa(atmosphere_kpa)),
        throttle: table.word("throttle", &[("closed", Throttle::Closed), ("open", Throttle::Open)])?,
        expected_crank_degrees: table.quantities("expected", &ANGLE, ADVANCES)?,
        expected_by: table.text("expected_by", "workshop manual, page 31")?,
    };
    table.finish()?;
    if let Some([from, to]) = condition.expected_crank_degrees.value() {
        if from > to {
            return Err(condition.expected_crank_degrees.refuse(
                "begins above its end",
                "the lesser advance comes first",
                "write it the other way round",
            ));
        }
        // A range that nobody stands for is no range.
        condition.expected_by.get()?;
    }
    if let Some(kpa) = condition.depression_kpa.value()
        && !(0.0..=110.0).contains(kpa)
    {
        return Err(condition.depression_kpa.refuse(
            format!("is {kpa:.1} kPa below the atmosphere of {atmosphere_kpa:.1} kPa"),
            "is out of range",
            "write a depression from 0 to 110 kPa",
        ));
    }
    Ok(condition)
}
