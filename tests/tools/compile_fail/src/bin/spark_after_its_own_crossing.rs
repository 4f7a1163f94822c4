//! Refused: the spark comes after its own zero crossing

use bobweight::{AdvanceSettings, PickupSettings, Timetable};
use bobweight_compile_fail::{ADVANCE, DWELL, FIRMWARE, RELUCTOR, advance, angle, timetable};

// The crossing at 9, where the curve begins at 8.
const LATE: AdvanceSettings = AdvanceSettings { cranking: advance(9), ..ADVANCE };
const TABLE: Timetable = timetable(LATE, PickupSettings { angle: angle(9), ..RELUCTOR }, DWELL, FIRMWARE);

fn main() {
    assert_eq!(TABLE, TABLE);
}
