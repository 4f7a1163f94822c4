//! Refused: the least advance is not above any of the greatest limits

use bobweight::{AdvanceModel, AdvanceSettings, Limits, must};
use bobweight_compile_fail::{ADVANCE, advance};

const MODEL: AdvanceModel =
    must!(AdvanceModel::new(AdvanceSettings { limits: Limits { least: advance(43), ..ADVANCE.limits }, ..ADVANCE }));

fn main() {
    assert!(MODEL.judge().hold());
}
