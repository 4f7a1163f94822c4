//! A sensor of 20 kPa absolute at 0.5 V and 110 kPa at 4.5 V, invented.

use super::*;
use crate::must;

const fn volts(millivolts: u32) -> SensorVoltage {
    SensorVoltage::saturating_from_bits(millivolts * SensorVoltage::STEP / 1000)
}

const fn kpa(kpa: u32) -> Pressure {
    Pressure::saturating_from_bits(kpa * Pressure::STEP)
}

const fn sensor(kind: SensorKind) -> PressureSensor {
    let calibration = must!(SensorCurve::new(&[(volts(500), kpa(20)), (volts(4500), kpa(110))]));
    must!(PressureSensor::new(SensorSettings { kind, calibration, band: (volts(300), volts(4700)) }))
}

const AT_KEY_ON: PressureSensor = sensor(SensorKind::Absolute(Atmosphere::ReadAtKeyOn));
const AT_LEVEL: PressureSensor = sensor(SensorKind::Absolute(Atmosphere::Constant(kpa(94))));
const DIFFERENTIAL: PressureSensor = sensor(SensorKind::Differential);

/// Output at a pressure, by the straight line 20 kPa + 22.5 kPa a volt.
fn output_at(kpa: f64) -> SensorVoltage {
    #[expect(clippy::cast_sign_loss)]
    SensorVoltage::saturating_from_bits(((0.5 + (kpa - 20.0) / 22.5) * f64::from(SensorVoltage::STEP)).round() as u32)
}

fn in_kpa(depression: Result<Depression, SensorFault>) -> f64 {
    f64::from(depression.expect("a depression").bits()) / f64::from(Depression::STEP)
}

#[test]
fn the_depression_is_counted_from_the_last_atmosphere_read_before_the_first_edge() {
    let mut manifold = Manifold::new(&AT_KEY_ON);
    for atmosphere in [99.0, 98.0] {
        assert!(in_kpa(manifold.depression(output_at(atmosphere), false)) < 0.01);
    }
    for (pressure, wanted) in [(98.0, 0.0), (60.0, 38.0), (33.3, 64.7)] {
        let found = in_kpa(manifold.depression(output_at(pressure), true));
        assert!((found - wanted).abs() < 0.001, "{found} kPa at {pressure} kPa absolute");
    }
}

#[test]
fn after_an_edge_without_a_reading_there_is_no_depression_until_key_off() {
    let mut manifold = Manifold::new(&AT_KEY_ON);
    assert_eq!(manifold.depression(output_at(98.0), true), Err(SensorFault::NoAtmosphere));
    assert_eq!(manifold.depression(output_at(40.0), true), Err(SensorFault::NoAtmosphere));
}

#[test]
fn a_reading_that_no_place_on_earth_has_is_not_taken_for_the_atmosphere() {
    let mut manifold = Manifold::new(&AT_KEY_ON);
    assert_eq!(manifold.depression(output_at(49.0), false), Err(SensorFault::NoAtmosphere));
    assert_eq!(manifold.depression(volts(4650), false).map(Depression::bits), Ok(0), "flat above 110 kPa");
}

#[test]
fn a_pressure_above_the_atmosphere_is_no_depression() {
    let mut manifold = Manifold::new(&AT_LEVEL);
    assert_eq!(manifold.depression(output_at(101.0), true).map(Depression::bits), Ok(0));
    assert!((in_kpa(manifold.depression(output_at(50.0), true)) - 44.0).abs() < 0.001);
}

#[test]
fn a_voltage_outside_the_band_is_a_fault_and_its_ends_are_not() {
    assert_eq!(AT_LEVEL.pressure(volts(299)), Err(SensorFault::BelowBand));
    assert!(AT_LEVEL.pressure(volts(300)).is_ok());
    assert!(AT_LEVEL.pressure(volts(4700)).is_ok());
    assert_eq!(AT_LEVEL.pressure(volts(4701)), Err(SensorFault::AboveBand));
}

#[test]
fn less_than_ten_kilopascal_absolute_is_a_fault_of_an_absolute_sensor_alone() {
    let calibration = must!(SensorCurve::new(&[(volts(0), kpa(0)), (volts(4000), kpa(40))]));
    for (kind, wanted) in [
        (SensorKind::Absolute(Atmosphere::ReadAtKeyOn), Err(SensorFault::TooLittlePressure)),
        (SensorKind::Differential, Ok(9)),
    ] {
        let sensor = must!(PressureSensor::new(SensorSettings { kind, calibration, band: (volts(100), volts(4700)) }));
        assert_eq!(sensor.pressure(volts(999)).map(|pressure| pressure.bits() / Pressure::STEP), wanted);
        assert_eq!(sensor.pressure(volts(1001)).map(|pressure| pressure.bits() / Pressure::STEP), Ok(10));
    }
}

#[test]
fn a_differential_sensor_needs_no_atmosphere() {
    let mut manifold = Manifold::new(&DIFFERENTIAL);
    assert!((in_kpa(manifold.depression(output_at(47.0), true)) - 47.0).abs() < 0.001);
}

#[test]
fn what_makes_no_sensor_is_refused() {
    let settings = *AT_LEVEL.settings();
    let refused = |settings| PressureSensor::new(settings).unwrap_err();
    let band = (volts(4700), volts(300));
    assert_eq!(refused(SensorSettings { band, ..settings }), SensorError::Band(band.0, band.1));
    let calibration = must!(SensorCurve::new(&[(volts(500), kpa(20)), (volts(4500), kpa(20))]));
    assert_eq!(refused(SensorSettings { calibration, ..settings }), SensorError::Falling);
    let kind = SensorKind::Absolute(Atmosphere::Constant(kpa(49)));
    assert_eq!(refused(SensorSettings { kind, ..settings }), SensorError::Atmosphere(kpa(49)));
}
