//! Refused: cranking_below is at least 30 crank rpm and below running_from

use bobweight::{AdvanceModel, AdvanceSettings, PhaseSpeeds, must};
use bobweight_compile_fail::{ADVANCE, speed};

const MODEL: AdvanceModel = must!(AdvanceModel::new(AdvanceSettings {
    speeds: PhaseSpeeds { running_from: speed(400), ..ADVANCE.speeds },
    ..ADVANCE
}));

fn main() {
    assert!(MODEL.judge().hold());
}
