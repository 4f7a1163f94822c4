//! Copper: its resistance tells its temperature.
//!
//! The resistance of annealed copper rises by 0.393 % of what it is at 20 C for each kelvin (IEC 60028, ASTM B193, from memory), so that
//! 100 K more make it 1.39 times as great. A winding's temperature by the change of its resistance is the method of IEC 60034-1
//! (from memory).

/// Share of the resistance at 20 C that each kelvin adds.
const A_KELVIN: f64 = bobweight::COPPER_PER_KELVIN as f64 / 1e5;
/// Where that share is counted from, degrees Celsius.
const COUNTED_FROM_C: f64 = 20.0;

/// Ohms of copper at a temperature, from its ohms at another.
pub fn resistance_at(ohm: f64, at_c: f64, wanted_c: f64) -> f64 {
    ohm * share(wanted_c) / share(at_c)
}

/// The temperature, degrees Celsius, at which copper of so many ohms at `at_c` has `wanted_ohm`.
pub fn temperature_of(ohm: f64, at_c: f64, wanted_ohm: f64) -> f64 {
    (wanted_ohm / ohm * share(at_c) - 1.0) / A_KELVIN + COUNTED_FROM_C
}

/// The resistance at a temperature as a share of that at 20 C.
fn share(celsius: f64) -> f64 {
    1.0 + A_KELVIN * (celsius - COUNTED_FROM_C)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: 1.39 times from 20 to 120 C follows from the standards' 0.393 % a kelvin. IEC 60034-1 has 235 as the constant of
    /// copper, (t2 + 235) / (t1 + 235) = R2 / R1 (from memory): 0.3 K apart from ours over 100 K.
    #[test]
    fn a_hundred_kelvin_make_copper_one_and_39_hundredths_as_great() {
        assert!((resistance_at(1.0, 20.0, 120.0) - 1.393).abs() < 1e-12);
        for (cold, hot) in [(20.0, 120.0), (10.0, 70.0), (25.0, 95.0)] {
            let ratio = (hot + 235.0) / (cold + 235.0);
            assert!((temperature_of(3.0, cold, 3.0 * ratio) - hot).abs() < 0.3, "{cold} to {hot}");
        }
    }

    #[test]
    fn temperature_and_resistance_are_each_other_the_other_way_round() {
        for celsius in [-20.0, 0.0, 20.0, 80.0, 150.0] {
            let ohm = resistance_at(3.1, 17.0, celsius);
            assert!((temperature_of(3.1, 17.0, ohm) - celsius).abs() < 1e-9);
        }
    }
}
