//! A spark read off the crank.

use crate::{Motion, spacing};

/// Where the crank truly was when the coil was turned off.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spark {
    /// The pulse whose TDC the angle counts from; pulse k has its TDC at `k * P` degrees.
    pub pulse: i64,
    /// Crank degrees before that TDC; negative after it.
    pub btdc: f64,
}

impl Spark {
    /// The spark of a coil-off at `time`, counted from the pulse that makes its angle lie within half a spacing of `about`
    /// (crank degrees BTDC). With 12 pulses in two turns an advance of 40 is nearer to the TDC before, so
    /// the nearest TDC alone does not tell: give the advance that is wanted, or 0 for the nearest TDC.
    pub fn read(motion: &Motion, pulses: u32, time: f64, about: f64) -> Self {
        let angle = motion.angle_at(time);
        let pulse = ((angle + about) / spacing(pulses)).round() as i64;
        Self { pulse, btdc: pulse as f64 * spacing(pulses) - angle }
    }

    /// The spark of a coil-off at `time`, counted from the TDC of a known pulse.
    pub fn of_pulse(motion: &Motion, pulses: u32, time: f64, pulse: i64) -> Self {
        Self { pulse, btdc: pulse as f64 * spacing(pulses) - motion.angle_at(time) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: arithmetic; at 1 000 crank rpm the crank turns 6 degrees a millisecond.
    #[test]
    fn angle_is_signed_and_owned_by_the_right_pulse() {
        let motion = Motion::steady(1000.0);
        let at = |degrees: f64| degrees / 6000.0;
        let near = |spark: Spark, pulse, btdc: f64| spark.pulse == pulse && (spark.btdc - btdc).abs() < 1e-9;
        assert!(near(Spark::read(&motion, 4, at(170.0), 0.0), 1, 10.0));
        assert!(near(Spark::read(&motion, 4, at(185.0), 0.0), 1, -5.0));
        assert!(near(Spark::read(&motion, 12, at(80.0), 0.0), 1, -20.0));
        assert!(near(Spark::read(&motion, 12, at(80.0), 38.0), 2, 40.0));
        assert!(near(Spark::read(&motion, 1, at(720.0 - 300.0), 0.0), 1, 300.0));
        assert!(near(Spark::of_pulse(&motion, 4, at(170.0), 2), 2, 190.0));
    }
}
