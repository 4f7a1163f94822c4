//! One set of settings in plain numbers, for the core and for the independent truth.

use bobweight::quantity::{
    Acceleration, Advance, AdvanceRate, CrankAngle, CrankSpeed, Depression, Duration, Duty, TickRate, Voltage,
};
use bobweight::{
    AdvanceModel, AdvanceSettings, CentrifugalCurve, Dwell, DwellCurve, DwellSettings, Firmware, Limits, MovingFlank,
    PhaseSpeeds, Pickup, PickupSettings, Timetable, Vacuum, VacuumCurve, VacuumSource,
};
use bobweight_crank as crank;
use fixed::types::{I16F16, U8F8, U16F16, U24F8};

/// Speeds in crank rpm, angles in crank degrees, depressions in kPa, times in seconds.
#[derive(Clone, Debug)]
#[allow(missing_docs)] // The names are those of the core's settings.
pub struct Plain {
    pub initial: f64,
    pub cranking: f64,
    pub held: f64,
    pub centrifugal: Vec<(f64, f64)>,
    pub vacuum: Vec<(f64, f64)>,
    pub ported: bool,
    pub greatest_rate: f64,
    pub greatest: f64,
    pub greatest_without_vacuum: f64,
    pub greatest_cranking: f64,
    pub least: f64,
    pub cranking_below: f64,
    pub running_from: f64,
    pub no_spark_above: f64,
    pub spark_again_below: f64,
    pub pulses: u8,
    pub pickup_angle: f64,
    pub second_flank_angle: Option<f64>,
    /// Of a reluctor: the earliest and the latest angle of its moving flank.
    pub moving_flank: Option<(f64, f64)>,
    pub bounce: f64,
    pub lag: f64,
    pub acceleration: f64,
    pub spread: f64,
    pub dwell: Vec<(f64, f64)>,
    pub largest_dwell: f64,
    pub largest_duty: f64,
    pub burn_time: f64,
    pub tick_rate: f64,
    pub latency: f64,
}

/// The core's objects.
#[derive(Clone, Debug)]
#[allow(missing_docs)] // The fields are named by their types.
pub struct Core {
    pub model: AdvanceModel,
    pub pickup: Pickup,
    pub dwell: Dwell,
    pub firmware: Firmware,
}

/// An advance in crank degrees.
pub fn advance(crank_degrees: f64) -> Advance {
    Advance::new(I16F16::from_num(crank_degrees)).expect("the test's advance is in range")
}

/// A crank angle in degrees.
pub fn angle(crank_degrees: f64) -> CrankAngle {
    CrankAngle::new(I16F16::from_num(crank_degrees)).expect("the test's angle is in range")
}

/// A speed in crank rpm.
pub fn speed(crank_rpm: f64) -> CrankSpeed {
    CrankSpeed::new(U24F8::from_num(crank_rpm)).expect("the test's speed is in range")
}

/// A depression in kPa.
pub fn depression(kpa: f64) -> Depression {
    Depression::new(U16F16::from_num(kpa)).expect("the test's depression is in range")
}

/// A voltage.
pub fn voltage(volts: f64) -> Voltage {
    Voltage::new(U8F8::from_num(volts)).expect("the test's voltage is in range")
}

#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // Test settings are small and positive.
fn nanoseconds(seconds: f64) -> Duration {
    Duration::from_bits((seconds * 1e9).round() as u32).expect("the test's time is in range")
}

impl Plain {
    /// An invented engine with four pulses, close to the demo's.
    pub fn fire_float() -> Self {
        Self {
            initial: 8.0,
            cranking: 8.0,
            held: 8.0,
            centrifugal: vec![(900.0, 0.0), (1700.0, 12.0), (3300.0, 20.0)],
            vacuum: vec![(17.0, 0.0), (40.5, 10.0)],
            ported: false,
            greatest_rate: 30.0,
            greatest: 42.0,
            greatest_without_vacuum: 30.0,
            greatest_cranking: 10.0,
            least: 0.0,
            cranking_below: 400.0,
            running_from: 450.0,
            no_spark_above: 4800.0,
            spark_again_below: 4700.0,
            pulses: 4,
            pickup_angle: 60.0,
            second_flank_angle: Some(8.0),
            moving_flank: None,
            bounce: 0.0,
            lag: 0.0,
            acceleration: 6000.0,
            spread: 0.5,
            dwell: vec![(8.0, 9.7e-3), (10.0, 5.5e-3), (12.0, 3.9e-3), (14.0, 3.1e-3), (16.0, 2.6e-3)],
            largest_dwell: 10e-3,
            largest_duty: 0.7,
            burn_time: 1.5e-3,
            tick_rate: 2e6,
            latency: 100e-6,
        }
    }

