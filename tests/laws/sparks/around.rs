//! What stands around an ignition, in plain numbers, for the list and for the crank.

use bobweight::Circuit;
use bobweight::quantity::{CrankAngle, Energy, Inductance, Resistance, Swing, Voltage};
use bobweight::sparks::{Asked, Battery, Cap, Coil, SparkList, Starter, Surroundings};
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
            line_up: (plain.pulses > 1).then_some((running + plain.initial) / 2.0),
        }
    }

    #[allow(clippy::unused_self)]
    pub fn asked(&self) -> Asked {
        Asked { least_energy: Some(Energy::from_bits(30_000).unwrap()), ..Asked::default() }
    }

    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // Figures of tests are small and positive.
    pub fn surroundings(&self, plain: &Plain) -> Surroundings {
        let milliohms = |ohms: f64| Resistance::from_bits((ohms * 1e3).round() as u32).unwrap();
        let volts = |range: [f64; 2]| range.map(voltage);
        let _: [Voltage; 2] = volts(self.running_volts);
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
