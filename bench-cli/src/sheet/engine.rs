//! `[engine]` and `[distributor]`: what the ignition is for.

use super::error::SheetError;
use super::key::Key;
use super::table::Table;
use super::value::wrong_quantity;
use crate::quantity_text::{SPEED, parse_supply};

/// Which way a shaft turns.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub enum Rotation {
    /// With the hands of a clock.
    Clockwise,
    /// Against them.
    Anticlockwise,
}

const ROTATIONS: &[(&str, Rotation)] =
    &[("clockwise", Rotation::Clockwise), ("anticlockwise", Rotation::Anticlockwise)];

/// `[engine]`.
#[derive(Clone, Debug)]
pub struct Engine {
    /// How many cylinders, 1 to 12.
    pub cylinders: Key<u32>,
    /// Every cylinder once, in the order of their sparks.
    pub firing_order: Key<Vec<u32>>,
    /// Seen from the pulley end.
    pub rotation: Key<Rotation>,
    /// Crank rpm.
    pub idle_crank_rpm: Key<f64>,
    /// Crank rpm. The bench goes as high as this.
    pub greatest_speed_crank_rpm: Key<f64>,
    /// Nominal volts; negative earth.
    pub supply_volts: Key<f64>,
}

/// What the old distributor's weights and vacuum plate do now.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub enum OldAdvance {
    /// They are fixed in one place.
    Locked,
    /// They still move.
    Working,
}

/// `[distributor]`.
#[derive(Clone, Debug)]
pub struct Distributor {
    /// Seen from above the cap.
    pub rotation: Key<Rotation>,
    /// Whether weights and vacuum plate are locked.
    pub old_advance: Key<OldAdvance>,
}

pub(super) fn engine(table: Table) -> Result<Engine, SheetError> {
    let engine = Engine {
        cylinders: table.whole("cylinders", 1..=12)?,
        firing_order: table.wholes("firing_order", 1..=12)?,
        rotation: table.word("rotation", ROTATIONS)?,
        idle_crank_rpm: table.quantity("idle", &SPEED, ("100 crank rpm", "5000 crank rpm"))?,
        greatest_speed_crank_rpm: table.quantity("greatest_speed", &SPEED, ("500 crank rpm", "20000 crank rpm"))?,
        supply_volts: table.read_text("supply", "12 V negative earth", |place, text| {
            parse_supply(text).map_err(|error| wrong_quantity(place, &error))
        })?,
    };
    table.finish()?;
    Ok(engine)
}

pub(super) fn distributor(table: Table) -> Result<Distributor, SheetError> {
    let distributor = Distributor {
        rotation: table.word("rotation", ROTATIONS)?,
        old_advance: table.word("old_advance", &[("locked", OldAdvance::Locked), ("working", OldAdvance::Working)])?,
    };
    table.finish()?;
    Ok(distributor)
}
