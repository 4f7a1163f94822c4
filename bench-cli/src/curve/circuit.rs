//! The circuit of a coil: current and energy by the dwell.
//!
//! A coil, its ballast and its wiring are a series circuit of resistance R and inductance L. Behind a driver that drops Vd, a
//! battery of V volts drives `I(t) = (V - Vd)/R (1 - exp(-R t / L))`, so that the current I takes
//! `t = -(L/R) ln(1 - R I / (V - Vd))`, and is never reached where `R I >= V - Vd` (any electrical-engineering text).

/// The series circuit of a coil.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Circuit {
    /// Ohms of the whole loop.
    pub resistance_ohm: f64,
    /// Henries.
    pub inductance_h: f64,
    /// Volts across the driver.
    pub driver_drop_volts: f64,
}

impl Circuit {
    /// Amperes after a dwell in seconds, from nothing.
    pub fn current_a(&self, volts: f64, dwell_s: f64) -> f64 {
        let exponent = -self.resistance_ohm * dwell_s / self.inductance_h;
        (volts - self.driver_drop_volts).max(0.0) / self.resistance_ohm * -exponent.exp_m1()
    }

    /// Joules that the coil holds after a dwell in seconds, from nothing: half L I squared (any electrical-engineering text).
    pub fn energy_j(&self, volts: f64, dwell_s: f64) -> f64 {
        self.inductance_h * self.current_a(volts, dwell_s).powi(2) / 2.0
    }

    /// What heats every ohm in the circuit during a dwell in seconds, from nothing: the square of the current summed up over the time,
    /// A2 s. With `I = Ie (1 - exp(-t/T))` that is `Ie^2 (t - 2 T (1 - exp(-t/T)) + T/2 (1 - exp(-2 t/T)))`.
    pub fn square_ampere_seconds(&self, volts: f64, dwell_s: f64) -> f64 {
        let time_constant = self.inductance_h / self.resistance_ohm;
        let end = (volts - self.driver_drop_volts).max(0.0) / self.resistance_ohm;
        let risen = |times: f64| -(-times * dwell_s / time_constant).exp_m1();
        end.powi(2) * (dwell_s - 2.0 * time_constant * risen(1.0) + time_constant / 2.0 * risen(2.0))
    }

    /// Seconds until a current; nothing where it is never reached.
    pub fn dwell_s(&self, volts: f64, current_a: f64) -> Option<f64> {
        let driving = volts - self.driver_drop_volts;
        let share = self.resistance_ohm * current_a / driving;
        (driving > 0.0 && share < 1.0).then(|| -self.inductance_h / self.resistance_ohm * (-share).ln_1p())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const COIL: Circuit = Circuit { resistance_ohm: 1.2, inductance_h: 6e-3, driver_drop_volts: 1.0 };

    #[test]
    fn the_energy_is_half_l_i_squared() {
        // Reckoned by hand: 6 mH at 5 A hold 0.006 * 25 / 2 = 0.075 J.
        let dwell = COIL.dwell_s(12.0, 5.0).expect("it is reached");
        assert!((COIL.energy_j(12.0, dwell) - 0.075).abs() < 1e-12);
        // 12 V less 1 V through 1.2 ohm are 9.1667 A at last; after 1.5 ms of L/R = 5 ms, 1 - exp(-0.3) = 0.25918 of them,
        // 2.3758 A, and 0.006 * 5.6446 / 2 = 16.93 mJ.
        assert!((COIL.energy_j(12.0, 1.5e-3) * 1e3 - 16.93).abs() < 0.01);
        assert!(COIL.energy_j(0.5, 1.5e-3).abs() < 1e-15, "no battery, no energy");
    }

    /// The closed form against the square of the current summed up in small steps. Source: the definition.
    #[test]
    fn what_heats_an_ohm_is_the_square_of_the_current_summed_up() {
        for (volts, dwell) in [(6.0, 9e-3), (12.0, 4e-3), (14.0, 0.5e-3), (16.0, 50e-3)] {
            const STEPS: u32 = 200_000;
            let step = dwell / f64::from(STEPS);
            let summed: f64 =
                (0..STEPS).map(|i| COIL.current_a(volts, (f64::from(i) + 0.5) * step).powi(2) * step).sum();
            let closed = COIL.square_ampere_seconds(volts, dwell);
            assert!((closed / summed - 1.0).abs() < 1e-8, "{volts} V, {dwell} s: {closed}, summed {summed}");
        }
        assert!(COIL.square_ampere_seconds(0.5, 1.0).abs() < 1e-15, "no battery, no heat");
    }
}
