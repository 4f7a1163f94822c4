//! Refused: the zero crossing lies above the greatest cranking limit

use bobweight::{AdvanceSettings, PickupSettings, Timetable};
use bobweight_compile_fail::{ADVANCE, DWELL, FIRMWARE, RELUCTOR, advance, angle, timetable};

const EARLY: AdvanceSettings =
    AdvanceSettings { initial: advance(12), held: advance(12), cranking: advance(12), ..ADVANCE };
const TABLE: Timetable = timetable(EARLY, PickupSettings { angle: angle(12), ..RELUCTOR }, DWELL, FIRMWARE);

fn main() {
    assert_eq!(TABLE, TABLE);
}
