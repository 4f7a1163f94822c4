use super::{in_units, quantity};
use fixed::types::{U8F8, U24F8, U32F0};

quantity! {
    /// A speed of the crank in revolutions a minute.
    ///
    /// 0 to 20 000 crank rpm in steps of 1/256. A distributor turns at half of it.
    CrankSpeed(U24F8, u32), "speed", "crank rpm", 0, 20_000
}

quantity! {
    /// A rate of change of the crank's speed, either way.
    ///
    /// 1 to 100 000 crank rpm a second in whole steps.
    Acceleration(U32F0, u32), "acceleration", "crank rpm per s", 1, 100_000
}

quantity! {
    /// How many times faster than at its slowest a starter turns the crank at its fastest, within one compression.
    ///
    /// 1 to 16 in steps of 1/256.
    Swing(U8F8, u16), "swing", "to 1", 1, 16
}

in_units!(CrankSpeed, from_rpm, "crank rpm");
