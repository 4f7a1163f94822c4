//! Right settings: it compiles, so that the wrong ones beside it are refused for what they say.

use bobweight::{AdvanceModel, Dwell, Phase, Pickup, Timetable, must};
use bobweight_compile_fail::{ADVANCE, DWELL, FIRMWARE, PICKUP, advance, speed, timetable};

const MODEL: AdvanceModel = must!(AdvanceModel::new(ADVANCE));
const PIN: Pickup = must!(Pickup::new(PICKUP));
const COIL: Dwell = must!(Dwell::new(DWELL));
const TABLE: Timetable = timetable(ADVANCE, PICKUP, DWELL, FIRMWARE);

fn main() {
    assert_eq!(MODEL.settings(), &ADVANCE);
    assert_eq!(PIN.settings(), &PICKUP);
    assert_eq!(COIL.settings(), &DWELL);
    // 30 000 000 / N ticks a pulse of 180 crank degrees: 60 000 ticks at 1 000 crank rpm, held 52 degrees after the flank.
    assert!(TABLE.delay(Phase::Held, TABLE.period_of(speed(1000)), advance(0)).abs_diff(17_333) <= 1);
}
