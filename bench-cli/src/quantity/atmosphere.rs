//! The standard atmosphere: what pressure a place above the sea has.
//!
//! Source: U.S. Standard Atmosphere 1976, its layer below 11 km. The constants are from memory; the Python library
//! `ambiance` agrees with the pressures.

use crate::quantity::STANDARD_ATMOSPHERE_KPA;

/// Kelvin at geopotential 0.
const SEA_LEVEL_KELVIN: f64 = 288.15;
/// Kelvin a metre of geopotential height.
const LAPSE_KELVIN_PER_M: f64 = 0.0065;
/// Metres a second squared.
const GRAVITY: f64 = 9.806_65;
/// Kilograms a kilomole.
const MOLAR_MASS: f64 = 28.9644;
/// Joules a kelvin and kilomole, as that standard has it.
const GAS_CONSTANT: f64 = 8_314.32;
/// The standard's radius of the earth, metres.
const EARTH_RADIUS_M: f64 = 6_356_766.0;

/// The geopotential height of a place, metres. Of 6 000 m it takes 6.
pub fn geopotential_m(height_m: f64) -> f64 {
    EARTH_RADIUS_M * height_m / (EARTH_RADIUS_M + height_m)
}

/// The pressure at a geopotential height, kPa; for heights of -500 to 11 000 m.
pub fn pressure_kpa(geopotential_m: f64) -> f64 {
    let exponent = GRAVITY * MOLAR_MASS / (GAS_CONSTANT * LAPSE_KELVIN_PER_M);
    let share = 1.0 - LAPSE_KELVIN_PER_M * geopotential_m / SEA_LEVEL_KELVIN;
    STANDARD_ATMOSPHERE_KPA * libm::pow(share, exponent)
}
