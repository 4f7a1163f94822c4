//! The circuit of a coil: its current, energy and heat by the time that it is on.
//!
//! A coil, its ballast and its wiring are a series circuit of resistance R and inductance L. Behind a driver that drops Vd, a
//! battery of V volts drives `I(t) = (V - Vd)/R (1 - exp(-R t / L))`, and the coil then holds `L I^2 / 2` (any
//! electrical-engineering text). An ignition does not compute it; whoever proves its sparks does, on any machine the same bits.

mod exponential;

use crate::divide::floored;
use crate::quantity::{Current, Duration, Energy, Inductance, Power, Resistance, Voltage};
use exponential::one_less_exponential_q32;

/// The series circuit of a coil.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Circuit {
    /// The primary winding, of copper, at 20 degrees Celsius.
    pub winding: Resistance,
    /// All that is in series with it and does not warm like copper: ballast and wiring.
    pub ballast: Resistance,
    /// The primary winding's.
    pub inductance: Inductance,
    /// Across the driver while it conducts.
    pub driver_drop: Voltage,
}

/// What copper gains in resistance for each kelvin above 20 degrees Celsius, in 1/100 000 of its resistance there: 0.393 %
/// (IEC 60028, standard resistance of annealed copper; from memory).
pub const COPPER_PER_KELVIN: i32 = 393;

impl Circuit {
    /// The same circuit with its winding so many kelvin above 20 degrees Celsius, -200 to 1 000; rounded to 1 mohm away from what it is there,
    /// so that a bound stays one.
    #[must_use]
    pub const fn warmed(&self, kelvin: i32) -> Self {
        let kelvin = if kelvin < -200 { -200 } else { kelvin };
        let kelvin = if kelvin > 1_000 { 1_000 } else { kelvin };
        let share = 100_000 + COPPER_PER_KELVIN as i64 * kelvin as i64;
        let up = if kelvin > 0 { 99_999 } else { 0 };
        let winding = floored(self.winding.bits() as i64 * share + up, 100_000);
        Self { winding: Resistance::saturating_from_bits(winding as u32), ..*self }
    }

    /// Of the whole loop, at least 1 mohm.
    const fn loop_resistance(&self) -> u64 {
        let sum = self.winding.bits() as u64 + self.ballast.bits() as u64;
        if sum > 0 { sum } else { 1 }
    }

    /// What flows at last, in uA, at most 2^31.
    const fn final_microamperes(&self, battery: Voltage) -> u64 {
        let driving = (battery.bits() as u64).saturating_sub(self.driver_drop.bits() as u64);
        // Volts in 1/256 over milliohms: 1e9 / 256 uA to one of the first.
        let current = floored((driving * 3_906_250) as i64, self.loop_resistance() as i64) as u64;
        if current > 1 << 31 { 1 << 31 } else { current }
    }

    /// R t / L in 1/2^32; saturates where the exponential has long been nothing.
    #[inline(never)]
    const fn time_constants_q32(&self, on: Duration) -> u64 {
        // Milliohms times nanoseconds over microhenries are millionths. 2^46 of the product, as 200 ohm for 0.35 s, make 70 even with 1 H,
        // where nothing is left of the exponential.
        let product = self.loop_resistance() * on.bits() as u64;
        let product = if product > 1 << 46 { 1 << 46 } else { product };
        let q16 = floored((product << 16) as i64, self.inductance.bits() as i64) as u64;
        let q16 = if q16 > 64_000_000 << 16 { 64_000_000 << 16 } else { q16 };
        floored((q16 << 16) as i64, 1_000_000) as u64
    }

    #[inline(never)]
    const fn microamperes(&self, battery: Voltage, on: Duration) -> u64 {
        let share = one_less_exponential_q32(self.time_constants_q32(on));
        (self.final_microamperes(battery) * share) >> 32
    }

    /// What flows after the coil was on for a time, from nothing: within 1 mA and 1/100 000 of the formula, rounded down. A loop through
    /// which more than 2 147 A would flow in the end is taken for one of 2 147 A.
    #[must_use]
    pub const fn current(&self, battery: Voltage, on: Duration) -> Current {
        Current::saturating_from_bits(floored(self.microamperes(battery, on) as i64, 1_000) as u32)
    }

    /// What the coil holds after that time: `L I^2 / 2`, within 2 uJ and 1/10 000 of the formula, rounded down.
    #[must_use]
    pub const fn energy(&self, battery: Voltage, on: Duration) -> Energy {
        let current = self.microamperes(battery, on);
        let current = if current > 1 << 30 { 1 << 30 } else { current };
        // mA^2 times uH / 2e6 are 1e-6 J: under 2^41 times 2^20.
        let square = floored((current * current) as i64, 1_000_000);
        Energy::saturating_from_bits(floored(square * self.inductance.bits() as i64, 2_000_000) as u32)
    }

    /// The heat in the winding while the coil is on for a time in each period: `R/T` times the integral of `I^2`, which is
    /// `I0^2 L/R (x - s - s^2/2)` with `x = R t / L` and `s = 1 - exp(-x)`. Within 1 % where t is at least a tenth of L/R.
    #[must_use]
    pub const fn heat(&self, battery: Voltage, on: Duration, period: Duration) -> Power {
        let x = self.time_constants_q32(on);
        let s = one_less_exponential_q32(x);
        let cube = x.saturating_sub(s).saturating_sub((s * s) >> 33);
        // The share of the period in which the final current would give the same heat: x of it is t.
        let equal_on = if x == 0 { 0 } else { ratio(on.bits() as u64, cube, x) };
        let milliamperes = floored(self.final_microamperes(battery) as i64, 1_000) as u64;
        // mA^2 times mohm are 1e-9 W: under 2^42 times 2^17.
        let full = floored((milliamperes * milliamperes * self.winding.bits() as u64) as i64, 1_000_000) as u64;
        let period = if period.bits() > 0 { period.bits() as u64 } else { 1 };
        let heat = ratio(full, equal_on, period);
        Power::saturating_from_bits(if heat > u32::MAX as u64 { u32::MAX } else { heat as u32 })
    }
}

/// `a b / c`, rounded down, with b and c shortened until the product fits.
#[inline(never)]
const fn ratio(a: u64, b: u64, c: u64) -> u64 {
    let (mut b, mut c) = (b, c);
    while a.leading_zeros() + b.leading_zeros() < 66 {
        b >>= 1;
        c >>= 1;
    }
    floored((a * b) as i64, if c > 0 { c as i64 } else { 1 }) as u64
}

#[cfg(test)]
mod tests;
