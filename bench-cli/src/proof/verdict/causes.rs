//! What an ignition can do wrong, each as the error that it makes at every test point.
//!
//! | cause | error at a test point, crank degrees early |
//! | --- | --- |
//! | offset | the same everywhere |
//! | lag | `-6e-6 N` a microsecond |
//! | up against down | `-1/2` after rising, `1/2` after falling, inside the ramps where both were run |
//! | vacuum shortfall | `-v / v_max` |
//! | clock | `-1/100` of the delay from the flank to the spark, a per cent: a timer that runs slow against the one that measures the speed |
//! | speed axis | the centrifugal curve at a speed a per cent higher, less the curve |
//! | sensor zero | the vacuum curve at a depression 1 kPa higher, less the curve |
//! | sensor gain | the vacuum curve at a depression a per cent higher, less the curve |
//!
//! The last three follow a curve with corners, at which test points stand: what a higher speed adds there is not what a lower one takes
//! away. So each has a column for either side.

use super::setting::{Conditions, Setting};
use std::collections::HashMap;

/// A cause that has a column over all test points.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Cause {
    /// Crank degrees, early positive.
    Offset,
    /// Microseconds, late positive.
    Lag,
    /// Crank degrees, later after rising positive.
    UpDown,
    /// Crank degrees at full depression, missing positive.
    VacuumShortfall,
    /// Per cent, late positive.
    Clock,
    /// Per cent, positive where the ignition takes the speed for higher.
    SpeedAxis,
    /// Kilopascals, positive where it reads too much depression.
    SensorZero,
    /// Per cent, likewise.
    SensorGain,
}

/// From which side of the truth a cause is taken, where its curve has corners.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Side {
    /// The mean of both; of a cause without corners the only one.
    Either,
    /// Above.
    Above,
    /// Below.
    Below,
}

impl Side {
    /// The sign that a value on this side has; 0 where it may have either.
    pub fn sign(self) -> f64 {
        match self {
            Self::Either => 0.0,
            Self::Above => 1.0,
            Self::Below => -1.0,
        }
    }
}

/// Every cause with its sides, those that every run is asked for first.
pub const CAUSES: [(Cause, Side); 11] = [
    (Cause::Offset, Side::Either),
    (Cause::Lag, Side::Either),
    (Cause::UpDown, Side::Either),
    (Cause::VacuumShortfall, Side::Either),
    (Cause::Clock, Side::Either),
    (Cause::SpeedAxis, Side::Above),
    (Cause::SpeedAxis, Side::Below),
    (Cause::SensorZero, Side::Above),
    (Cause::SensorZero, Side::Below),
    (Cause::SensorGain, Side::Above),
    (Cause::SensorGain, Side::Below),
];

/// The four that every regression is made on, where the test points show them.
pub const ALWAYS: [Cause; 4] = [Cause::Offset, Cause::Lag, Cause::UpDown, Cause::VacuumShortfall];

impl Cause {
    /// It in a few words.
    pub fn words(self) -> &'static str {
        match self {
            Self::Offset => "an offset",
            Self::Lag => "a lag",
            Self::UpDown => "up against down",
            Self::VacuumShortfall => "a vacuum shortfall",
            Self::Clock => "a clock that runs slow or fast",
            Self::SpeedAxis => "a curve at another speed",
            Self::SensorZero => "the zero of the vacuum sensor",
            Self::SensorGain => "the gain of the vacuum sensor",
        }
    }
}

/// A cause's column over the test points: the error that one unit of it makes.
pub fn column(cause: Cause, side: Side, points: &[Conditions], setting: &Setting) -> Vec<f64> {
    let sided = |of: &dyn Fn(&Conditions, f64) -> f64| -> Vec<f64> {
        let step = |point: &Conditions| {
            let (above, below) = (of(point, 1.0) - of(point, 0.0), of(point, 0.0) - of(point, -1.0));
            match side {
                Side::Above => above,
                Side::Below => below,
                Side::Either => f64::midpoint(above, below),
            }
        };
        points.iter().map(step).collect()
    };
    match cause {
        Cause::Offset => vec![1.0; points.len()],
        Cause::Lag => points.iter().map(|point| -6e-6 * point.speed_crank_rpm).collect(),
        Cause::UpDown => up_down(points, setting),
        Cause::VacuumShortfall => {
            let greatest = setting.greatest_vacuum_advance();
            points.iter().map(|point| if greatest > 0.0 { -point.vacuum_advance / greatest } else { 0.0 }).collect()
        }
        Cause::Clock => points
            .iter()
            .map(|point| {
                let advance = setting.centrifugal_at(point.speed_crank_rpm) + point.vacuum_advance;
                -(setting.delay_at_no_advance - advance) / 100.0
            })
            .collect(),
        Cause::SpeedAxis => {
            sided(&|point, percent| setting.centrifugal_at(point.speed_crank_rpm * (1.0 + percent / 100.0)))
        }
        Cause::SensorZero => sided(&|point, kpa| vacuum_at(point, point.depression_kpa + kpa, setting)),
        Cause::SensorGain => {
            sided(&|point, percent| vacuum_at(point, point.depression_kpa * (1.0 + percent / 100.0), setting))
        }
    }
}

/// The vacuum advance at another depression; none where a closed throttle keeps the vacuum away.
fn vacuum_at(point: &Conditions, depression_kpa: f64, setting: &Setting) -> f64 {
    if setting.throttle_keeps_vacuum_away(point) { 0.0 } else { setting.vacuum_at(depression_kpa) }
}

fn up_down(points: &[Conditions], setting: &Setting) -> Vec<f64> {
    let mut seen: HashMap<_, i32> = HashMap::new();
    for point in points {
        *seen.entry(point.place()).or_default() |= if point.direction.sign() > 0.0 { 1 } else { 2 };
    }
    points
        .iter()
        .map(|point| match seen.get(&point.place()) {
            Some(3) if setting.inside_ramps(point.speed_crank_rpm) => -point.direction.sign() / 2.0,
            _ => 0.0,
        })
        .collect()
}
