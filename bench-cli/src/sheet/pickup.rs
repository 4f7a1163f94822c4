//! `[pickup]` and `[ignition]`: the pulses, and the box that makes sparks of them.

use super::error::SheetError;
use super::key::Key;
use super::table::Table;
use crate::quantity::{ACCELERATION, ANGLE, POSITION, SHARE, SPEED, TIME};
use serde::Serialize;

/// The shaft that the pickup reads.
#[derive(Clone, Copy, Debug, Eq, PartialEq, Serialize)]
pub enum PickupPlace {
    /// In the old distributor.
    Distributor,
    /// On the camshaft.
    Cam,
    /// On the crankshaft.
    Crank,
}

/// How the pickup works.
#[derive(Clone, Copy, Debug, Eq, PartialEq, Serialize)]
pub enum PickupKind {
    /// A vane through a magnetic gap, before a Hall sensor: two flanks at fixed angles.
    Vane,
    /// A disc with slots through a light barrier: two flanks at fixed angles.
    Slot,
    /// A reluctor: a coil past which a magnet or a tooth moves, behind a conditioner that makes flanks of its voltage. One flank is the zero
    /// crossing, which holds its angle; the other, where the voltage passes a threshold, comes before it and moves with the speed.
    Coil,
    /// The old contacts, as a switch for the ignition alone: they open at the timing flank and close at the other, and bounce.
    Points,
}

/// Which way the input moves at the edge that times the spark.
#[derive(Clone, Copy, Debug, Eq, PartialEq, Serialize)]
pub enum Flank {
    /// From low to high.
    Rising,
    /// From high to low.
    Falling,
}

/// `[pickup]`.
#[derive(Clone, Debug, Serialize)]
pub struct Pickup {
    /// The shaft that it reads.
    pub place: Key<PickupPlace>,
    /// How it works.
    pub kind: Key<PickupKind>,
    /// Evenly spaced pulses in two turns of the crank, 1 to 12.
    pub pulses_in_two_turns: Key<u32>,
    /// The edge that times the spark.
    pub flank: Key<Flank>,
    /// Crank degrees before top dead centre of that edge.
    pub angle_crank_degrees: Key<f64>,
    /// Crank degrees before top dead centre of the other edge; left out where there is none.
    pub second_flank_angle_crank_degrees: Key<f64>,
    /// Crank degrees before top dead centre between which the other flank of a coil moves, the earliest first; left out where only its
    /// zero crossing is used.
    pub moving_flank_crank_degrees: Key<[f64; 2]>,
    /// Crank rpm from which on a coil's signal is strong enough for both flanks.
    pub signal_from_crank_rpm: Key<f64>,
    /// Seconds from the flank to the edge that the ignition sees.
    pub lag_s: Key<f64>,
    /// Seconds after a flank in which points bounce, and no other flank is looked at. Points have it; others do not bounce.
    pub bounce_s: Key<f64>,
    /// Crank rpm a second.
    pub greatest_acceleration_crank_rpm_per_s: Key<f64>,
    /// Crank degrees by which pulses may lie uneven.
    pub pulse_spread_crank_degrees: Key<f64>,
}

/// `[ignition]`: the box under test.
#[derive(Clone, Debug, Serialize)]
pub struct Ignition {
    /// Seconds.
    pub tick_s: Key<f64>,
    /// Seconds from an edge to the earliest order that it can still give.
    pub latency_s: Key<f64>,
    /// The clock's error as a fraction of one.
    pub clock_tolerance: Key<f64>,
}

pub(super) fn pickup(table: Table) -> Result<Pickup, SheetError> {
    const PLACES: &[(&str, PickupPlace)] =
        &[("distributor", PickupPlace::Distributor), ("cam", PickupPlace::Cam), ("crank", PickupPlace::Crank)];
    const KINDS: &[(&str, PickupKind)] = &[
        ("vane", PickupKind::Vane),
        ("slot", PickupKind::Slot),
        ("coil", PickupKind::Coil),
        ("points", PickupKind::Points),
    ];
    let pickup = Pickup {
        place: table.word("place", PLACES)?,
        kind: table.word("kind", KINDS)?,
        pulses_in_two_turns: table.whole("pulses_in_two_turns", 1..=12)?,
        flank: table.word("flank", &[("rising", Flank::Rising), ("falling", Flank::Falling)])?,
        angle_crank_degrees: table.quantity("angle", &POSITION, ("0 crank degrees BTDC", "720 crank degrees BTDC"))?,
        second_flank_angle_crank_degrees: table.quantity(
            "second_flank_angle",
            &POSITION,
            ("30 crank degrees ATDC", "90 crank degrees BTDC"),
        )?,
        moving_flank_crank_degrees: table.quantities(
            "moving_flank",
            &POSITION,
            ("0 crank degrees BTDC", "720 crank degrees BTDC"),
        )?,
        signal_from_crank_rpm: table.quantity("signal_from", &SPEED, ("1 crank rpm", "20000 crank rpm"))?,
        lag_s: table.quantity("lag", &TIME, ("0 us", "500 us"))?,
        bounce_s: table.quantity("bounce", &TIME, ("0 us", "2 ms"))?,
        greatest_acceleration_crank_rpm_per_s: table.quantity(
            "greatest_acceleration",
            &ACCELERATION,
            ("100 crank rpm per s", "100000 crank rpm per s"),
        )?,
        pulse_spread_crank_degrees: table.quantity("pulse_spread", &ANGLE, ("0 crank degrees", "90 crank degrees"))?,
    };
    table.finish()?;
    Ok(pickup)
}

pub(super) fn ignition(table: Table) -> Result<Ignition, SheetError> {
    let ignition = Ignition {
        tick_s: table.quantity("tick", &TIME, ("5 ns", "1000 us"))?,
        latency_s: table.quantity("latency", &TIME, ("0 us", "1000 us"))?,
        clock_tolerance: table.quantity("clock_tolerance", &SHARE, ("0 %", "5 %"))?,
    };
    table.finish()?;
    Ok(ignition)
}
