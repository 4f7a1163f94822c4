//! Refused: the spark does not come before the next flank

use bobweight::{AdvanceSettings, PickupSettings, Timetable};
use bobweight_compile_fail::{ADVANCE, DWELL, FIRMWARE, PICKUP, advance, angle, timetable};

const LATE: AdvanceSettings = AdvanceSettings { initial: advance(4), ..ADVANCE };
const FAR: PickupSettings = PickupSettings { pulses_in_two_turns: 8, angle: angle(97), ..PICKUP };
const TABLE: Timetable = timetable(LATE, FAR, DWELL, FIRMWARE);

fn main() {
    assert_eq!(TABLE, TABLE);
}
