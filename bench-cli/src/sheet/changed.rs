//! `[changed]`: what of the engine is no longer as it was when its book was written. Each key may be left out.

use super::error::SheetError;
use super::key::Key;
use super::table::Table;
use super::value::Bounds;
use crate::quantity::{ANGLE, COMPRESSION, HEIGHT, LENGTH, OCTANE, SHARE};
use serde::Serialize;

/// Where the plug sits in the chamber now.
#[derive(Clone, Copy, Debug, Eq, PartialEq, Serialize)]
pub enum PlugMoved {
    /// The flame has less far to go.
    NearerTheMiddle,
    /// It has further to go.
    FurtherFromTheMiddle,
}

/// What the chamber is like now.
#[derive(Clone, Copy, Debug, Eq, PartialEq, Serialize)]
pub enum ChamberShape {
    /// The charge lies nearer together.
    MoreCompact,
    /// It lies further apart.
    LessCompact,
}

/// `[changed]`. Pairs are the figure of the book's engine and the figure now.
#[derive(Clone, Debug, Serialize)]
pub struct ChangedEngine {
    /// By how much later the inlet valves close, crank degrees; earlier is negative.
    pub inlet_closes_later_crank_degrees: Key<f64>,
    /// By how much longer inlet and exhaust are open together, crank degrees; shorter is negative.
    pub overlap_longer_crank_degrees: Key<f64>,
    /// Compression ratio.
    pub compression: Key<[f64; 2]>,
    /// Research octane number.
    pub octane_ron: Key<[f64; 2]>,
    /// Alcohol in the fuel as a part of its volume.
    pub alcohol: Key<[f64; 2]>,
    /// Metres above the sea.
    pub height_m: Key<[f64; 2]>,
    /// Millimetres.
    pub bore_mm: Key<[f64; 2]>,
    /// Where the plug sits.
    pub plug: Key<PlugMoved>,
    /// The chamber.
    pub chamber: Key<ChamberShape>,
}

pub(super) fn changed(table: Table) -> Result<ChangedEngine, SheetError> {
    const CAM: Bounds = ("-90 crank degrees", "90 crank degrees");
    let changed = ChangedEngine {
        inlet_closes_later_crank_degrees: table.quantity("inlet_closes_later", &ANGLE, CAM)?,
        overlap_longer_crank_degrees: table.quantity("overlap_longer", &ANGLE, CAM)?,
        compression: table.quantities("compression", &COMPRESSION, ("3 to 1", "20 to 1"))?,
        octane_ron: table.quantities("octane", &OCTANE, ("40 RON", "130 RON"))?,
        alcohol: table.quantities("alcohol", &SHARE, ("0 %", "100 %"))?,
        height_m: table.quantities("height", &HEIGHT, ("-500 m", "6000 m"))?,
        bore_mm: table.quantities("bore", &LENGTH, ("20 mm", "300 mm"))?,
        plug: table.word(
            "plug",
            &[
                ("nearer the middle", PlugMoved::NearerTheMiddle),
                ("further from the middle", PlugMoved::FurtherFromTheMiddle),
            ],
        )?,
        chamber: table.word(
            "chamber",
            &[("more compact", ChamberShape::MoreCompact), ("less compact", ChamberShape::LessCompact)],
        )?,
    };
    table.finish()?;
    Ok(changed)
}