    /// An engine like it with so many pulses: the flank at 60 crank degrees BTDC, or where so many leave room; a second flank
    /// only where cranking needs one.
    pub fn with_pulses(pulses: u8) -> Self {
        Self {
            pulses,
            pickup_angle: 60.0f64.min(720.0 / f64::from(pulses) - 1.0),
            second_flank_angle: (pulses >= 8).then_some(8.0),
            spread: 0.0,
            // With many pulses 1.5 ms of spark and the shortest dwell do not fit at the highest speed.
            burn_time: 0.2e-3,
            ..Self::fire_float()
        }
    }

    /// The advance of [`flat`](Self::flat) at every running speed, crank degrees.
    pub const FLAT_ADVANCE: f64 = 20.0;

    /// An engine for noise: so many pulses, one advance at every running speed, so that a shifted spark shows the shift alone.
    pub fn flat(pulses: u8) -> Self {
        Self {
            initial: Self::FLAT_ADVANCE,
            held: Self::FLAT_ADVANCE,
            centrifugal: vec![(900.0, 0.0), (1000.0, 0.0)],
            vacuum: vec![],
            no_spark_above: 7000.0,
            spark_again_below: 6900.0,
            burn_time: 0.2e-3,
            spread: 0.1,
            second_flank_angle: None,
            cranking: 8.0f64.max(60.0 - 0.37 * 720.0 / f64::from(pulses)),
            greatest_cranking: 30.0,
            dwell: vec![(8.0, 3e-3), (16.0, 3e-3)],
            largest_dwell: 4e-3,
            ..Self::with_pulses(pulses)
        }
        .in_steps()
    }

    /// An ordinary V8 with its pickup in the distributor: eight pulses, 10 + 24 + 18 crank degrees, 5 000 crank rpm. Invented.
    pub fn v8() -> Self {
        Self {
            pulses: 8,
            initial: 10.0,
            cranking: 10.0,
            held: 10.0,
            centrifugal: vec![(800.0, 0.0), (3000.0, 24.0)],
            vacuum: vec![(17.0, 0.0), (47.5, 18.0)],
            greatest: 52.0,
            greatest_without_vacuum: 34.0,
            second_flank_angle: Some(10.0),
            no_spark_above: 5200.0,
            spark_again_below: 5100.0,
            ..Self::fire_float()
        }
    }

    /// The same settings in whole steps of the core's quantities, so that a comparison knows of no other rounding.
    #[must_use]
    pub fn in_steps(mut self) -> Self {
        let angle = |degrees: f64| (degrees * 65_536.0).round() / 65_536.0;
        let speed = |rpm: f64| (rpm * 256.0).round() / 256.0;
        let nanoseconds = |seconds: f64| (seconds * 1e9).round() / 1e9;
        for (x, y) in &mut self.centrifugal {
            (*x, *y) = (speed(*x), angle(*y));
        }
        for (x, y) in &mut self.vacuum {
            (*x, *y) = (angle(*x), angle(*y));
        }
        for degrees in [
            &mut self.initial,
            &mut self.cranking,
            &mut self.held,
            &mut self.greatest,
            &mut self.greatest_without_vacuum,
            &mut self.greatest_cranking,
            &mut self.least,
            &mut self.pickup_angle,
            &mut self.spread,
        ] {
            *degrees = angle(*degrees);
        }
        self.second_flank_angle = self.second_flank_angle.map(angle);
        self.moving_flank = self.moving_flank.map(|(earliest, latest)| (angle(earliest), angle(latest)));
        for rpm in [&mut self.no_spark_above, &mut self.spark_again_below] {
            *rpm = speed(*rpm);
        }
        for seconds in [&mut self.lag, &mut self.bounce, &mut self.burn_time, &mut self.latency] {
            *seconds = nanoseconds(*seconds);
        }
        self
    }

