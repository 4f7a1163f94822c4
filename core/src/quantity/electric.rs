use super::{in_units, quantity};
use fixed::types::{U8F8, U16F16, U32F0};

quantity! {
    /// A voltage of the battery.
    ///
    /// 0 to 64 V in steps of 1/256.
    Voltage(U8F8, u16), "voltage", "V", 0, 64
}

quantity! {
    /// The share of a period in which the coil may be on.
    ///
    /// 0 to 1 in steps of 1/65 536; a setting is refused above 0.9, see [`crate::Dwell`].
    Duty(U16F16, u32), "duty", "of the period", 0, 1
}

quantity! {
    /// A voltage of a sensor's output.
    ///
    /// 0 to 8 V in steps of 1/65 536: fine enough that no converter's step is rounded away.
    SensorVoltage(U16F16, u32), "sensor voltage", "V", 0, 8
}

quantity! {
    /// A resistance of a coil's circuit.
    ///
    /// 0 to 100 ohm in steps of 1 mohm.
    Resistance(U32F0, u32), "resistance", "mohm", 0, 100_000
}

quantity! {
    /// The inductance of a coil's primary winding.
    ///
    /// 1 uH to 1 H in steps of 1 uH.
    Inductance(U32F0, u32), "inductance", "uH", 1, 1_000_000
}

quantity! {
    /// A current through a coil.
    ///
    /// 0 to 1 000 A in steps of 1 mA.
    Current(U32F0, u32), "current", "mA", 0, 1_000_000
}

quantity! {
    /// The energy that a coil holds.
    ///
    /// 0 to 1 000 J in steps of 1 uJ.
    Energy(U32F0, u32), "energy", "uJ", 0, 1_000_000_000
}

quantity! {
    /// A power that becomes heat.
    ///
    /// 0 to 1 000 kW in steps of 1 mW.
    Power(U32F0, u32), "power", "mW", 0, 1_000_000_000
}

in_units!(Voltage, from_volts, "V");
in_units!(SensorVoltage, from_volts, "V");
