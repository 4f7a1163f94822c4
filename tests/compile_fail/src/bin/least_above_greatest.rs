//! Refused: the least advance is not above any of the greatest limits

use bobweight::{AdvanceModel, AdvanceSettings, Limits};
use bobweight_compile_fail::{ADVANCE, advance, checked};

const MODEL: AdvanceModel =
    checked!(AdvanceModel::new(AdvanceSettings { limits: Limits { least: advance(43), ..ADVANCE.limits }, ..ADVANCE }));

fn main() {
    assert!(MODEL.judge().hold());
}
