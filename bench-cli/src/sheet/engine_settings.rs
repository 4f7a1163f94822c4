//! From the sheet to everything that an ignition keeps of it.

use super::error::SheetError;
use super::key::Key;
use super::settings::in_range;
use super::{Atmosphere, Flank, SensorKind, Settings, Sheet};
use bobweight::image::EngineSettings;
use bobweight::quantity::{OutOfRange, Pressure, SensorVoltage};
use bobweight::{CurveError, PressureSensor, SensorCurve, SensorError, SensorSettings};

/// What an ignition keeps of a sheet: the settings, the direction of the timing flank, and the sensor of an engine with
/// vacuum advance.
///
/// # Errors
/// A key that is missing, and a value that the core refuses, each with its line.
pub fn engine_settings(sheet: &Sheet, settings: &Settings) -> Result<EngineSettings, SheetError> {
    let sensor = if settings.model.settings().vacuum.is_some() { Some(sensor(sheet)?) } else { None };
    Ok(EngineSettings {
        model: settings.model,
        pickup: settings.pickup,
        timing_flank_rises: *sheet.pickup.flank.get()? == Flank::Rising,
        dwell: settings.dwell,
        sensor,
    })
}

fn sensor(sheet: &Sheet) -> Result<PressureSensor, SheetError> {
    let table = &sheet.sensor;
    let kind = match table.kind.get()? {
        SensorKind::Differential => bobweight::SensorKind::Differential,
        SensorKind::Absolute => bobweight::SensorKind::Absolute(match table.atmosphere.get()? {
            Atmosphere::ReadAtKeyOn => bobweight::Atmosphere::ReadAtKeyOn,
            Atmosphere::Constant(kpa) => bobweight::Atmosphere::Constant(in_range(&table.atmosphere, pressure(*kpa))?),
        }),
    };
    let points = table.calibration.get()?.iter().map(|point| Ok((volts(point.volts)?, pressure(point.kpa)?)));
    let points = in_range(&table.calibration, points.collect::<Result<Vec<_>, OutOfRange>>())?;
    let calibration = SensorCurve::new(&points).map_err(|error| refuse_calibration(&table.calibration, error))?;
    let [lower, upper] = *table.band_volts.get()?;
    let band = (in_range(&table.band_volts, volts(lower))?, in_range(&table.band_volts, volts(upper))?);
    PressureSensor::new(SensorSettings { kind, calibration, band }).map_err(|error| {
        let refuse = |place: &super::Place| {
            place.refuse(format!("will not do: {error}"), "here", "look at the sensor's data sheet")
        };
        match error {
            SensorError::Band(..) => refuse(table.band_volts.place()),
            SensorError::Atmosphere(_) => refuse(table.atmosphere.place()),
            _ => refuse(table.calibration.place()),
        }
    })
}

fn refuse_calibration<T>(key: &Key<T>, error: CurveError) -> SheetError {
    key.refuse(format!("will not do: {error}"), "here", "copy volts and pressures from the sensor's data sheet")
}

fn volts(value: f64) -> Result<SensorVoltage, OutOfRange> {
    SensorVoltage::from_bits(super::settings::unsigned(value, SensorVoltage::STEP))
}

fn pressure(kpa: f64) -> Result<Pressure, OutOfRange> {
    Pressure::from_bits(super::settings::unsigned(kpa, Pressure::STEP))
}
