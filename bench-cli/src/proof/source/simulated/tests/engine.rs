//! An invented engine in the core's own types.

use bobweight::quantity::{
    Acceleration, Advance, AdvanceRate, CrankAngle, CrankSpeed, Depression, Duration, Duty, TickRate, Voltage,
};
use bobweight::{
    AdvanceModel, AdvanceSettings, CentrifugalCurve, Dwell, DwellCurve, DwellSettings, Firmware, Limits, PhaseSpeeds,
    Pickup, PickupSettings, Vacuum, VacuumCurve, VacuumSource,
};

fn advance(degrees: f64) -> Advance {
    Advance::from_bits((degrees * f64::from(Advance::STEP)) as i32).unwrap()
}

fn angle(degrees: f64) -> CrankAngle {
    CrankAngle::from_bits((degrees * f64::from(CrankAngle::STEP)) as i32).unwrap()
}

fn speed(rpm: u32) -> CrankSpeed {
    CrankSpeed::from_bits(rpm * CrankSpeed::STEP).unwrap()
}

fn depression(kpa: f64) -> Depression {
    Depression::from_bits((kpa * f64::from(Depression::STEP)) as u32).unwrap()
}

pub fn volts(volts: u16) -> Voltage {
    Voltage::from_bits(volts * 256).unwrap()
}

fn micros(micros: u32) -> Duration {
    Duration::from_micros(micros).unwrap()
}

/// An invented engine with four pulses in two turns, a vane at 60 and 8 crank degrees BTDC.
pub fn engine() -> (AdvanceModel, Pickup, Dwell, Firmware) {
    let centrifugal = [(900, 0.0), (1700, 12.0), (3300, 20.0)].map(|(x, y)| (speed(x), advance(y)));
    let vacuum = [(16.0, 0.0), (40.0, 10.0)].map(|(x, y)| (depression(x), advance(y)));
    let model = AdvanceModel::new(AdvanceSettings {
        initial: advance(8.0),
        cranking: advance(8.0),
        held: advance(8.0),
        centrifugal: CentrifugalCurve::new(&centrifugal).unwrap(),
        vacuum: Some(Vacuum {
            curve: VacuumCurve::new(&vacuum).unwrap(),
            source: VacuumSource::Manifold,
            greatest_rate: AdvanceRate::from_bits(30 << 16).unwrap(),
        }),
        limits: Limits {
            greatest: advance(42.0),
            greatest_without_vacuum: advance(30.0),
            greatest_cranking: advance(10.0),
            least: advance(0.0),
        },
        speeds: PhaseSpeeds {
            cranking_below: speed(400),
            running_from: speed(450),
            no_spark_above: speed(4800),
            spark_again_below: speed(4700),
        },
    })
    .unwrap();
    let pickup = Pickup::new(PickupSettings {
        pulses_in_two_turns: 4,
        angle: angle(60.0),
        second_flank_angle: Some(angle(8.0)),
        moving_flank: None,
        bounce: Duration::MIN,
        lag: micros(0),
        greatest_acceleration: Acceleration::from_bits(6000).unwrap(),
        pulse_spread: angle(0.5),
    })
    .unwrap();
    let dwell = [(8, 9700), (12, 3900), (16, 2600)].map(|(v, us)| (volts(v), micros(us)));
    let dwell = Dwell::new(DwellSettings {
        curve: DwellCurve::new(&dwell).unwrap(),
        largest: micros(10_000),
        largest_duty: Duty::from_bits(45_875).unwrap(),
        burn_time: micros(1500),
    })
    .unwrap();
    let firmware = Firmware { tick_rate: TickRate::from_bits(2_000_000).unwrap(), latency: micros(100) };
    (model, pickup, dwell, firmware)
}
