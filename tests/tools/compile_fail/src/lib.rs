//! Short ways to write settings in a constant, as firmware does.

use bobweight::must;
use bobweight::quantity::{Acceleration, Advance, CrankAngle, CrankSpeed, Duration, Duty, TickRate, Voltage};
use bobweight::{
    AdvanceModel, AdvanceSettings, CentrifugalCurve, Dwell, DwellCurve, DwellSettings, Firmware, Limits, MovingFlank,
    PhaseSpeeds, Pickup, PickupSettings, Timetable,
};

/// A speed in crank rpm.
pub const fn speed(crank_rpm: i32) -> CrankSpeed {
    must!(CrankSpeed::from_rpm(crank_rpm))
}

/// An advance in crank degrees.
pub const fn advance(crank_degrees: i32) -> Advance {
    must!(Advance::from_degrees(crank_degrees))
}

/// An angle in crank degrees before top dead centre.
pub const fn angle(crank_degrees: i32) -> CrankAngle {
    must!(CrankAngle::from_degrees(crank_degrees))
}

/// A time in microseconds.
pub const fn micros(micros: u32) -> Duration {
    must!(Duration::from_micros(micros))
}

/// A voltage in volts.
pub const fn volts(volts: i32) -> Voltage {
    must!(Voltage::from_volts(volts))
}

/// Right settings of an advance model, to be spoilt one at a time.
pub const ADVANCE: AdvanceSettings = AdvanceSettings {
    initial: advance(8),
    cranking: advance(8),
    held: advance(8),
    centrifugal: must!(CentrifugalCurve::new(&[
        (speed(900), advance(0)),
        (speed(1700), advance(12)),
        (speed(3300), advance(20)),
    ])),
    vacuum: None,
    limits: Limits {
        greatest: advance(42),
        greatest_without_vacuum: advance(30),
        greatest_cranking: advance(10),
        least: advance(0),
    },
    speeds: PhaseSpeeds {
        cranking_below: speed(400),
        running_from: speed(450),
        no_spark_above: speed(4800),
        spark_again_below: speed(4700),
    },
};

/// Right settings of a pickup, to be spoilt one at a time.
pub const PICKUP: PickupSettings = PickupSettings {
    pulses_in_two_turns: 4,
    angle: angle(60),
    second_flank_angle: Some(angle(8)),
    moving_flank: None,
    bounce: micros(0),
    lag: micros(0),
    greatest_acceleration: must!(Acceleration::from_bits(6000)),
    pulse_spread: angle(0),
};

/// Where a reluctor's other flank moves.
pub const fn moving(earliest: CrankAngle, latest: CrankAngle) -> Option<MovingFlank> {
    Some(MovingFlank { earliest, latest })
}

/// Right settings of a reluctor, to be spoilt one at a time.
pub const RELUCTOR: PickupSettings =
    PickupSettings { angle: angle(8), second_flank_angle: None, moving_flank: moving(angle(18), angle(13)), ..PICKUP };

/// Right settings of a dwell, to be spoilt one at a time.
pub const DWELL: DwellSettings = DwellSettings {
    curve: must!(DwellCurve::new(&[(volts(8), micros(9_700)), (volts(12), micros(3_900)), (volts(16), micros(2_600))])),
    largest: micros(10_000),
    // 70 %.
    largest_duty: must!(Duty::from_bits(Duty::STEP / 10 * 7)),
    burn_time: micros(1_500),
};

/// A right firmware, to be spoilt one figure at a time.
pub const FIRMWARE: Firmware = Firmware { tick_rate: must!(TickRate::from_bits(2_000_000)), latency: micros(100) };

/// The timetable of settings; a compile error where it is a constant and the sparks cannot be timed.
pub const fn timetable(
    advance: AdvanceSettings,
    pickup: PickupSettings,
    dwell: DwellSettings,
    firmware: Firmware,
) -> Timetable {
    must!(Timetable::new(
        &must!(AdvanceModel::new(advance)),
        &must!(Pickup::new(pickup)),
        &must!(Dwell::new(dwell)),
        &firmware
    ))
}
