//! An invented engine: its curve, its pickup and its coil, worked out and checked when it is compiled.

use crate::engine::{SECOND_FLANK, TIMING_FLANK};
use crate::timer::Timer;
use bobweight::quantity::{Acceleration, Advance, CrankAngle, CrankSpeed, Duration, Duty, Voltage};
use bobweight::{
    AdvanceModel, AdvanceSettings, CentrifugalCurve, Dwell, DwellCurve, DwellSettings, Firmware, Limits, PhaseSpeeds,
    Pickup, PickupSettings, Timetable, must,
};
use bobweight_driver::CompareTimer;

const fn degrees(degrees: i32) -> Advance {
    must!(Advance::from_degrees(degrees))
}

const fn angle(degrees: i32) -> CrankAngle {
    must!(CrankAngle::from_degrees(degrees))
}

const fn rpm(rpm: i32) -> CrankSpeed {
    must!(CrankSpeed::from_rpm(rpm))
}

const fn volts(volts: i32) -> Voltage {
    must!(Voltage::from_volts(volts))
}

const fn micros(micros: u32) -> Duration {
    must!(Duration::from_micros(micros))
}

const MODEL: AdvanceModel = must!(AdvanceModel::new(AdvanceSettings {
    initial: degrees(10),
    cranking: degrees(SECOND_FLANK.cast_signed()),
    held: degrees(10),
    centrifugal: must!(CentrifugalCurve::new(&[
        (rpm(900), degrees(0)),
        (rpm(1700), degrees(14)),
        (rpm(3120), degrees(24))
    ])),
    vacuum: None,
    limits: Limits {
        greatest: degrees(36),
        greatest_without_vacuum: degrees(36),
        greatest_cranking: degrees(10),
        least: degrees(0),
    },
    speeds: PhaseSpeeds {
        cranking_below: rpm(400),
        running_from: rpm(450),
        no_spark_above: rpm(5200),
        spark_again_below: rpm(5100),
    },
}));

const PICKUP: Pickup = must!(Pickup::new(PickupSettings {
    pulses_in_two_turns: 4,
    angle: angle(TIMING_FLANK.cast_signed()),
    second_flank_angle: Some(angle(SECOND_FLANK.cast_signed())),
    moving_flank: None,
    bounce: micros(0),
    lag: micros(0),
    greatest_acceleration: must!(Acceleration::from_bits(6_000)),
    pulse_spread: must!(CrankAngle::from_tenths(5)),
}));

const DWELL: Dwell = must!(Dwell::new(DwellSettings {
    curve: must!(DwellCurve::new(&[(volts(8), micros(9_000)), (volts(14), micros(3_100))])),
    largest: micros(10_000),
    largest_duty: must!(Duty::from_bits(Duty::STEP / 10 * 7)),
    burn_time: micros(1_500),
}));

/// For this firmware's timer, and an order that is in it within 300 us.
pub static TIMETABLE: Timetable =
    must!(Timetable::new(&MODEL, &PICKUP, &DWELL, &Firmware { tick_rate: Timer::TICK_RATE, latency: micros(300) },));
