//! The engine sheet: what an engine is and what its ignition shall do, in TOML, edited by hand.
//!
//! Every key is read and judged here, also where only a later step uses it. A key that is missing is no error until
//! something needs it: a new sheet is filled in one question after the other. Values are plain `f64` in crank rpm, crank
//! degrees, kPa of depression, seconds, volts and the other units that the fields name; each keeps its place, so that
//! whoever refuses it later can point at file, line and key.

mod answered;
mod around;
mod assumed;
mod changed;
mod coil;
mod curve;
mod digest;
mod driven;
mod dwell_table;
mod edit;
mod engine;
mod engine_settings;
mod error;
mod file;
mod found;
mod guide;
mod key;
mod limits;
mod pickup;
mod points;
mod questions;
mod recorded;
mod rules;
mod sensor;
mod settings;
mod specification;
mod table;
mod value;

pub(crate) use answered::{Answer, stands, started, with_answer};
pub use answered::{Start, begun};
pub(crate) use around::{Battery, Starter};
pub(crate) use changed::{ChamberShape, ChangedEngine, PlugMoved};
pub(crate) use coil::{Ballast, Coil, DWELL_TABLE_VOLTS, DwellPoint};
pub(crate) use curve::{Advance, Centrifugal, CentrifugalBreakpoint, Vacuum, VacuumSource};
pub(crate) use driven::driven;
pub(crate) use dwell_table::with_dwell_table;
pub(crate) use edit::Change;
pub(crate) use engine::{Distributor, Engine, OldAdvance, Rotation};
pub use engine_settings::engine_settings;
pub(crate) use error::FileError;
pub use error::SheetError;
pub use file::read;
pub(crate) use file::{read_text, refuse_existing, replace, sheets_in, write_new};
pub use found::{Changed, Choice, choose, with_found};
pub(crate) use found::{new_sheet, with_readings};
pub use guide::{Form, GUIDES, Guide, Presumed, Reckoned, guide};
pub(crate) use key::{Key, Place};
pub(crate) use limits::{Limits, OperatingCondition, Throttle, Tolerance};
pub(crate) use pickup::{Flank, Ignition, Pickup, PickupKind, PickupPlace};
pub(crate) use questions::{form_of, question_of};
pub(crate) use recorded::Recorded;
pub(crate) use sensor::{Atmosphere, Sensor, SensorKind};
pub use settings::Settings;
pub(crate) use settings::{centrifugal, model, vacuum_curve};
pub use specification::{Specification, Specified};

use key::Source;
use serde::Serialize;
use std::ops::Range;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use table::Table;

/// The version of the sheet that this program writes, and the latest that it reads.
pub const SHEET_VERSION: u32 = 1;

/// An engine sheet.
#[derive(Clone, Debug, Serialize)]
pub struct Sheet {
    #[serde(skip)]
    source: Arc<Source>,
    /// What people call the engine.
    pub name: Key<String>,
    /// The readings of the old distributor, relative to the sheet.
    pub readings: Key<String>,
    /// Which values nobody knows so far.
    pub assumed: Key<Vec<String>>,
    /// `[engine]`.
    pub engine: Engine,
    /// `[distributor]`.
    pub distributor: Distributor,
    /// `[pickup]`.
    pub pickup: Pickup,
    /// `[ignition]`.
    pub ignition: Ignition,
    /// `[advance]`, chosen.
    pub advance: Advance,
    /// `[centrifugal]`, chosen.
    pub centrifugal: Centrifugal,
    /// `[vacuum]`, chosen.
    pub vacuum: Vacuum,
    /// `[sensor]`.
    pub sensor: Sensor,
    /// `[limits]`.
    pub limits: Limits,
    /// `[starter]`.
    pub starter: Starter,
    /// `[battery]`.
    pub battery: Battery,
    /// `[coil]`.
    pub coil: Coil,
    /// Every `[[operating_condition]]`.
    pub operating_conditions: Vec<OperatingCondition>,
    /// `[tolerance]`.
    pub tolerance: Tolerance,
    /// `[changed]`: what is no longer as the book has it.
    pub changed: ChangedEngine,
    /// `[found]`: what the readings gave.
    pub found: Option<Recorded>,
    /// `[specified]`: what a book says.
    pub specified: Option<Recorded>,
}

impl Sheet {
    /// The sheet's name, as messages show it.
    pub fn file(&self) -> &str {
        &self.source.name
    }

