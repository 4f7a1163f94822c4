use super::quantity;
use fixed::types::{U8F8, U16F16};

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
