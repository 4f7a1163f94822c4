//! A curve that no limit forbids, and that the engine never goes through: a question, never a verdict.

use crate::quantity::of_core::rpm_of;
use crate::words::number::whole;
use bobweight::AdvanceModel;

pub(super) fn question(model: &AdvanceModel) -> Option<String> {
    let settings = model.settings();
    let (last, _) = settings.centrifugal.breakpoint(settings.centrifugal.count());
    let highest = settings.speeds.no_spark_above;
    (last > highest).then(|| {
        format!(
            "the centrifugal curve ends at {} crank rpm, above {}, where sparks end: are its figures the crank's? A \
             distributor turns at half the crank's speed and by half its degrees",
            whole(rpm_of(last)),
            whole(rpm_of(highest))
        )
    })
}
