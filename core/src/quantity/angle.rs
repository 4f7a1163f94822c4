use super::{in_units, quantity};
use fixed::types::I16F16;

quantity! {
    /// An advance: crank degrees before top dead centre, positive before.
    ///
    /// -30 to 90 crank degrees in steps of 1/65 536. Negative is after top dead centre.
    Advance(I16F16, i32), "advance", "crank degrees", -30, 90
}

quantity! {
    /// A crank angle that need not be an advance: where a pickup's flank lies, a sum before it is clamped, a spread.
    ///
    /// -720 to 720 crank degrees in steps of 1/65 536; before top dead centre is positive.
    CrankAngle(I16F16, i32), "crank angle", "crank degrees", -720, 720
}

quantity! {
    /// How fast vacuum advance may be added: crank degrees a second.
    ///
    /// 1 to 720 crank degrees a second in steps of 1/65 536.
    AdvanceRate(I16F16, i32), "rate of advance", "crank degrees per s", 1, 720
}

in_units!(Advance, from_degrees, "crank degrees");
in_units!(CrankAngle, from_degrees, "crank degrees");
in_units!(AdvanceRate, from_degrees_per_second, "crank degrees a second");

impl Advance {
    /// The same angle as a [`CrankAngle`], exactly.
    #[must_use]
    pub const fn angle(self) -> CrankAngle {
        CrankAngle(self.0)
    }
}