    /// The same settings as the core's objects, or the core's words of refusal.
    ///
    /// # Errors
    /// The refusal of the first constructor that refuses.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // Test settings are small and positive.
    pub fn core(&self) -> Result<Core, String> {
        let centrifugal: Vec<_> = self.centrifugal.iter().map(|&(x, y)| (speed(x), advance(y))).collect();
        let vacuum: Vec<_> = self.vacuum.iter().map(|&(x, y)| (depression(x), advance(y))).collect();
        let dwell: Vec<_> = self.dwell.iter().map(|&(x, y)| (voltage(x), nanoseconds(y))).collect();
        let vacuum = if vacuum.is_empty() {
            None
        } else {
            Some(Vacuum {
                curve: VacuumCurve::new(&vacuum).map_err(|e| e.to_string())?,
                source: if self.ported { VacuumSource::Ported } else { VacuumSource::Manifold },
                greatest_rate: AdvanceRate::new(I16F16::from_num(self.greatest_rate)).map_err(|e| e.to_string())?,
            })
        };
        let model = AdvanceModel::new(AdvanceSettings {
            initial: advance(self.initial),
            cranking: advance(self.cranking),
            held: advance(self.held),
            centrifugal: CentrifugalCurve::new(&centrifugal).map_err(|e| e.to_string())?,
            vacuum,
            limits: Limits {
                greatest: advance(self.greatest),
                greatest_without_vacuum: advance(self.greatest_without_vacuum),
                greatest_cranking: advance(self.greatest_cranking),
                least: advance(self.least),
            },
            speeds: PhaseSpeeds {
                cranking_below: speed(self.cranking_below),
                running_from: speed(self.running_from),
                no_spark_above: speed(self.no_spark_above),
                spark_again_below: speed(self.spark_again_below),
            },
        })
        .map_err(|e| e.to_string())?;
        let pickup = Pickup::new(PickupSettings {
            pulses_in_two_turns: self.pulses,
            angle: angle(self.pickup_angle),
            second_flank_angle: self.second_flank_angle.map(angle),
            moving_flank: self
                .moving_flank
                .map(|(earliest, latest)| MovingFlank { earliest: angle(earliest), latest: angle(latest) }),
            bounce: nanoseconds(self.bounce),
            lag: nanoseconds(self.lag),
            greatest_acceleration: Acceleration::from_bits(self.acceleration as u32).map_err(|e| e.to_string())?,
            pulse_spread: angle(self.spread),
        })
        .map_err(|e| e.to_string())?;
        let dwell = Dwell::new(DwellSettings {
            curve: DwellCurve::new(&dwell).map_err(|e| e.to_string())?,
            largest: nanoseconds(self.largest_dwell),
            largest_duty: Duty::new(U16F16::from_num(self.largest_duty)).map_err(|e| e.to_string())?,
            burn_time: nanoseconds(self.burn_time),
        })
        .map_err(|e| e.to_string())?;
        let firmware = Firmware {
            tick_rate: TickRate::from_bits(self.tick_rate as u32).map_err(|e| e.to_string())?,
            latency: nanoseconds(self.latency),
        };
        Ok(Core { model, pickup, dwell, firmware })
    }

    /// The core's timetable.
    ///
    /// # Errors
    /// The refusal of the first constructor that refuses.
    pub fn timetable(&self) -> Result<Timetable, String> {
        let core = self.core()?;
        Timetable::new(&core.model, &core.pickup, &core.dwell, &core.firmware).map_err(|e| e.to_string())
    }

    /// The same settings for the independent truth.
    pub fn truth(&self) -> crank::Settings {
        crank::Settings {
            pulses: u32::from(self.pulses),
            pickup_angle: self.pickup_angle,
            second_flank_angle: self.second_flank_angle,
            lag: self.lag,
            initial: self.initial,
            centrifugal: crank::Curve::new(&self.centrifugal),
            vacuum: if self.vacuum.is_empty() { crank::Curve::constant(0.0) } else { crank::Curve::new(&self.vacuum) },
            ported: self.ported,
            greatest_vacuum_rate: self.greatest_rate,
            clamp: (self.least, self.greatest),
            cranking: self.cranking,
            held: self.held,
            cranking_below: self.cranking_below,
            running_from: self.running_from,
            no_spark_above: self.no_spark_above,
            spark_again_below: self.spark_again_below,
            dwell: crank::Curve::new(&self.dwell),
            largest_dwell: self.largest_dwell,
            largest_duty: self.largest_duty,
        }
    }

    /// The independent truth's pickup.
    pub fn crank_pickup(&self) -> crank::Pickup {
        crank::Pickup {
            pulses: u32::from(self.pulses),
            angle: self.pickup_angle,
            second_flank_angle: self.second_flank_angle,
            uneven: Vec::new(),
        }
    }

    /// An engine like it with a reluctor of so many pulses: the crossing at 8 crank degrees BTDC, the other flank 5 to 10 before
    /// it, so that a spark even there is inside the greatest cranking limit of 18. Invented.
    pub fn reluctor(pulses: u8) -> Self {
        Self {
            pickup_angle: 8.0,
            second_flank_angle: None,
            moving_flank: Some((18.0, 13.0)),
            greatest_cranking: 18.0,
            least: 8.0,
            ..Self::with_pulses(pulses)
        }
        .in_steps()
    }

    /// Where the flank that times a running spark lies before that spark's top dead centre: of a reluctor a pulse before its own.
    pub fn timing_angle(&self) -> f64 {
        self.pickup_angle + if self.moving_flank.is_some() { self.spacing() } else { 0.0 }
    }

    /// Crank degrees between two pulses.
    pub fn spacing(&self) -> f64 {
        720.0 / f64::from(self.pulses)
    }

    /// A period in seconds at a speed.
    pub fn period(&self, crank_rpm: f64) -> f64 {
        120.0 / (f64::from(self.pulses) * crank_rpm)
    }
}
