//! `[starter]` and `[battery]`: what turns the engine before it runs, and what feeds its ignition.

use super::error::SheetError;
use super::key::Key;
use super::table::Table;
use crate::quantity::{RATIO, SPEED, VOLTAGE};
use serde::Serialize;

/// `[starter]`.
#[derive(Clone, Debug, Serialize)]
pub struct Starter {
    /// Crank rpm over whole compressions, at its best: battery full, engine warm.
    pub speed_crank_rpm: Key<f64>,
    /// The fastest over the slowest speed within one compression.
    pub swing: Key<f64>,
}

/// `[battery]`: the least and the greatest voltage that the ignition sees.
#[derive(Clone, Debug, Serialize)]
pub struct Battery {
    /// While the starter turns the engine.
    pub cranking_volts: Key<[f64; 2]>,
    /// While the engine runs.
    pub running_volts: Key<[f64; 2]>,
}

pub(super) fn starter(table: Table) -> Result<Starter, SheetError> {
    let starter = Starter {
        speed_crank_rpm: table.quantity("speed", &SPEED, ("30 crank rpm", "2000 crank rpm"))?,
        swing: table.quantity("swing", &RATIO, ("1 to 1", "10 to 1"))?,
    };
    table.finish()?;
    Ok(starter)
}

pub(super) fn battery(table: Table) -> Result<Battery, SheetError> {
    let battery = Battery {
        cranking_volts: table.quantities("cranking", &VOLTAGE, ("2 V", "32 V"))?,
        running_volts: table.quantities("running", &VOLTAGE, ("4 V", "32 V"))?,
    };
    table.finish()?;
    Ok(battery)
}
