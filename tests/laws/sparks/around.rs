//! What stands around an ignition, in plain numbers, for the list and for the crank.

use crate::start::Seen;
use bobweight::Circuit;
use bobweight::quantity::{CrankAngle, Inductance, Resistance, Swing};
use bobweight::sparks::{Battery, Cap, Cause, Coil, SparkList, Sparks, Starter, Surroundings};
use bobweight_crank as crank;
use bobweight_tests::plain::{Plain, angle, speed, voltage};

/// Volts, ohms, henries, crank rpm and crank degrees.
#[derive(Clone, Debug)]
pub struct Around {
    /// The starter's fastest mean speed.
    pub starter_rpm: f64,
    /// Fastest over slowest within a compression.
    pub swing: f64,
    /// Least and greatest while cranking.
    pub cranking_volts: [f64; 2],
    /// The same while running.
    pub running_volts: [f64; 2],
    /// The winding at 20 degrees Celsius.
    pub winding: f64,
    /// In series with it.
    pub ballast: f64,
    /// Whether the starter's contact bypasses it.
    pub bypassed: bool,
    /// The winding's.
    pub inductance: f64,
    /// The driver's.
    pub drop: f64,
    /// Where the rotor faces its tower; `None` without a cap.
    pub line_up: Option<f64>,
}

impl Around {
    pub fn of(plain: &Plain) -> Self {
        let (first, last) = (plain.dwell[0], plain.dwell[plain.dwell.len() - 1]);
        let running = plain.initial + plain.centrifugal.last().unwrap().1 + plain.vacuum.last().map_or(0.0, |x| x.1);
        Self {
            starter_rpm: (plain.running_from / 3.0_f64.sqrt()).floor(),
            swing: 3.0,
            cranking_volts: [first.0, last.0],
            running_volts: [12.0, last.0],
            winding: 1.2,
            ballast: 0.0,
            bypassed: false,
            inductance: 6e-3,
            drop: 1.0,
            line_up: (plain.pulses > 1).then_some(f64::midpoint(running, plain.initial)),
        }
    }

    /// The coil for the crank's own reckoning.
    pub fn coil(&self) -> crank::Coil {
        crank::Coil { winding: self.winding, ballast: self.ballast, inductance: self.inductance, drop: self.drop }
    }

    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // Figures of tests are small and positive.
    pub fn surroundings(&self, plain: &Plain) -> Surroundings {
        let milliohms = |ohms: f64| Resistance::from_bits((ohms * 1e3).round() as u32).unwrap();
        let volts = |range: [f64; 2]| range.map(voltage);
        Surroundings {
            starter: Starter {
                fastest: speed(self.starter_rpm),
                swing: Swing::from_bits((self.swing * 256.0).round() as u16).unwrap(),
            },
            battery: Battery { cranking: volts(self.cranking_volts), running: volts(self.running_volts) },
            coil: Some(Coil {
                circuit: Circuit {
                    winding: milliohms(self.winding),
                    ballast: milliohms(self.ballast),
                    inductance: Inductance::from_bits((self.inductance * 1e6).round() as u32).unwrap(),
                    driver_drop: voltage(self.drop),
                },
                ballast_bypassed: self.bypassed,
            }),
            cap: self.line_up.map(|line_up| Cap {
                towers: plain.pulses,
                line_up: angle(line_up),
                margin: CrankAngle::from_bits(0).unwrap(),
                carried: None,
            }),
        }
    }
}

/// Works with the list of an ignition.
pub fn list_of<T>(plain: &Plain, around: &Around, work: impl FnOnce(&SparkList<'_>) -> T) -> T {
    let core = plain.core().unwrap();
    let table = plain.timetable().unwrap();
    let around = around.surroundings(plain);
    work(&SparkList {
        model: &core.model,
        pickup: &core.pickup,
        dwell: &core.dwell,
        firmware: &core.firmware,
        table: &table,
        around: &around,
    })
}

/// A row of the list in plain numbers.
#[derive(Clone, Copy, Debug)]
pub struct Row {
    pub cause: Cause,
    /// Crank degrees BTDC.
    pub earliest: f64,
    pub latest: f64,
    /// How far before and past its tower the rotor stands at most, distributor degrees.
    pub before: f64,
    pub past: f64,
    /// Joules.
    pub least: f64,
    pub greatest: f64,
}

/// The whole list.
pub struct Rows(Vec<Row>);

impl Rows {
    pub fn of(sparks: &Sparks) -> Self {
        let row = |spark: &bobweight::sparks::Spark| {
            let (angles, energy) = (spark.angles?, spark.energy?);
            let degrees = |angle: CrankAngle| angle.get().to_num::<f64>();
            Some(Row {
                cause: spark.cause,
                earliest: degrees(angles.earliest),
                latest: degrees(angles.latest),
                before: degrees(angles.rotor_before) / 2.0,
                past: degrees(angles.rotor_past) / 2.0,
                least: f64::from(energy.least.bits()) / 1e6,
                greatest: f64::from(energy.greatest.bits()) / 1e6,
            })
        };
        Self(sparks.0.iter().filter_map(row).collect())
    }

    pub fn by_key(&self, key: &str) -> &Row {
        self.0.iter().find(|row| row.cause.key() == key).expect("a cause of the list")
    }

    /// The first of its causes whose row has the spark, and its angle there; or why none has.
    pub fn explain(&self, seen: &Seen, plain: &Plain, around: &Around) -> Result<(Cause, f64), String> {
        let mut why = Vec::new();
        for cause in &seen.causes {
            let row = self.by_key(cause.key());
            // Of the cylinders that it may be meant for, the one whose range is the nearest.
            let middle = f64::midpoint(row.earliest, row.latest);
            let pulse = ((seen.angle + middle) / plain.spacing()).round();
            let btdc = pulse * plain.spacing() - seen.angle;
            let near = |value: f64, low: f64, high: f64, slack: f64| value >= low - slack && value <= high + slack;
            let angle_is = near(btdc, row.latest, row.earliest, 1e-3) || row.earliest - row.latest >= plain.spacing();
            let energy_is = near(seen.energy, row.least, row.greatest, 3e-6 + row.greatest * 2e-4);
            let rotor_is = around.line_up.is_none_or(|line_up| {
                let cap = crank::Cap { towers: u32::from(plain.pulses), line_up };
                let facing = cap.facing(seen.angle);
                // Seen from its own tower, which need not be the nearest.
                let past = facing.past + (facing.pulse as f64 - pulse) * 360.0 / f64::from(cap.towers);
                near(past, -row.before, row.past, 1e-3) || row.earliest - row.latest >= plain.spacing()
            });
            if angle_is && energy_is && rotor_is {
                return Ok((*cause, btdc));
            }
            why.push(format!(
                "{}: {btdc:.3} of {:.3} to {:.3}, {:.3} mJ of {:.3} to {:.3}{}",
                cause.key(),
                row.latest,
                row.earliest,
                seen.energy * 1e3,
                row.least * 1e3,
                row.greatest * 1e3,
                if rotor_is { "" } else { ", rotor" }
            ));
        }
        Err(why.join("; "))
    }
}
