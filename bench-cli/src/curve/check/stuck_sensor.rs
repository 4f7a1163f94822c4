//! Full throttle plus the whole vacuum advance: what a sensor that sticks inside its band makes.

use crate::quantity::of_core::crank_degrees;
use crate::record::check::StuckSensorResult;
use bobweight::AdvanceModel;

/// Nothing where the engine has no vacuum advance.
pub(super) fn added(model: &AdvanceModel) -> Option<StuckSensorResult> {
    let settings = model.settings();
    let vacuum = crank_degrees(settings.vacuum.as_ref()?.curve.range().1).max(0.0);
    let (_, centrifugal) = settings.centrifugal.range();
    let full_throttle = crank_degrees(settings.initial) + crank_degrees(centrifugal);
    let sum = full_throttle + vacuum;
    let beyond = sum - crank_degrees(settings.limits.greatest_without_vacuum);
    let to_the_limit = if beyond > 0.0 {
        format!("{beyond:.1} beyond the greatest allowed without vacuum")
    } else {
        "still within the greatest allowed without vacuum".to_owned()
    };
    Some(StuckSensorResult {
        full_throttle_crank_degrees: full_throttle,
        vacuum_crank_degrees: vacuum,
        sum_crank_degrees: sum,
        statement: format!(
            "{full_throttle:.1} crank degrees at most. A vacuum sensor that sticks and still looks right can add the whole \
             vacuum advance, {vacuum:.1}: {sum:.1} in all, {to_the_limit}"
        ),
    })
}
