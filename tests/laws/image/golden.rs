//! The settings whose images `tests/truth/reference/image.py` makes from the layout's table alone.

use bobweight::image::EngineSettings;
use bobweight::quantity::{
    Acceleration, Advance, AdvanceRate, CrankAngle, CrankSpeed, Depression, Duration, Duty, Pressure, SensorVoltage,
    Voltage,
};
use bobweight::{
    AdvanceModel, AdvanceSettings, Atmosphere, CentrifugalCurve, Dwell, DwellCurve, DwellSettings, Limits, MovingFlank,
    PhaseSpeeds, Pickup, PickupSettings, PressureSensor, SensorCurve, SensorKind, SensorSettings, Trim, Vacuum,
    VacuumCurve, VacuumSource,
};
use bobweight_tests::plain::{advance, angle, depression, speed, voltage};
use fixed::types::{I16F16, U16F16};

/// The settings that the rows of the golden images hold, by their names.
pub fn settings(name: &str) -> EngineSettings {
    match name {
        "all parts" => all_parts(),
        "fewest parts" => fewest_parts(),
        "reluctor" => reluctor(),
        "points" => points(),
        "trim" => trim(),
        other => panic!("no such settings: {other}"),
    }
}

const DWELL_NS: [(f64, u32); 5] =
    [(8.0, 9_700_000), (10.0, 5_500_000), (12.0, 3_900_000), (14.0, 3_100_000), (16.0, 2_600_000)];

fn ns(nanoseconds: u32) -> Duration {
    Duration::from_bits(nanoseconds).unwrap()
}

fn dwell(points: &[(f64, u32)], largest_ns: u32, largest_duty: f64, burn_time_ns: u32) -> Dwell {
    let points: Vec<(Voltage, Duration)> = points.iter().map(|&(volts, time)| (voltage(volts), ns(time))).collect();
    Dwell::new(DwellSettings {
        curve: DwellCurve::new(&points).unwrap(),
        largest: ns(largest_ns),
        largest_duty: Duty::new(U16F16::from_num(largest_duty)).unwrap(),
        burn_time: ns(burn_time_ns),
    })
    .unwrap()
}

fn model(advances: [f64; 7], centrifugal: &[(f64, f64)], vacuum: Option<Vacuum>) -> AdvanceModel {
    let [initial, cranking, held, greatest, greatest_without_vacuum, greatest_cranking, least] = advances.map(advance);
    let centrifugal: Vec<(CrankSpeed, Advance)> = centrifugal.iter().map(|&(x, y)| (speed(x), advance(y))).collect();
    AdvanceModel::new(AdvanceSettings {
        initial,
        cranking,
        held,
        centrifugal: CentrifugalCurve::new(&centrifugal).unwrap(),
        vacuum,
        limits: Limits { greatest, greatest_without_vacuum, greatest_cranking, least },
        speeds: PhaseSpeeds {
            cranking_below: speed(400.0),
            running_from: speed(450.0),
            no_spark_above: speed(4_800.0),
            spark_again_below: speed(4_700.0),
        },
    })
    .unwrap()
}

fn pickup(pulses: u8, at: f64, second: Option<CrankAngle>, lag_ns: u32, spread: f64) -> Pickup {
    Pickup::new(PickupSettings {
        pulses_in_two_turns: pulses,
        angle: angle(at),
        second_flank_angle: second,
        moving_flank: None,
        bounce: ns(0),
        lag: ns(lag_ns),
        greatest_acceleration: Acceleration::from_bits(6_000).unwrap(),
        pulse_spread: angle(spread),
    })
    .unwrap()
}

fn all_parts() -> EngineSettings {
    let vacuum: [(Depression, Advance); 2] = [(depression(17.0), advance(0.0)), (depression(40.5), advance(10.0))];
    let volts = |volts: f64| SensorVoltage::new(U16F16::from_num(volts)).unwrap();
    let kpa = |kpa: f64| Pressure::new(U16F16::from_num(kpa)).unwrap();
    EngineSettings {
        model: model(
            [8.0, 7.5, -2.25, 42.0, 30.0, 10.0, -4.0],
            &[(900.0, -3.0), (1_700.5, 12.0), (3_300.0, 20.0)],
            Some(Vacuum {
                curve: VacuumCurve::new(&vacuum).unwrap(),
                source: VacuumSource::Ported,
                greatest_rate: AdvanceRate::new(I16F16::from_num(30)).unwrap(),
            }),
        ),
        pickup: pickup(4, 60.0, Some(angle(-1.5)), 198_000, 0.5),
        timing_flank_rises: true,
        dwell: dwell(&DWELL_NS, 10_000_000, 0.75, 1_500_000),
        sensor: Some(
            PressureSensor::new(SensorSettings {
                kind: SensorKind::Absolute(Atmosphere::Constant(kpa(94.0))),
                calibration: SensorCurve::new(&[(volts(0.5), kpa(20.0)), (volts(4.5), kpa(110.0))]).unwrap(),
                band: (volts(0.25), volts(4.75)),
            })
            .unwrap(),
        ),
    }
}

fn fewest_parts() -> EngineSettings {
    EngineSettings {
        model: model([8.0, 8.0, 8.0, 42.0, 30.0, 10.0, 0.0], &[(900.0, 0.0), (1_700.0, 12.0)], None),
        pickup: pickup(12, 45.0, None, 0, 0.0),
        timing_flank_rises: false,
        dwell: dwell(&DWELL_NS[..2], 10_000_000, 0.5, 0),
        sensor: None,
    }
}

fn reluctor() -> EngineSettings {
    let crossing = pickup(6, 8.5, None, 150_000, 0.25);
    let moving_flank = Some(MovingFlank { earliest: angle(13.25), latest: angle(10.5) });
    EngineSettings {
        model: model([8.5, 8.5, 10.0, 42.0, 30.0, 14.0, 8.5], &[(900.0, 0.0), (1_700.0, 12.0)], None),
        pickup: Pickup::new(PickupSettings { moving_flank, ..*crossing.settings() }).unwrap(),
        timing_flank_rises: true,
        dwell: dwell(&DWELL_NS, 20_000_000, 0.75, 1_500_000),
        sensor: None,
    }
}

fn points() -> EngineSettings {
    let fewest = fewest_parts();
    let pickup = *fewest.pickup.settings();
    EngineSettings { pickup: Pickup::new(PickupSettings { bounce: ns(750_000), ..pickup }).unwrap(), ..fewest }
}

fn trim() -> EngineSettings {
    let fewest = fewest_parts();
    EngineSettings { model: fewest.model.with_trim(Trim::from_tenths(43, 20).unwrap()), ..fewest }
}
