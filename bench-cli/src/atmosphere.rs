//! The pressure of the atmosphere at a height: U.S. Standard Atmosphere 1976, below 11 km.
//!
//! `p = p0 (1 - L H / T0) ^ (g0 M / (R L))` with the standard's constants (typed from memory; the Python library `ambiance`,
//! of ICAO's standard, agrees with every figure of the tests).

use crate::quantity_text::STANDARD_ATMOSPHERE_KPA;

/// Temperature at sea level, kelvin.
const SEA_LEVEL_TEMPERATURE: f64 = 288.15;
/// Fall of the temperature with height, kelvin a metre.
const LAPSE: f64 = 0.006_5;
/// Standard gravity, m/s^2.
const GRAVITY: f64 = 9.806_65;
/// Of air, kg/kmol.
const MOLAR_MASS: f64 = 28.964_4;
/// J/(kmol K).
const GAS_CONSTANT: f64 = 8_314.32;

/// Pressure in kPa at a geopotential height in metres above the sea, up to 11 000 m.
pub fn pressure_kpa(height_m: f64) -> f64 {
    let exponent = GRAVITY * MOLAR_MASS / (GAS_CONSTANT * LAPSE);
    STANDARD_ATMOSPHERE_KPA * (1.0 - LAPSE * height_m / SEA_LEVEL_TEMPERATURE).powf(exponent)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::{KPA_PER_INHG, KPA_PER_PSI};

    /// Source: U.S. Standard Atmosphere 1976, recomputed in `tests/reference/atmosphere.py` and held there to `ambiance`.
    #[test]
    fn it_agrees_with_the_recomputed_standard() {
        let rows = include_str!("../../tests/reference/vectors/atmosphere.csv");
        let mut count = 0;
        for row in rows.lines().skip(1) {
            let (height, kpa) = row.split_once(',').expect("two columns");
            let (height, kpa): (f64, f64) = (height.parse().expect("metres"), kpa.parse().expect("kPa"));
            assert!((pressure_kpa(height) - kpa).abs() < 1e-9, "{height} m: {}", pressure_kpa(height));
            count += 1;
        }
        assert!(count >= 10, "{count} rows");
    }

    /// Sources: U.S. Standard Atmosphere 1976 for the pressures; U.S. Army TM 9-4910-677-14&P (vacuum gauge tests) for one
    /// inch of mercury less for each 1 000 ft.
    #[test]
    fn it_has_the_printed_figures() {
        const FOOT: f64 = 0.304_8;
        for (feet, psi, half_digit) in [(0.0, 14.696, 5e-4), (5_000.0, 12.228, 5e-4), (10_000.0, 10.106_5, 5e-5)] {
            assert!((pressure_kpa(feet * FOOT) / KPA_PER_PSI - psi).abs() <= half_digit, "{feet} ft");
        }
        let inches = (STANDARD_ATMOSPHERE_KPA - pressure_kpa(1_000.0 * FOOT)) / KPA_PER_INHG;
        assert!((inches - 1.0).abs() < 0.1, "{inches}");
    }
}
