//! What the page for the first start says of one engine.

use super::conditions::phase_at;
use super::rotor::{self, RotorFigures};
use crate::core_quantity::{crank_degrees, depression, rpm_of, speed};
use crate::sheet::{PickupKind, Rotation, Settings, Sheet, SheetError};
use bobweight::AdvanceModel;

/// The speed besides idle at which the held advance is read, crank rpm.
pub const HELD_READ_AT: f64 = 1_500.0;
/// Whoever reads further out than this stops, crank degrees.
pub const STOP_BEYOND: f64 = 3.0;
/// Steps of the curve that are read, besides idle.
const STEPS: u32 = 6;

/// What the page says.
#[derive(Clone, Debug, PartialEq)]
pub struct FirstStart {
    /// What people call the engine.
    pub name: String,
    /// The sheet's file.
    pub file: String,
    /// Cylinders in the order of their sparks, from cylinder 1.
    pub firing_order: Vec<u32>,
    /// Whether the crank turns clockwise, seen from the pulley end.
    pub crank_clockwise: bool,
    /// Whether the pickup is a coil, which has a polarity.
    pub coil_pickup: bool,
    /// Which flank times the spark.
    pub falling: bool,
    /// The second flank, crank degrees before top dead centre.
    pub second_flank_crank_degrees: Option<f64>,
    /// The held advance, crank degrees before top dead centre.
    pub held_crank_degrees: f64,
    /// The cranking advance, likewise.
    pub cranking_crank_degrees: f64,
    /// Idle, crank rpm.
    pub idle_crank_rpm: f64,
    /// The greatest speed, crank rpm.
    pub greatest_crank_rpm: f64,
    /// The curve with the hose off: crank rpm and crank degrees before top dead centre.
    pub curve: Vec<(f64, f64)>,
    /// The whole vacuum advance and the depression that it takes: crank degrees and kPa; nothing without vacuum advance.
    pub vacuum: Option<(f64, f64)>,
    /// The rotor.
    pub rotor: RotorFigures,
}

/// The page's figures. Everything is asked for that an ignition needs: nobody starts an engine on half a sheet.
///
/// # Errors
/// A key that is missing or wrong.
pub fn first_start(sheet: &Sheet) -> Result<FirstStart, SheetError> {
    let Settings { model, .. } = Settings::from_sheet(sheet)?;
    let rotor = rotor::figures(sheet, &model)?;
    let (idle, greatest) = (*sheet.engine.idle_crank_rpm.get()?, *sheet.engine.greatest_speed_crank_rpm.get()?);
    let settings = model.settings();
    let vacuum = settings.vacuum.as_ref().zip(super::conditions::all_vacuum(&model));
    Ok(FirstStart {
        name: sheet.name.get()?.clone(),
        file: sheet.file().to_owned(),
        firing_order: rotor.towers.clone(),
        crank_clockwise: *sheet.engine.rotation.get()? == Rotation::Clockwise,
        coil_pickup: *sheet.pickup.kind.get()? == PickupKind::Coil,
        falling: *sheet.pickup.flank.get()? == crate::sheet::Flank::Falling,
        second_flank_crank_degrees: sheet.pickup.second_flank_angle_crank_degrees.value().copied(),
        held_crank_degrees: crank_degrees(settings.held),
        cranking_crank_degrees: crank_degrees(settings.cranking),
        idle_crank_rpm: idle,
        greatest_crank_rpm: greatest,
        curve: curve(&model, idle, greatest),
        vacuum: vacuum.map(|(vacuum, at)| (crank_degrees(vacuum.curve.range().1), crate::core_quantity::kpa_of(at))),
        rotor,
    })
}

/// Speeds in round steps from idle up, with the advance that a light shall show with the hose off.
fn curve(model: &AdvanceModel, idle: f64, greatest: f64) -> Vec<(f64, f64)> {
    let top = rpm_of(super::conditions::all_centrifugal(model)).clamp(idle, greatest);
    let step = (((top - idle) / f64::from(STEPS)) / 100.0).ceil().max(1.0) * 100.0;
    let mut speeds = vec![idle];
    let mut next = ((idle / 100.0).floor() + 1.0) * 100.0 + step - 100.0;
    while next < top {
        speeds.push(next);
        next += step;
    }
    if top > idle {
        speeds.push(top);
    }
    let advance = |crank_rpm: &f64| {
        let at = speed(*crank_rpm);
        let breakdown = model.advance(phase_at(model, at), at, Some(depression(0.0)), false)?;
        Some((*crank_rpm, crank_degrees(breakdown.total)))
    };
    speeds.iter().filter_map(advance).collect()
}
