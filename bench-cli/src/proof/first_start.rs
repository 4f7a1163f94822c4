//! What the page for the first start says of one engine.

use crate::curve::check::ByTimingFlank;
use crate::curve::figures::rotor::{self};
use crate::curve::sparks::sparks;
use crate::distributor::readings::Hose;
use crate::proof::light;
use crate::quantity::of_core::crank_degrees;
use crate::record::figures::{PickupShaft, RotorFigures};
use crate::record::sparks::SparkAngles;
use crate::sheet::{PickupKind, Rotation, Settings, Sheet, SheetError};
use bobweight::AdvanceModel;
use bobweight::sparks::Cause;

/// The speed besides idle at which the held advance is read, crank rpm.
pub const HELD_READ_AT: f64 = 1_500.0;
/// Whoever reads further out than this stops, crank degrees.
pub const STOP_BEYOND: f64 = 3.0;
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
    /// How the pickup works.
    pub pickup_kind: PickupKind,
    /// Which flank times the spark.
    pub falling: bool,
    /// The second flank, crank degrees before top dead centre.
    pub second_flank_crank_degrees: Option<f64>,
    /// Between which angles a coil's other flank moves, likewise.
    pub moving_flank_crank_degrees: Option<[f64; 2]>,
    /// The held advance, crank degrees before top dead centre.
    pub held_crank_degrees: f64,
    /// The cranking advance, likewise.
    pub cranking_crank_degrees: f64,
    /// Idle, crank rpm.
    pub idle_crank_rpm: f64,
    /// The greatest speed, crank rpm.
    pub greatest_crank_rpm: f64,
    /// Cranking sparks by the timing flank alone.
    pub by_timing_flank: Option<ByTimingFlank>,
    /// What `light` asks for with the hose off, in its order.
    pub hose_off: Vec<ToRead>,
    /// And with the hand pump; empty without vacuum advance.
    pub hand_pump: Vec<ToRead>,
    /// Hot restart and first drive, as `light` says them.
    pub on_the_road: Vec<String>,
    /// The pickup's flank, crank degrees before top dead centre.
    pub flank_crank_degrees: f64,
    /// The shaft that the pickup reads.
    pub pickup: PickupShaft,
    /// The rotor.
    pub rotor: RotorFigures,
    /// Between which angles the starter's sparks come.
    pub starting: Option<SparkAngles>,
}

/// Readings at one speed and depression.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ToRead {
    /// Crank rpm.
    pub crank_rpm: f64,
    /// kPa; 0 with the hose off.
    pub depression_kpa: f64,
    /// What the light shall show, crank degrees before top dead centre.
    pub wanted: f64,
    /// How many.
    pub readings: usize,
}

/// The page's figures. Everything is asked for that an ignition needs: nobody starts an engine on half a sheet.
///
/// # Errors
/// A key that is missing or wrong.
pub fn first_start(sheet: &Sheet) -> Result<FirstStart, SheetError> {
    let all = Settings::from_sheet(sheet)?;
    let sparks = sparks(sheet, &all)?;
    let Settings { model, .. } = all;
    let starting = sparks.row(Cause::Cranking.key()).and_then(|row| row.angles).filter(|angles| !angles.anywhere);
    let mut rotor = rotor::figures(sheet, &model)?;
    rotor.latest_cranking_crank_degrees = starting.map(|angles| angles.latest_crank_degrees);
    let (idle, greatest) = (*sheet.engine.idle_crank_rpm.get()?, *sheet.engine.greatest_speed_crank_rpm.get()?);
    let settings = model.settings();
    let asked = light::proposals(sheet, &[])?;
    let of = |hose: Hose| {
        let mut to_read: Vec<ToRead> = Vec::new();
        for proposal in asked.iter().filter(|proposal| proposal.hose == hose) {
            let depression_kpa = proposal.depression_kpa.unwrap_or(0.0);
            let same = |one: &&mut ToRead| one.is(proposal.crank_rpm, depression_kpa);
            match to_read.last_mut().filter(same) {
                Some(one) => one.readings += 1,
                None => to_read.extend(ToRead::new(&model, idle, proposal.crank_rpm, depression_kpa)),
            }
        }
        to_read
    };
    Ok(FirstStart {
        name: sheet.name.get()?.clone(),
        file: sheet.file().to_owned(),
        firing_order: rotor.towers.clone(),
        crank_clockwise: *sheet.engine.rotation.get()? == Rotation::Clockwise,
        pickup_kind: *sheet.pickup.kind.get()?,
        flank_crank_degrees: *sheet.pickup.angle_crank_degrees.get()?,
        pickup: sheet.pickup.place.get()?.into(),
        falling: *sheet.pickup.flank.get()? == crate::sheet::Flank::Falling,
        second_flank_crank_degrees: sheet.pickup.second_flank_angle_crank_degrees.value().copied(),
        moving_flank_crank_degrees: sheet.pickup.moving_flank_crank_degrees.value().copied(),
        held_crank_degrees: crank_degrees(settings.held),
        cranking_crank_degrees: crank_degrees(settings.cranking),
        idle_crank_rpm: idle,
        greatest_crank_rpm: greatest,
        by_timing_flank: ByTimingFlank::of(sheet, &model),
        hose_off: of(Hose::Off),
        hand_pump: of(Hose::On),
        on_the_road: light::on_the_road(sheet)?,
        rotor,
        starting,
    })
}

impl ToRead {
    fn new(model: &AdvanceModel, idle: f64, crank_rpm: f64, depression_kpa: f64) -> Option<Self> {
        let wanted = light::wanted(model, idle, crank_rpm, depression_kpa)?;
        Some(Self { crank_rpm, depression_kpa, wanted, readings: 1 })
    }

    fn is(&self, crank_rpm: f64, depression_kpa: f64) -> bool {
        (self.crank_rpm - crank_rpm).abs() < 1.0 && (self.depression_kpa - depression_kpa).abs() < 0.1
    }
}