    /// The text that was read.
    pub fn text(&self) -> &str {
        &self.source.text
    }

    /// What the book says; empty where the sheet has no `[specified]`.
    pub fn specification(&self) -> Specification {
        self.specified.as_ref().map(Recorded::specification).unwrap_or_default()
    }

    /// The path of the readings, found from where the sheet lies.
    ///
    /// # Errors
    /// Where `readings` is missing.
    pub fn readings_path(&self) -> Result<PathBuf, SheetError> {
        let folder = Path::new(&self.source.name).parent().unwrap_or(Path::new(""));
        Ok(folder.join(self.readings.get()?))
    }
}

/// Reads a sheet. `name` is what messages call it, and where its readings are looked for.
///
/// # Errors
/// Whatever is wrong first: TOML, version, key, value, or a rule between keys.
pub fn parse(name: &str, text: &str) -> Result<Sheet, SheetError> {
    // Editors of some systems put a byte order mark before the first letter.
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let source = Arc::new(Source { name: name.to_owned(), text: text.to_owned() });
    let document = toml_edit::Document::parse(text).map_err(|error| wrong_toml(&source, &error))?;
    let top = Table::root(&source, document.as_table());
    version(&top)?;
    let sensor = sensor::sensor(top.table("sensor")?)?;
    let atmosphere = sensor.sheet_atmosphere_kpa();
    let conditions = top.tables("operating_condition")?.into_iter();
    let recorded = |name, with_intervals| {
        let table = top.table(name)?;
        table.is_there().then(|| recorded::recorded(table, atmosphere, with_intervals)).transpose()
    };
    let sheet = Sheet {
        name: top.text("name", "pump engine")?,
        readings: top.text("readings", "readings.csv")?,
        assumed: assumed::assumed(&top, document.as_table())?,
        engine: engine::engine(top.table("engine")?)?,
        distributor: engine::distributor(top.table("distributor")?)?,
        pickup: pickup::pickup(top.table("pickup")?)?,
        ignition: pickup::ignition(top.table("ignition")?)?,
        advance: curve::advance(top.table("advance")?)?,
        centrifugal: curve::centrifugal(top.table("centrifugal")?)?,
        vacuum: curve::vacuum(top.table("vacuum")?, atmosphere)?,
        sensor,
        limits: limits::limits(top.table("limits")?)?,
        starter: around::starter(top.table("starter")?)?,
        battery: around::battery(top.table("battery")?)?,
        coil: coil::coil(top.table("coil")?)?,
        operating_conditions: conditions
            .map(|table| limits::operating_condition(table, atmosphere))
            .collect::<Result<_, _>>()?,
        tolerance: limits::tolerance(top.table("tolerance")?)?,
        changed: changed::changed(top.table("changed")?)?,
        found: recorded("found", true)?,
        specified: recorded("specified", false)?,
        source: source.clone(),
    };
    top.finish()?;
    rules::judge(&sheet)?;
    Ok(sheet)
}

fn version(top: &Table) -> Result<(), SheetError> {
    let version = top.whole("bobweight_sheet", 1..=u32::MAX)?;
    let found = *version.get()?;
    if found > SHEET_VERSION {
        return Err(version.refuse(
            format!("is {found}, and this bobweight reads sheets up to version {SHEET_VERSION}"),
            "is newer than this program",
            "use the newer bobweight that the sheet was written for",
        ));
    }
    Ok(())
}

fn wrong_toml(source: &Arc<Source>, error: &toml_edit::TomlError) -> SheetError {
    let span = clamp(error.span().unwrap_or(0..0), &source.text);
    let place = Place { source: source.clone(), key: String::new(), span };
    // The parser may say more than one thing, each on a line of its own.
    let said = error.message().lines().collect::<Vec<_>>().join("; ");
    place.refuse(
        format!("is not TOML: {said}"),
        "here",
        "write each line as `key = value`, texts in quotes, tables as `[name]`, and comments after `#`",
    )
}

/// A span that certainly lies in the text and on its letters.
fn clamp(span: Range<usize>, text: &str) -> Range<usize> {
    let fit = |mut at: usize| {
        at = at.min(text.len());
        while !text.is_char_boundary(at) {
            at -= 1;
        }
        at
    };
    let start = fit(span.start);
    start..fit(span.end).max(start)
}

#[cfg(test)]
pub(crate) mod tests;
