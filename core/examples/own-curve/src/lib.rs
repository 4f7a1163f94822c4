//! The curve of an invented engine in a firmware of its own, and the test that holds it to its limits.
//!
//! Two curves: one that keeps its limits, and one whose author forgot that the vacuum unit adds to a centrifugal curve that is
//! already all in. Each constant compiles; only the test tells them apart.

#![no_std]

use bobweight::quantity::{Advance, AdvanceRate, CrankSpeed, Depression};
use bobweight::{
    AdvanceModel, AdvanceSettings, CentrifugalCurve, Limits, PhaseSpeeds, Vacuum, VacuumCurve, VacuumSource, must,
};

const fn tenths_of_a_degree(tenths: i32) -> Advance {
    must!(Advance::from_tenths(tenths))
}

const fn crank_degrees(degrees: i32) -> Advance {
    must!(Advance::from_degrees(degrees))
}

const fn crank_rpm(rpm: i32) -> CrankSpeed {
    must!(CrankSpeed::from_rpm(rpm))
}

const fn kpa_depression(kpa: i32) -> Depression {
    must!(Depression::from_kpa(kpa))
}

const SETTINGS: AdvanceSettings = AdvanceSettings {
    initial: crank_degrees(10),
    cranking: crank_degrees(8),
    held: crank_degrees(10),
    centrifugal: must!(CentrifugalCurve::new(&[
        (crank_rpm(900), crank_degrees(0)),
        (crank_rpm(1700), crank_degrees(14)),
        (crank_rpm(3120), crank_degrees(24)),
    ])),
    vacuum: Some(Vacuum {
        curve: must!(VacuumCurve::new(&[
            (kpa_depression(17), crank_degrees(0)),
            (kpa_depression(41), crank_degrees(14)),
        ])),
        source: VacuumSource::Manifold,
        greatest_rate: must!(AdvanceRate::from_degrees_per_second(30)),
    }),
    limits: Limits {
        greatest: crank_degrees(50),
        greatest_without_vacuum: crank_degrees(36),
        greatest_cranking: crank_degrees(10),
        least: crank_degrees(0),
    },
    speeds: PhaseSpeeds {
        cranking_below: crank_rpm(400),
        running_from: crank_rpm(450),
        no_spark_above: crank_rpm(5200),
        spark_again_below: crank_rpm(5100),
    },
};

/// The curve that runs.
pub const CURVE: AdvanceModel = must!(AdvanceModel::new(SETTINGS));

/// The same with another vacuum unit, which gives 4.1 crank degrees more than the engine stands.
pub const CURVE_WITH_THE_WRONG_VACUUM_UNIT: AdvanceModel = must!(AdvanceModel::new(AdvanceSettings {
    vacuum: Some(Vacuum {
        curve: must!(VacuumCurve::new(&[
            (kpa_depression(17), crank_degrees(0)),
            (kpa_depression(41), tenths_of_a_degree(181)),
        ])),
        source: VacuumSource::Manifold,
        greatest_rate: must!(AdvanceRate::from_degrees_per_second(30)),
    }),
    ..SETTINGS
}));

/// The curve with its initial timing turned by the user, in whole crank degrees.
pub fn with_initial(degrees: i8) -> Option<AdvanceModel> {
    let initial = Advance::from_degrees(degrees.into()).ok()?;
    AdvanceModel::new(AdvanceSettings { initial, ..SETTINGS }).ok()
}

#[cfg(test)]
mod tests {
    use super::{CURVE, CURVE_WITH_THE_WRONG_VACUUM_UNIT, with_initial};
    use proptest::prelude::*;

    bobweight::keeps_its_limits!(the_curve, CURVE);

    // As far as the user can turn it.
    bobweight::keeps_its_limits!(any_initial_timing_up_to_12, (0..=12i8).prop_filter_map("no model", with_initial));

    // What is said of a curve that breaks a limit. In a firmware of yours leave the attribute out: the test shall fail.
    bobweight::keeps_its_limits!(
        #[should_panic(
            expected = "greatest: at 3 120 crank rpm and 41 kPa depression the sum is 52.1 crank degrees, limit 50: vacuum at \
                        full plus centrifugal at most"
        )]
        the_curve_with_the_wrong_vacuum_unit,
        CURVE_WITH_THE_WRONG_VACUUM_UNIT
    );

    // Of all the models that break a limit, 13 to 20 crank degrees, the smallest is told.
    bobweight::keeps_its_limits!(
        #[should_panic(
            expected = "greatest without vacuum: at 3 120 crank rpm without vacuum the sum is 37 crank degrees, limit 36: \
                        centrifugal at most"
        )]
        any_initial_timing_up_to_20,
        (0..=20i8).prop_filter_map("no model", with_initial)
    );
}
