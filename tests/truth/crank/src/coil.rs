//! A coil behind a driver: its current and energy by the time that it is on.

/// A series circuit of a copper winding, a ballast and an inductance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Coil {
    /// Ohms of the winding at 20 degrees Celsius.
    pub winding: f64,
    /// Ohms in series with it.
    pub ballast: f64,
    /// Henries.
    pub inductance: f64,
    /// Volts across the driver.
    pub drop: f64,
}

/// Of copper, for each kelvin from 20 degrees Celsius: IEC 60028 (from memory).
pub const COPPER_PER_KELVIN: f64 = 0.003_93;

impl Coil {
    /// Amperes after so many seconds with a battery of so many volts and a winding so many kelvin above 20 degrees Celsius:
    /// `(V - Vd)/R (1 - exp(-R t / L))`, any electrical-engineering text.
    pub fn current(&self, volts: f64, seconds: f64, kelvin: f64) -> f64 {
        let r = self.winding * (1.0 + COPPER_PER_KELVIN * kelvin) + self.ballast;
        (volts - self.drop).max(0.0) / r * -(-r * seconds / self.inductance).exp_m1()
    }

    /// Joules: half L I squared.
    pub fn energy(&self, volts: f64, seconds: f64, kelvin: f64) -> f64 {
        self.inductance * self.current(volts, seconds, kelvin).powi(2) / 2.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The circuit's own equation, `L di/dt = V - Vd - R i`, gone through in small steps.
    #[test]
    fn the_current_solves_the_equation_of_its_circuit() {
        let coil = Coil { winding: 1.2, ballast: 0.6, inductance: 6e-3, drop: 1.0 };
        for (volts, kelvin) in [(8.0, 100.0), (14.0, 0.0), (16.0, -40.0)] {
            let r = 1.2 * (1.0 + 0.003_93 * kelvin) + 0.6;
            let step = 1e-8;
            let mut current = 0.0;
            for _ in 0..400_000 {
                let middle = current + step / 2.0 * (volts - 1.0 - r * current) / 6e-3;
                current += step * (volts - 1.0 - r * middle) / 6e-3;
            }
            assert!((coil.current(volts, 4e-3, kelvin) - current).abs() < 1e-6, "{current}");
        }
    }
}
