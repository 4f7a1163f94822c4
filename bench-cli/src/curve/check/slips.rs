//! A curve that no limit forbids, and that the engine never goes through: a question, never a verdict.

use crate::quantity::of_core::rpm_of;
use bobweight::AdvanceModel;

pub(super) fn question(model: &AdvanceModel) -> Option<String> {
    let settings = model.settings();
    let (last, _) = settings.centrifugal.breakpoint(settings.centrifugal.count());
    let highest = settings.speeds.no_spark_above;
    (last > highest).then(|| {
        format!(
            "the centrifugal curve ends at {:.0} crank rpm, above {:.0}, where sparks end: are its figures the crank's? A \
             distributor turns at half the crank's speed and by half its degrees",
            rpm_of(last),
            rpm_of(highest)
        )
    })
}
