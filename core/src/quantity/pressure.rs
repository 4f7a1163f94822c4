use super::{in_units, quantity};
use fixed::types::U16F16;

quantity! {
    /// A depression: how far the manifold's pressure lies below the atmosphere.
    ///
    /// 0 to 110 kPa in steps of 1/65 536. No depression is full throttle, or an engine that stands.
    Depression(U16F16, u32), "depression", "kPa depression", 0, 110
}

quantity! {
    /// A pressure as a sensor measures it: absolute, or how far below the atmosphere.
    ///
    /// 0 to 200 kPa in steps of 1/65 536.
    Pressure(U16F16, u32), "pressure", "kPa", 0, 200
}

in_units!(Depression, from_kpa, "kPa");
in_units!(Pressure, from_kpa, "kPa");
