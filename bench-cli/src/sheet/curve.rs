//! `[advance]`, `[centrifugal]` and `[vacuum]`: the chosen curve.

use super::error::SheetError;
use super::key::Key;
use super::points::{Column, points};
use super::table::Table;
use super::value::Bounds;
use crate::quantity::{ANGLE, ANGLE_RATE, SPEED};
use serde::Serialize;

/// The advances that the core can hold.
pub(super) const ADVANCES: Bounds = ("-30 crank degrees", "90 crank degrees");
const SPEEDS: Bounds = ("30 crank rpm", "20000 crank rpm");

/// As far as the core lets a trim go.
const TRIMS: Bounds = ("0 crank degrees", "10 crank degrees");

/// `[advance]`.
#[derive(Clone, Debug, Serialize)]
pub struct Advance {
    /// Crank degrees BTDC, before centrifugal and vacuum advance.
    pub initial_crank_degrees: Key<f64>,
    /// Crank degrees BTDC while cranking.
    pub cranking_crank_degrees: Key<f64>,
    /// Crank rpm below which a running engine is cranking again.
    pub cranking_below_crank_rpm: Key<f64>,
    /// Crank rpm from which a cranking engine runs.
    pub running_from_crank_rpm: Key<f64>,
    /// Crank degrees BTDC while the advance is held for setting the ignition on the engine.
    pub held_crank_degrees: Key<f64>,
    /// Crank rpm above which there is no spark.
    pub no_spark_above_crank_rpm: Key<f64>,
    /// Crank rpm below which sparks come back.
    pub spark_again_below_crank_rpm: Key<f64>,
    /// Crank degrees by which a trim input may make a running engine's spark later.
    pub trim_later_crank_degrees: Key<f64>,
    /// Crank degrees by which it may make it earlier.
    pub trim_earlier_crank_degrees: Key<f64>,
}

/// A breakpoint of the centrifugal curve.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct CentrifugalBreakpoint {
    /// Crank rpm.
    pub crank_rpm: f64,
    /// Crank degrees added to the initial timing.
    pub crank_degrees: f64,
}

/// A breakpoint of the vacuum curve.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct VacuumBreakpoint {
    /// kPa below the atmosphere.
    pub depression_kpa: f64,
    /// Crank degrees added.
    pub crank_degrees: f64,
}

/// `[centrifugal]`.
#[derive(Clone, Debug, Serialize)]
pub struct Centrifugal {
    /// 2 to 16, rising in speed; the ends are flat.
    pub breakpoints: Key<Vec<CentrifugalBreakpoint>>,
}

/// Where the vacuum is taken.
#[derive(Clone, Copy, Debug, Eq, PartialEq, Serialize)]
pub enum VacuumSource {
    /// Below the throttle: always there.
    Manifold,
    /// Just above the closed throttle: gives nothing while it is closed.
    Ported,
    /// The engine has no vacuum advance.
    None,
}

/// `[vacuum]`.
#[derive(Clone, Debug, Serialize)]
pub struct Vacuum {
    /// Where it is taken.
    pub source: Key<VacuumSource>,
    /// 2 to 16, rising in depression; the ends are flat. None where the source is `none`.
    pub breakpoints: Key<Vec<VacuumBreakpoint>>,
    /// Crank degrees a second at which advance is added at most.
    pub greatest_rate_crank_degrees_per_s: Key<f64>,
}

pub(super) fn advance(table: Table) -> Result<Advance, SheetError> {
    let advance = Advance {
        initial_crank_degrees: table.quantity("initial", &ANGLE, ADVANCES)?,
        cranking_crank_degrees: table.quantity("cranking", &ANGLE, ADVANCES)?,
        cranking_below_crank_rpm: table.quantity("cranking_below", &SPEED, SPEEDS)?,
        running_from_crank_rpm: table.quantity("running_from", &SPEED, SPEEDS)?,
        held_crank_degrees: table.quantity("held", &ANGLE, ADVANCES)?,
        no_spark_above_crank_rpm: table.quantity("no_spark_above", &SPEED, SPEEDS)?,
        spark_again_below_crank_rpm: table.quantity("spark_again_below", &SPEED, SPEEDS)?,
        trim_later_crank_degrees: table.quantity("trim_later", &ANGLE, TRIMS)?,
        trim_earlier_crank_degrees: table.quantity("trim_earlier", &ANGLE, TRIMS)?,
    };
    table.finish()?;
    Ok(advance)
}

pub(super) fn centrifugal(table: Table) -> Result<Centrifugal, SheetError> {
    let centrifugal = Centrifugal { breakpoints: centrifugal_breakpoints(&table)? };
    table.finish()?;
    Ok(centrifugal)
}

pub(super) fn vacuum(table: Table, atmosphere_kpa: f64) -> Result<Vacuum, SheetError> {
    const SOURCES: &[(&str, VacuumSource)] =
        &[("manifold", VacuumSource::Manifold), ("ported", VacuumSource::Ported), ("none", VacuumSource::None)];
    let vacuum = Vacuum {
        source: table.word("source", SOURCES)?,
        breakpoints: vacuum_breakpoints(&table, atmosphere_kpa)?,
        greatest_rate_crank_degrees_per_s: table.quantity(
            "greatest_rate",
            &ANGLE_RATE,
            ("1 crank degrees per s", "720 crank degrees per s"),
        )?,
    };
    table.finish()?;
    Ok(vacuum)
}

pub(super) const CENTRIFUGAL_COLUMNS: [Column; 2] =
    [Column::Of(&SPEED, (0.0, 20_000.0)), Column::Of(&ANGLE, (-30.0, 90.0))];

pub(super) const fn vacuum_columns(atmosphere_kpa: f64) -> [Column; 2] {
    [Column::Depression { atmosphere_kpa }, Column::Of(&ANGLE, (-30.0, 90.0))]
}

pub(super) fn centrifugal_breakpoints(table: &Table) -> Result<Key<Vec<CentrifugalBreakpoint>>, SheetError> {
    let read = points(table, "breakpoints", 2..=16, CENTRIFUGAL_COLUMNS)?;
    Ok(read.map(|points| {
        points
            .into_iter()
            .map(|[crank_rpm, crank_degrees]| CentrifugalBreakpoint { crank_rpm, crank_degrees })
            .collect()
    }))
}

pub(super) fn vacuum_breakpoints(table: &Table, atmosphere_kpa: f64) -> Result<Key<Vec<VacuumBreakpoint>>, SheetError> {
    let read = points(table, "breakpoints", 2..=16, vacuum_columns(atmosphere_kpa))?;
    Ok(read.map(|points| {
        let mut read: Vec<_> = points
            .into_iter()
            .map(|[depression_kpa, crank_degrees]| VacuumBreakpoint { depression_kpa, crank_degrees })
            .collect();
        // Absolute pressures rise where depressions fall.
        read.sort_by(|a, b| a.depression_kpa.total_cmp(&b.depression_kpa));
        read
    }))
}
