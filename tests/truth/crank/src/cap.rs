//! The old cap and its rotor, which turns at half the crank's speed.

use crate::CYCLE_DEGREES;

/// Towers evenly around a cap, one for each cylinder in the firing order.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cap {
    /// How many.
    pub towers: u32,
    /// The rotor faces its tower when the crank is so many degrees before the TDC of that cylinder.
    pub line_up: f64,
}

/// How a rotor stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Facing {
    /// The cylinder whose tower is nearest, by its place in the firing order; pulse 0 is that of the TDC at 0 degrees.
    pub pulse: i64,
    /// How far past that tower the rotor stands, distributor degrees; negative before it.
    pub past: f64,
}

impl Cap {
    /// How the rotor stands when the crank is at an angle.
    pub fn facing(&self, crank_degrees: f64) -> Facing {
        let between = CYCLE_DEGREES / f64::from(self.towers);
        // In crank degrees the rotor meets tower k at k * between - line_up.
        let turned = crank_degrees + self.line_up;
        let pulse = (turned / between).round();
        Facing { pulse: pulse as i64, past: (turned - pulse * between) / 2.0 }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: geometry, and half the crank's speed (U.S. Army TM 10-3930-644-14&P): with a rotor lined up at 30 crank degrees before
    /// TDC, 8 and 52 crank degrees stand 11 distributor degrees to each side.
    #[test]
    fn a_rotor_stands_eleven_degrees_to_each_side_of_its_tower() {
        let cap = Cap { towers: 8, line_up: 30.0 };
        for (crank, pulse, past) in
            [(-30.0, 0, 0.0), (-8.0, 0, 11.0), (-52.0, 0, -11.0), (60.0, 1, 0.0), (14.9, 0, 22.45), (15.1, 1, -22.45)]
        {
            let found = cap.facing(crank);
            assert!(found.pulse == pulse && (found.past - past).abs() < 1e-9, "{crank}: {found:?}");
        }
    }
}
