//! Strategies for `proptest`, and the laws that a curve must keep: for property tests of a firmware's own settings.
//!
//! Every strategy shrinks towards few breakpoints, whole numbers, low speeds and small depressions. What it makes is valid: no
//! value is made to be thrown away again.
//!
//! Feature `proptest`. Needs `std`, so it belongs into the dev-dependencies of a firmware.

mod curves;
mod laws;
mod models;
mod places;
mod streams;

pub use curves::{advances, advances_between, centrifugal_curves, depressions, speeds, speeds_between, vacuum_curves};
pub use laws::{BrokenLimits, Models, assert_models_keep_their_limits, limits, orders, place, spark};
pub use models::{dwells, models, pickups};
pub use places::{Place, PlaceChoice, place_choices};
pub use streams::{StreamEdge, edge_streams};

/// Makes a test that a model, or every model of a strategy, keeps its limits at every speed and depression.
///
/// The first argument is the test's name, with its attributes if it has any; the second is an [`AdvanceModel`](crate::AdvanceModel) or a strategy of them, such as
/// one for each setting that the firmware lets its user turn. The test fails with the corner where a limit is broken and
/// what the sum is made of there; of a strategy's models the smallest that breaks one is told.
///
/// ```
/// # use bobweight::quantity::{Advance, CrankSpeed};
/// # use bobweight::{AdvanceModel, AdvanceSettings, CentrifugalCurve, Limits, PhaseSpeeds, must};
/// # const fn degrees(degrees: i32) -> Advance { must!(Advance::from_degrees(degrees)) }
/// # const fn rpm(rpm: i32) -> CrankSpeed { must!(CrankSpeed::from_rpm(rpm)) }
/// # const MODEL: AdvanceModel = must!(AdvanceModel::new(AdvanceSettings {
/// #     initial: degrees(8), cranking: degrees(8), held: degrees(8), vacuum: None,
/// #     centrifugal: must!(CentrifugalCurve::new(&[(rpm(900), degrees(0)), (rpm(3300), degrees(20))])),
/// #     limits: Limits { greatest: degrees(30), greatest_without_vacuum: degrees(30), greatest_cranking: degrees(10), least: degrees(0) },
/// #     speeds: PhaseSpeeds { cranking_below: rpm(400), running_from: rpm(450), no_spark_above: rpm(4800), spark_again_below: rpm(4700) },
/// # }));
/// // Among the tests of the firmware:
/// bobweight::keeps_its_limits!(the_curve_keeps_its_limits, MODEL);
/// ```
#[macro_export]
macro_rules! keeps_its_limits {
    ($(#[$attribute:meta])* $name:ident, $models:expr $(,)?) => {
        #[test]
        $(#[$attribute])*
        fn $name() {
            $crate::strategy::assert_models_keep_their_limits(stringify!($name), $models);
        }
    };
}
